// From a name to what it stands for, and what is said when there is nothing, or something else, of that name.
//
// A name that is declared nowhere is reported where it is first met, and never again. Tests:
// tests/unit/model/names_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

constexpr std::size_t kListed = 6;  // so many names are worth reading in a remedy
constexpr std::size_t kSearched =
    200;  // unknown names for which a near one is looked for: each costs all names

bool seen_from(const Symbol& symbol, const Where& where) {
  return !symbol.body || (where.body && *where.body == *symbol.body);
}

bool sees_room(const Where& where) { return where.prop == nullptr || where.prop->design == nullptr; }

/// All names that may stand at the place, those of the prop first.
std::vector<std::string> known_names(const Workspace& work, const Where& where, const Wanted* fits) {
  std::vector<std::string> known;
  const auto add = [&](const Names& names) {
    for (const auto& [name, symbol] : names) {
      if (seen_from(symbol, where) && (fits == nullptr || (*fits)(symbol))) known.push_back(name);
    }
  };
  if (where.prop != nullptr) add(where.prop->names);
  if (sees_room(where)) add(work.names);
  return known;
}

std::vector<std::string> remedies(const Workspace& work, const Where& where, std::string_view name,
                                  const char* wanted, const Wanted& fits) {
  if (work.unknown.size() > kSearched) return {};
  const std::vector<std::string> fitting = known_names(work, where, &fits);
  const std::string near = nearest_name(name, fitting);
  if (!near.empty()) {
    const auto own = where.prop == nullptr ? work.names.end() : where.prop->names.find(near);
    const bool is_own = where.prop != nullptr && own != where.prop->names.end();
    const Symbol& symbol = is_own ? own->second : work.names.find(near)->second;
    return {"write " + quoted(near) + ", " + describe(work, where.prop, symbol) + " with a similar name."};
  }
  if (!fitting.empty() && fitting.size() <= kListed)
    return {"name " + std::string(wanted) + ": " + list_of(fitting, "or") + "."};
  return {};
}

/// The same where the name is declared, as something else: never nothing.
std::vector<std::string> other_remedies(const Workspace& work, const Where& where, std::string_view name,
                                        const char* wanted, const Wanted& fits) {
  std::vector<std::string> mend = remedies(work, where, name, wanted, fits);
  const std::string what(wanted);
  if (mend.empty())
    mend = {"write " + (what.find('`') == std::string::npos ? "the name of " + what : what) + "."};
  return mend;
}

/// How a name of that kind is declared, an example; nothing where the kind alone does not tell.
std::string declaration(std::string_view wanted, const std::string& name) {
  if (wanted == "a thing") return "thing " + name + " 250 g";
  if (wanted == "a clip") return "clip " + name + " \"" + name + ".wav\"";
  if (wanted == "a timer") return "timer " + name + ": 5 min";
  if (wanted == "a counter") return "counter " + name + ": 0 to 3";
  if (wanted == "a state of this prop") return "state " + name + " { … }";
  if (wanted == "a prop") return "prop " + name + " on CONTROLLER { … }";
  if (wanted == "a controller") return "controller " + name + " is BOARD";
  return "";
}

void report_unknown(Workspace& work, const Where& where, const ast::Name& name, const char* wanted,
                    const Wanted& fits) {
  const std::string text(name.text);
  const bool in_design = !sees_room(where);
  if (!is_news(work, where.prop, in_design || where.own, text)) return;
  std::vector<Place> places;
  std::string reason = "Here belongs the name of " + std::string(wanted) + ".";
  std::vector<std::string> mend = remedies(work, where, text, wanted, fits);
  if (in_design) {
    const auto outside = work.names.find(text);
    if (outside != work.names.end()) {
      reason = "A design sees only what it takes and what it declares itself; " + quoted(text) + " is " +
               describe(work, nullptr, outside->second) + " of the room.";
      mend = {"let the design take it: `takes …`, and fill the place where the design is used."};
      places.push_back({outside->second.span, "", true});
    }
  }
  if (mend.empty()) {
    const bool search = work.unknown.size() <= kSearched;
    const std::string near = search ? nearest_name(text, known_names(work, where, nullptr)) : std::string();
    const std::string example = declaration(wanted, text);
    const std::string declare =
        "declare " + quoted(text) + (example.empty() ? "." : ": " + quoted(example) + ".");
    mend = {near.empty() ? declare : "write " + quoted(near) + ", or " + declare};
  }
  work.report.say(Code::unknown_name, name.span, quoted(text) + " is declared nowhere", reason, mend, places);
}

}  // namespace

