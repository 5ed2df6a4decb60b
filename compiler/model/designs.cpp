// Uses of designs: what stands in each place that a design takes.
//
// A filled place is a name of the prop that stands for something of the room, so that all that follows knows
// no designs. Tests: tests/unit/model/designs_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

struct PlaceKind {
  std::string_view word;
  const char* phrase;
  Wanted fits;
};

/// What the words of `takes` ask for; nothing for `time` and `mass`.
std::optional<PlaceKind> device_place(const Workspace& work, std::string_view word) {
  const auto input = [&work](std::initializer_list<InputKind> kinds) -> Wanted {
    return [&work, list = std::vector<InputKind>(kinds)](const Symbol& s) {
      return s.kind == NameKind::input &&
             std::find(list.begin(), list.end(), work.room.inputs[s.index].kind) != list.end();
    };
  };
  const auto output = [&work](OutputKind kind) -> Wanted {
    return [&work, kind](const Symbol& s) {
      return s.kind == NameKind::output && work.room.outputs[s.index].kind == kind;
    };
  };
  const auto item = [](NameKind kind) -> Wanted {
    return [kind](const Symbol& s) { return s.kind == kind; };
  };
  if (word == "scale") return PlaceKind{word, "a scale", input({InputKind::scale})};
  if (word == "gauge") return PlaceKind{word, "a gauge", input({InputKind::gauge})};
  if (word == "contact") return PlaceKind{word, "a contact", input({InputKind::contact})};
  if (word == "button")
    return PlaceKind{word, "a button", input({InputKind::button, InputKind::operator_button})};
  if (word == "reader") return PlaceKind{word, "a reader", input({InputKind::reader})};
  if (word == "keypad") return PlaceKind{word, "a keypad", input({InputKind::keypad})};
  if (word == "signal") return PlaceKind{word, "a signal", input({InputKind::signal})};
  if (word == "lamp") return PlaceKind{word, "a lamp", output(OutputKind::lamp)};
  if (word == "relay") return PlaceKind{word, "a relay", output(OutputKind::relay)};
  if (word == "motor") return PlaceKind{word, "a motor", output(OutputKind::motor)};
  if (word == "lock") return PlaceKind{word, "a lock", output(OutputKind::lock)};
  if (word == "voice") return PlaceKind{word, "a voice", output(OutputKind::voice)};
  if (word == "thing") return PlaceKind{word, "a thing", item(NameKind::thing)};
  if (word == "clip") return PlaceKind{word, "a clip", item(NameKind::clip)};
  if (word == "cue") return PlaceKind{word, "a cue", item(NameKind::cue)};
  if (word == "prop") return PlaceKind{word, "a prop", item(NameKind::prop)};
  return std::nullopt;
}

std::optional<Dimension> quantity_place(std::string_view word) {
  if (word == "time") return Dimension::time;
  if (word == "mass") return Dimension::mass;
  return std::nullopt;
}

/// The value of a `time` or `mass`, given or by default; a name of the prop that stands for a quantity.
std::optional<Symbol> fill_quantity(Workspace& work, const ast::Takes::Place& place, Dimension dimension,
                                    const ast::Given* given) {
  std::optional<std::int64_t> value;
  if (given == nullptr) {
    value = amount(work, *place.unless_given, dimension, Sign::positive);
  } else if (given->value) {
    value = amount(work, {}, *given->value, dimension, Sign::positive);
  }
  if (!value || !within_ids(work, work.lets.size(), place.span)) return std::nullopt;
  LetWork let;
  let.span = place.name.span;
  let.stage = Stage::done;
  let.quantity = lw::Quantity{*value, dimension};
  work.lets.push_back(std::move(let));
  return Symbol{NameKind::let, static_cast<std::uint16_t>(work.lets.size() - 1), place.name.span, false, {}};
}

std::optional<Symbol> fill_device(Workspace& work, const ast::Takes::Place& place, const PlaceKind& kind,
                                  const ast::Given& given) {
  if (!given.value) return std::nullopt;
  const auto* name = std::get_if<ast::Name>(&*given.value);
  if (name == nullptr) {
    work.report.say(
        Code::wrong_kind, given.span,
        "the place " + quoted(place.name.text) + " takes " + kind.phrase + ", and here stands a quantity", "",
        {"write the name of " + std::string(kind.phrase) + "."}, {{place.span, "", true}});
    return std::nullopt;
  }
  const Symbol* symbol = named(work, {}, *name, kind.phrase, kind.fits);
  if (symbol == nullptr) return std::nullopt;
  return Symbol{symbol->kind, symbol->index, place.name.span, false, {}};
}

