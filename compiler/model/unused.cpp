// Names that nothing uses: told from what was looked up while resolving, and from what the resolved room
// does.
//
// What a rehearsal says counts for no name but a `let`: it tries the room, and is no part of it. A promise
// counts as a rule does. Things are never listed, since they lie in the room whether or not anything asks for
// them, nor links, which carry the session, nor what a used file declares for whoever uses it. Of a design a
// name counts as used when any prop made from it uses it. Tests: tests/cases/names.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

/// What the room's conditions and actions speak of.
struct SaidOf {
  std::set<InputId> read;
  std::set<OutputId> driven;
  std::set<std::tuple<PropId, NameKind, std::uint16_t>> moved;  // timers started, counters changed
  std::set<std::tuple<PropId, NameKind, std::uint16_t>> asked;  // timers, counters and sequences
};

class Collector {
 public:
  explicit Collector(SaidOf& said) : said_(said) {}

  void of(const Room& room) {
    for (std::size_t n = 0; n < room.props.size(); ++n) of(static_cast<PropId>(n), room.props[n]);
    of(room.start_condition);
    for (const Promise& promise : room.promises) {
      of(promise.condition);
      of(promise.answer);
    }
  }

 private:
  SaidOf& said_;

  void of(const Cond& cond) {
    each_fact(cond, [this](const Fact& fact, Span) { of(fact); });
  }
  void of(const Fact& fact) {
    if (speaks_of_input(fact.kind)) said_.read.insert(fact.input);
    switch (fact.kind) {
      case FactKind::timer_done:
      case FactKind::timer_past:
      case FactKind::timer_left:
        said_.asked.emplace(fact.prop, NameKind::timer, fact.item);
        return;
      case FactKind::counter_is:
      case FactKind::counter_above:
      case FactKind::counter_below:
        said_.asked.emplace(fact.prop, NameKind::counter, fact.item);
        return;
      case FactKind::sequence_done:
      case FactKind::sequence_wrong:
      case FactKind::sequence_is:
      case FactKind::sequence_above:
      case FactKind::sequence_below:
        said_.asked.emplace(fact.prop, NameKind::sequence, fact.item);
        return;
      default:
        return;
    }
  }
  void of(PropId prop, const std::vector<Action>& actions) {
    for (const Action& action : actions) {
      if (action.kind == ActionKind::start)
        said_.moved.emplace(prop, NameKind::timer, static_cast<std::uint16_t>(action.timer));
      if (action.kind == ActionKind::add || action.kind == ActionKind::take || action.kind == ActionKind::set)
        said_.moved.emplace(prop, NameKind::counter, static_cast<std::uint16_t>(action.counter));
      if (action.kind == ActionKind::keep || action.kind == ActionKind::play)
        said_.driven.insert(action.output);
    }
  }
  void of(PropId id, const Prop& prop) {
    for (const Window& window : prop.windows)
      said_.read.insert(window.input);  // an unread window says so itself
    for (const Sequence& sequence : prop.sequences) {
      if (sequence.each) of(*sequence.each);
      for (const Step& step : sequence.steps) of(step.condition);
    }
    for (const Ready& ready : prop.readies) of(ready.condition);
    if (prop.wakes) of(*prop.wakes);
    for (const Body& body : prop.bodies) {
      for (const Rule& rule : body.rules) {
        of(rule.condition);
        of(id, rule.actions);
      }
      for (const Keep& keep : body.keeps) {
        said_.driven.insert(keep.output);
        if (keep.while_) of(*keep.while_);
      }
      for (const Tell& tell : body.tells) {
        if (tell.while_) of(*tell.while_);
      }
      of(id, body.enter);
      of(id, body.leave);
    }
  }
};

/// A level at rest that says something of its own: the lamp that always burns, the lock that stands open.
bool rests_on_purpose(const Output& output) {
  return output.rest.kind != LevelKind::off && output.rest.kind != LevelKind::secured;
}

struct Lister {
  Workspace& work;
  const SaidOf& said;
  std::vector<Unused>& unused;

  bool lives(ControllerId controller) const {
    const Room& room = work.room;
    const auto on = [controller](const auto& row) { return row.controller == controller; };
    const auto hangs = [controller](const auto& row) {
      return row.ordinal != 0 && row.controller == controller;
    };
    return std::any_of(room.props.begin(), room.props.end(), on) ||
           std::any_of(room.inputs.begin(), room.inputs.end(), hangs) ||
           std::any_of(room.outputs.begin(), room.outputs.end(), hangs);
  }