bool may_be_declared(const Workspace& work, std::string_view name) {
  if (work.stray.find(name) != work.stray.end()) return true;
  const std::size_t stem = stem_length(name);
  return stem < name.size() && work.stray_stems.find(name.substr(0, stem)) != work.stray_stems.end();
}

bool is_news(Workspace& work, PropWork* prop, bool own, std::string_view name) {
  const std::string anywhere(name);
  std::string here = anywhere;
  if (prop != nullptr) {
    const bool in_design = prop->design != nullptr;
    here +=
        in_design ? "@" + std::string(prop->design->name.text) : "@" + work.room.props[index(prop->id)].name;
  }
  if (work.unknown.count(anywhere) + work.unknown.count(here) > 0) return false;
  work.unknown.insert(own ? here : anywhere);
  if (!own && !work.program.complete) return false;
  if (prop != nullptr && prop->nameless > 0) {
    --prop->nameless;
    return false;
  }
  if (!own && work.nameless > 0) {
    --work.nameless;
    return false;
  }
  return true;
}

void use(const Workspace& work, const Symbol& symbol) {
  if (!work.rehearsing || symbol.kind == NameKind::let) symbol.used = true;
}

void report_scenery(Workspace& work, PropId prop, Span wanted_at) {
  PropWork& row = work.props[index(prop)];
  const Prop& room_prop = work.room.props[index(prop)];
  const bool known = row.parts != nullptr && row.whole && !room_prop.states.empty();
  if (room_prop.first_goal || !known || row.scenery) return;
  row.scenery = true;
  const Reporter::Within within(work.report, row.used_at);
  work.report.say(
      Code::scenery, room_prop.states.back().span,
      "no state of " + quoted(room_prop.name) + " is a goal, and something waits for it to be solved",
      "A prop without a goal is scenery: it is never solved.",
      {"write `goal` after the name of the state in which it is solved.",
       "wait for one of its states instead."},
      {{wanted_at, "", true}});
}

std::string describe(const Workspace& work, const PropWork* prop, const Symbol& symbol) {
  switch (symbol.kind) {
    case NameKind::board:
      return "a board";
    case NameKind::controller:
      return "a controller";
    case NameKind::link:
      return "a link";
    case NameKind::thing:
      return "a thing";
    case NameKind::input:
      return kind_phrase(work.room.inputs[symbol.index].kind);
    case NameKind::output:
      return kind_phrase(work.room.outputs[symbol.index].kind);
    case NameKind::clip:
      return "a clip";
    case NameKind::cue:
      return "a cue";
    case NameKind::let:
      return work.lets[symbol.index].written == nullptr ? "a quantity" : "a `let`";
    case NameKind::design:
      return "a design";
    case NameKind::prop:
      return "a prop";
    case NameKind::window:
      return "a window";
    case NameKind::timer:
      return "a timer";
    case NameKind::counter:
      return "a counter";
    case NameKind::sequence:
      return "a sequence";
    case NameKind::state:
      return prop == nullptr ? "a state" : "a state of " + quoted(work.room.props[index(prop->id)].name);
  }
  return "";
}

const Symbol* find(Workspace& work, const Where& where, const ast::Name& name, const char* wanted,
                   const Wanted& fits) {
  if (!name) return nullptr;
  const Symbol* symbol = nullptr;
  if (where.prop != nullptr) {
    const auto own = where.prop->names.find(name.text);
    if (own != where.prop->names.end()) symbol = &own->second;
  }
  if (symbol == nullptr && sees_room(where)) {
    const auto outer = work.names.find(name.text);
    if (outer != work.names.end()) symbol = &outer->second;
  }
  if (symbol == nullptr) {
    if (!may_be_declared(work, name.text)) report_unknown(work, where, name, wanted, fits);
    return nullptr;
  }
  use(work, *symbol);
  if (symbol->silent) return nullptr;
  if (!seen_from(*symbol, where)) {
    work.report.say(
        Code::out_of_scope, name.span,
        quoted(name.text) + " is known only in the braces that it is declared in",
        "What is declared in a state begins anew with each entry and is gone when the state is left.",
        {"declare " + quoted(name.text) + " in the prop, outside of its states."},
        {{symbol->span, "", true}});
    return nullptr;
  }
  return symbol;
}