struct Filling {
  Workspace& work;
  PropWork& prop;
  std::map<std::string_view, const ast::Given*> given;
};

/// A time or a mass could have a value in the design: that it has none is said once, there, however many uses
/// leave it out.
void report_empty(Filling& filling, const ast::Takes::Place& place, std::optional<Dimension> dimension) {
  const ast::Prop& use = *filling.prop.written;
  const std::string name(place.name.text);
  const std::string design = quoted(filling.prop.design->name.text);
  if (dimension) {
    filling.work.report.say(
        Code::place_not_filled, place.span,
        "the place " + quoted(name) + " of " + design + " is left empty, and has no value for that", "",
        {"write its value after it, for where none is given.",
         "write " + quoted(name) + " and a value in the braces of each use."},
        {{use.name.span, "", true}});
    return;
  }
  filling.work.report.say(
      Code::place_not_filled, use.name.span,
      "the prop " + quoted(use.name.text) + " does not fill the place " + quoted(name) + " of " + design, "",
      {"write " + quoted(name + " NAME") + " in its braces."}, {{place.span, "", true}});
}

std::optional<Symbol> fill_place(Filling& filling, const ast::Takes::Place& place) {
  Workspace& work = filling.work;
  const auto dimension = quantity_place(place.kind.text);
  const auto device = device_place(work, place.kind.text);
  const auto found = filling.given.find(place.name.text);
  const ast::Given* given = found == filling.given.end() ? nullptr : found->second;
  if (place.unless_given && !dimension) {
    work.report.say(Code::wrong_kind, place.unless_given->span,
                    "only a `time` or a `mass` has a value unless one is given", "", {"take it away."});
  }
  if (filling.prop.written == nullptr) return std::nullopt;  // a design without a use
  if (given == nullptr && !(dimension && place.unless_given)) {
    if (filling.prop.whole) report_empty(filling, place, dimension);
    return std::nullopt;
  }
  if (dimension) return fill_quantity(work, place, *dimension, given);
  if (device) return fill_device(work, place, *device, *given);
  return std::nullopt;
}

void check_given(Filling& filling) {
  Workspace& work = filling.work;
  const ast::Design& design = *filling.prop.design;
  std::vector<std::string> places;
  for (const ast::Part& part : design.parts) {
    if (const auto* takes = std::get_if<ast::Takes>(&part.form)) {
      for (const ast::Takes::Place& place : takes->places) places.emplace_back(place.name.text);
    }
  }
  for (const ast::Given& given : filling.prop.written->given) {
    if (!given.place) continue;
    if (std::find(places.begin(), places.end(), given.place.text) == places.end()) {
      if (may_be_declared(work, given.place.text)) continue;
      const std::string near = nearest_name(given.place.text, places);
      std::vector<std::string> remedies;
      if (!near.empty())
        remedies = {"write " + quoted(near) + "."};
      else if (!places.empty())
        remedies = {"fill what it takes: " + list_of(places, "and") + "."};
      else
        remedies = {"take it away: the design takes nothing.", "or let it: `takes …` in the design."};
      work.report.say(Code::unknown_name, given.place.span,
                      "the design " + quoted(design.name.text) + " takes no " + quoted(given.place.text), "",
                      remedies, {{design.name.span, "", true}});
      // Most likely the place that is then empty: one mistake, one finding.
      if (!near.empty()) filling.prop.whole = false;
      continue;
    }
    const auto [first, fresh] = filling.given.emplace(given.place.text, &given);
    if (!fresh) {
      work.report.say(Code::twice_given, given.place.span,
                      "the place " + quoted(given.place.text) + " is filled twice", "", {"take one away."},
                      {{first->second->span, "", true}});
    }
  }
}

}  // namespace

void fill_places(Workspace& work, PropWork& prop) {
  Filling filling{work, prop, {}};
  if (prop.written != nullptr) check_given(filling);
  for (const ast::Part& part : prop.design->parts) {
    const auto* takes = std::get_if<ast::Takes>(&part.form);
    if (takes == nullptr) continue;
    for (const ast::Takes::Place& place : takes->places) {
      std::optional<Symbol> symbol = fill_place(filling, place);
      if (!symbol) symbol = Symbol{NameKind::let, 0, place.name.span, true, {}};
      declare(work, prop.names, nullptr, std::string(place.name.text), *symbol);
    }
  }
}

}  // namespace lw::model