  void of_room(const std::string& name, const Symbol& symbol) const {
    const auto add = [&](UnusedKind kind) { unused.emplace_back(kind, name, symbol.span, ""); };
    switch (symbol.kind) {
      case NameKind::board:
        if (!symbol.used) add(UnusedKind::board);
        return;
      case NameKind::controller:
        if (!lives(static_cast<ControllerId>(symbol.index))) add(UnusedKind::controller);
        return;
      case NameKind::clip:
        if (!symbol.used) add(UnusedKind::clip);
        return;
      case NameKind::cue:
        if (!symbol.used) add(UnusedKind::cue);
        return;
      case NameKind::let:
        if (!symbol.used) add(UnusedKind::let);
        return;
      case NameKind::design:
        if (!work.designs[symbol.index].used) add(UnusedKind::design);
        return;
      default:
        return;
    }
  }

  /// Devices one by one, or, where none of the several that a statement declares is used, once.
  void of_devices(const DeviceWork& device) const {
    const ast::Names& names = device.input != nullptr ? device.input->names : device.output->names;
    const Output* output = device.output != nullptr ? &work.room.outputs[device.first] : nullptr;
    if (output != nullptr && rests_on_purpose(*output)) return;
    std::vector<std::size_t> idle;
    for (std::size_t at = device.first; at < std::size_t{device.first} + device.count; ++at) {
      const bool used = output != nullptr ? said.driven.count(static_cast<OutputId>(at)) > 0
                                          : said.read.count(static_cast<InputId>(at)) > 0;
      if (!used) idle.push_back(at);
    }
    const UnusedKind kind = output == nullptr                   ? UnusedKind::input
                            : output->kind == OutputKind::voice ? UnusedKind::voice
                                                                : UnusedKind::output;
    if (idle.size() > 1 && idle.size() == device.count) {
      const std::string all = std::string(names.first.text) + "` to `" + std::string(names.last->text);
      unused.emplace_back(kind, all, names.span, "");
      return;
    }
    for (const std::size_t at : idle) {
      const Declared& row = output != nullptr ? static_cast<const Declared&>(work.room.outputs[at])
                                              : static_cast<const Declared&>(work.room.inputs[at]);
      unused.emplace_back(kind, row.name, row.span, "");
    }
  }

  /// The kind by which a name of the prop is unused, if it is.
  std::optional<UnusedKind> of_prop(const PropWork& prop, const Symbol& symbol) const {
    const bool asked = said.asked.count({prop.id, symbol.kind, symbol.index}) > 0;
    const bool moved = said.moved.count({prop.id, symbol.kind, symbol.index}) > 0;
    switch (symbol.kind) {
      case NameKind::timer:
        if (asked && !moved) return UnusedKind::unstarted_timer;
        return asked ? std::nullopt : std::optional(UnusedKind::timer);
      case NameKind::counter:
        if (asked && !moved) return UnusedKind::unchanged_counter;
        return asked ? std::nullopt : std::optional(UnusedKind::counter);
      case NameKind::sequence:
        return asked ? std::nullopt : std::optional(UnusedKind::sequence);
      case NameKind::state:
        return std::nullopt;  // whether a rule leads there is another finding
      case NameKind::window:
        return symbol.used ? std::nullopt : std::optional(UnusedKind::window);
      case NameKind::let:
        if (symbol.used) return std::nullopt;
        return work.lets[symbol.index].written == nullptr ? UnusedKind::place : UnusedKind::let;
      default:
        return symbol.used ? std::nullopt : std::optional(UnusedKind::place);
    }
  }
};

}  // namespace

void list_unused(Workspace& work) {
  SaidOf said;
  Collector(said).of(work.room);
  const Lister lister{work, said, work.room.unused};
  const FileId first = work.program.files.back().id;
  for (const auto& [name, symbol] : work.names) {
    if (!symbol.silent && symbol.span.file == first) lister.of_room(name, symbol);
  }
  for (const DeviceWork& device : work.devices) {
    const Span span = device.input != nullptr ? device.input->names.span : device.output->names.span;
    if (device.whole && device.count > 0 && span.file == first) lister.of_devices(device);
  }
  // Of a design: how many of the props made from it leave the name unused, against how many there are.
  std::map<std::pair<const ast::Design*, std::string>, std::pair<std::size_t, std::size_t>> of_designs;
  for (const bool count : {true, false}) {
    for (const PropWork& prop : work.props) {
      if (prop.written == nullptr || prop.parts == nullptr) continue;
      for (const auto& [name, symbol] : prop.names) {
        const auto kind = lister.of_prop(prop, symbol);
        if (prop.design != nullptr) {
          auto& [unused, props] = of_designs[{prop.design, name}];
          if (count) {
            ++props;
            unused += kind ? 1 : 0;
            continue;
          }
          if (unused < props) continue;
          unused = 0;  // told once
        }
        if (count || !kind || symbol.silent) continue;
        const std::string owner = prop.design == nullptr ? work.room.props[index(prop.id)].name
                                                         : std::string(prop.design->name.text);
        work.room.unused.emplace_back(*kind, name, symbol.span, owner);
      }
    }
  }
}

}  // namespace lw::model