const Symbol* named(Workspace& work, const Where& where, const ast::Name& name, const char* wanted,
                    const Wanted& fits) {
  const Symbol* symbol = find(work, where, name, wanted, fits);
  if (symbol == nullptr) return nullptr;
  if (fits(*symbol)) return symbol;
  work.report.say(
      Code::wrong_kind, name.span,
      quoted(name.text) + " is " + describe(work, where.prop, *symbol) + ", and here belongs " + wanted, "",
      other_remedies(work, where, name.text, wanted, fits), {{symbol->span, "", true}});
  return nullptr;
}

namespace {

template <class Id>
std::optional<Id> room_named(Workspace& work, const Where& where, const ast::Name& name, const char* wanted,
                             NameKind kind) {
  const Symbol* symbol = named(work, where, name, wanted, [kind](const Symbol& s) { return s.kind == kind; });
  if (symbol == nullptr) return std::nullopt;
  return static_cast<Id>(symbol->index);
}

}  // namespace

std::optional<ControllerId> controller_named(Workspace& work, const ast::Name& name) {
  return room_named<ControllerId>(work, {}, name, "a controller", NameKind::controller);
}
std::optional<LinkId> link_named(Workspace& work, const ast::Name& name) {
  return room_named<LinkId>(work, {}, name, "a link", NameKind::link);
}
std::optional<ThingId> thing_named(Workspace& work, const Where& where, const ast::Name& name) {
  return room_named<ThingId>(work, where, name, "a thing", NameKind::thing);
}
std::optional<ClipId> clip_named(Workspace& work, const Where& where, const ast::Name& name) {
  return room_named<ClipId>(work, where, name, "a clip", NameKind::clip);
}
std::optional<PropId> prop_named(Workspace& work, const ast::Name& name) {
  return room_named<PropId>(work, {}, name, "a prop", NameKind::prop);
}

std::optional<InputId> input_named(Workspace& work, const Where& where, const ast::Name& name,
                                   const char* wanted, std::initializer_list<InputKind> kinds) {
  const Symbol* symbol = named(work, where, name, wanted, [&](const Symbol& s) {
    return s.kind == NameKind::input &&
           std::find(kinds.begin(), kinds.end(), work.room.inputs[s.index].kind) != kinds.end();
  });
  if (symbol == nullptr) return std::nullopt;
  return static_cast<InputId>(symbol->index);
}

std::optional<OutputId> output_named(Workspace& work, const Where& where, const ast::Name& name,
                                     const char* wanted, std::initializer_list<OutputKind> kinds) {
  const Symbol* symbol = named(work, where, name, wanted, [&](const Symbol& s) {
    return s.kind == NameKind::output &&
           (kinds.size() == 0 ||
            std::find(kinds.begin(), kinds.end(), work.room.outputs[s.index].kind) != kinds.end());
  });
  if (symbol == nullptr) return std::nullopt;
  return static_cast<OutputId>(symbol->index);
}

const Symbol* own_named(Workspace& work, const Where& where, const ast::Name& name, NameKind kind) {
  const char* wanted = kind == NameKind::timer     ? "a timer"
                       : kind == NameKind::counter ? "a counter"
                                                   : "a state of this prop";
  Where own = where;
  own.own = true;
  return named(work, own, name, wanted, [kind](const Symbol& s) { return s.kind == kind; });
}

std::optional<StateId> state_of(const Workspace& work, PropId prop, std::string_view name) {
  const Names& names = work.props[index(prop)].names;
  const auto found = names.find(name);
  if (found == names.end() || found->second.kind != NameKind::state) return std::nullopt;
  return static_cast<StateId>(found->second.index);
}

void declare(Workspace& work, Names& names, const Names* room, const std::string& name, Symbol symbol) {
  if (name.empty()) return;
  const auto [place, fresh] = names.emplace(name, symbol);
  if (!fresh) {
    work.report.say(Code::declared_twice, symbol.span, quoted(name) + " is declared twice",
                    "Each name is declared once, so that it always means one thing.",
                    {"rename one of the two."}, {{place->second.span, "declared here first", true}});
    place->second.silent = true;
    return;
  }
  if (room == nullptr) return;
  const auto outer = room->find(name);
  if (outer == room->end()) return;
  work.report.say(
      Code::declared_twice, symbol.span, quoted(name) + " is a name of the room already",
      "What a prop declares never takes a name of the room, so that no name changes its meaning on the way.",
      {"rename it in the prop."}, {{outer->second.span, describe(work, nullptr, outer->second), true}});
  place->second.silent = true;
}

}  // namespace lw::model
