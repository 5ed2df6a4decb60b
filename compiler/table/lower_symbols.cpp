// The names of one controller's rows, and where each is written. See lower_draft.hpp and symbols.hpp.
//
// Tests: tests/unit/lower/assay_test.cpp, plan_test.cpp.
#include <fmt/format.h>

#include "table/lower_draft.hpp"
#include "text/quantity.hpp"

namespace lw::lowering {
namespace {

using model::index;
using model::InputKind;

class Namer {
 public:
  explicit Namer(const SourceSet& sources) : sources_(sources) {}
  Symbol operator()(const std::string& name, Span span) const {
    Symbol symbol{name, static_cast<std::uint16_t>(span.file), 0};
    const bool is_written = index(span.file) < sources_.count() && span.begin != span.end;
    if (is_written) symbol.line = sources_.position(span).line;
    return symbol;
  }
  Symbol operator()(const model::Declared& declared) const { return (*this)(declared.name, declared.span); }

 private:
  static std::size_t index(FileId file) { return static_cast<std::size_t>(file); }
  const SourceSet& sources_;
};

std::vector<std::string> cell_names(const model::Input& input, const Shape& shape) {
  const auto shown = [&](std::int64_t division) {
    return format_quantity({input.from + division * input.division, input.dimension});
  };
  if (shape.edges.empty()) return {"any value"};
  std::vector<std::string> names{"up to " + shown(shape.edges.front() - 1)};
  for (std::size_t n = 1; n < shape.edges.size(); ++n)
    names.push_back(fmt::format("{} to {}", shown(shape.edges[n - 1]), shown(shape.edges[n] - 1)));
  names.push_back("from " + shown(shape.edges.back()));
  return names;
}

std::vector<std::string> value_names(const Plan& plan, std::size_t controller, model::InputId id) {
  const model::Input& input = plan.input(id);
  switch (input.kind) {
    case InputKind::contact:
      return {input.open_word, input.closed_word};
    case InputKind::scale:
    case InputKind::gauge:
      return cell_names(input, plan.shapes[index(id)]);
    case InputKind::reader: {
      std::vector<std::string> names{"nothing"};
      for (const model::ThingId tag : plan.controllers[controller].tags)
        names.push_back(plan.room.things[index(tag)].name);
      names.push_back("another tag");
      return names;
    }
    case InputKind::signal:
      return {"off", "on"};
    case InputKind::keypad:
      return {};
    default:
      return {"up", "held"};
  }
}

OutputSymbols output_symbols(const model::Output& output, const Namer& named) {
  switch (output.kind) {
    case model::OutputKind::lamp:
      return {named(output), "lamp", "off", "on"};
    case model::OutputKind::relay:
      return {named(output), "relay", "off", "on"};
    case model::OutputKind::motor:
      return {named(output), "motor", "off", "on"};
    case model::OutputKind::voice:
      return {named(output), "voice", "silent", "playing"};
    default:
      return output.fail_safe ? OutputSymbols{named(output), "lock", "released", "secured"}
                              : OutputSymbols{named(output), "lock", "secured", "released"};
  }
}

std::string body_name(const model::Prop& prop, const model::Body& body) {
  std::string names;
  for (const model::StateId state : body.states)
    names += fmt::format("{}{}", names.empty() ? "" : ", ", prop.states[index(state)].name);
  if (!body.shared) return fmt::format("{} {}", prop.name, names);
  if (body.states.size() == prop.states.size()) return prop.name + " in every state";
  return fmt::format("{} in {}", prop.name, names);
}

}  // namespace

Symbols Draft::symbols(const SourceSet& sources) const {
  const model::Room& room = plan_.room;
  const Namer named(sources);
  const model::Controller& controller = room.controllers[controller_];
  Symbols to;
  to.room = room.title;
  to.controller = controller.name;
  to.board = room.boards[index(controller.board)].name;
  for (std::size_t n = 0; n < sources.count(); ++n)
    to.files.push_back(sources.name(FileId(static_cast<std::uint16_t>(n))));
  for (const model::Controller& each : room.controllers) to.controllers.push_back(each.name);
  for (const model::InputId id : seats_.inputs)
    to.inputs.push_back({named(plan_.input(id)), value_names(plan_, controller_, id)});
  for (const model::OutputId id : seats_.outputs)
    to.outputs.push_back(output_symbols(plan_.output(id), named));
  for (const model::ThingId id : seats_.tags) to.tags.push_back(named(room.things[index(id)]));
  for (const model::ClipId id : seats_.clips) to.clips.push_back(named(room.clips[index(id)]));
  for (const model::CueId id : seats_.cues) to.cues.push_back(named(room.cues[index(id)]));

  std::size_t body = 0;
  for (const model::PropId id : seats_.props) {
    const model::Prop& prop = plan_.prop(id);
    const auto own = [&](const model::Declared& declared) {
      return named(fmt::format("{}.{}", prop.name, declared.name), declared.span);
    };
    for (const model::Timer& timer : prop.timers) to.timers.push_back(own(timer));
    for (const model::Counter& counter : prop.counters) to.counters.push_back(own(counter));
    PropSymbols prop_symbols;
    prop_symbols.prop = named(prop);
    for (const model::State& state : prop.states) prop_symbols.states.push_back(named(state));
    to.props.push_back(std::move(prop_symbols));
    for (std::size_t n = 0; n < prop.bodies.size(); ++n, ++body) {
      BodySymbols body_symbols;
      body_symbols.body = named(body_name(prop, *bodies_[body]), bodies_[body]->span);
      for (const model::Rule& rule : bodies_[body]->rules) body_symbols.rules.push_back(named("", rule.span));
      for (const model::Keep& keep : bodies_[body]->keeps)
        body_symbols.keeps.push_back(named(plan_.output(keep.output).name, keep.span));
      to.bodies.push_back(std::move(body_symbols));
    }
  }
  for (const SequencePlace& place : sequence_places_) {
    const model::Prop& prop = plan_.prop(place.prop);
    const model::Sequence& sequence = prop.sequences[place.item];
    to.sequences.push_back(named(fmt::format("{}.{}", prop.name, sequence.name), sequence.span));
  }
  for (const auto& [name, span] : drive_names_) to.drives.push_back(named(name, span));
  for (const model::Keep* keep : tails_)
    to.tails.push_back(named(fmt::format("{} {} longer", plan_.output(keep->output).name,
                                         format_quantity({keep->longer_ms, Dimension::time})),
                             keep->span));
  for (const model::Ready* ready : readies_) to.readies.push_back(named(ready->words, ready->span));
  for (const model::Tell* tell : tells_) to.tells.push_back(named(tell->words, tell->span));
  for (std::size_t n = 0; n < numbering_.names.size(); ++n)
    to.facts.push_back(named(numbering_.names[n], numbering_.spans[n]));
  for (const Bit& bit : links_.bits[controller_])
    to.own_bits.push_back(named(bit.words.full, bit.words.span));
  return to;
}

}  // namespace lw::lowering
