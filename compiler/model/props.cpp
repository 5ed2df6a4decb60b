// Props: their controller, and everything that they declare, before any of it is looked at.
//
// Tests: tests/unit/model/props_test.cpp.
#include "model/workspace.hpp"

namespace lw::model {
namespace {

struct Declarer {
  Workspace& work;
  PropWork& prop;
  Prop& room_prop;
  std::optional<BodyId> body;
  bool whole = true;

  void add(NameKind kind, std::size_t count, const ast::Name& name, bool silent) const {
    if (!name) ++prop.nameless;
    declare(work, prop.names, prop.design == nullptr ? &work.names : nullptr, std::string(name.text),
            {kind, static_cast<std::uint16_t>(count - 1), name.span, silent, body});
  }
  template <class Row>
  bool row(std::vector<Row>& rows, const ast::Name& name) const {
    if (!within_ids(work, rows.size(), name.span)) return false;
    Row fresh;
    fresh.name = name.text;
    fresh.span = name.span;
    rows.push_back(std::move(fresh));
    return true;
  }

  void operator()(const ast::Let& let) const {
    if (!within_ids(work, work.lets.size(), let.name.span)) return;
    LetWork fresh;
    fresh.written = &let;
    fresh.prop = &prop;
    fresh.body = body;
    fresh.span = let.name.span;
    work.lets.push_back(std::move(fresh));
    add(NameKind::let, work.lets.size(), let.name, !whole);
  }
  void operator()(const ast::Window& window) const {
    if (!row(room_prop.windows, window.name)) return;
    room_prop.windows.back().range_span = window.range.span;
    prop.windows.push_back({&window, body, whole ? Stage::fresh : Stage::failed});
    add(NameKind::window, room_prop.windows.size(), window.name, !whole);
  }
  void operator()(const ast::Timer& timer) const {
    if (!row(room_prop.timers, timer.name)) return;
    room_prop.timers.back().body = body;
    prop.timers.push_back(&timer);
    add(NameKind::timer, room_prop.timers.size(), timer.name, !whole);
  }
  void operator()(const ast::Counter& counter) const {
    if (!row(room_prop.counters, counter.name)) return;
    room_prop.counters.back().body = body;
    prop.counters.push_back(&counter);
    add(NameKind::counter, room_prop.counters.size(), counter.name, !whole);
  }
  void operator()(const ast::Sequence& sequence) const {
    if (!row(room_prop.sequences, sequence.name)) return;
    room_prop.sequences.back().body = body;
    prop.sequences.push_back(&sequence);
    add(NameKind::sequence, room_prop.sequences.size(), sequence.name, !whole);
  }
  void operator()(const ast::Ready&) const {}
  void operator()(const ast::Keep&) const {}
  void operator()(const ast::Tell&) const {}
  void operator()(const ast::Enter&) const {}
  void operator()(const ast::Leave&) const {}
  void operator()(const ast::When&) const {}
  void operator()(const ast::After&) const {}
  void operator()(const ast::Takes&) const {}
  void operator()(const ast::In& in) const { add_body(in.body, &in, std::nullopt); }
  void operator()(const ast::State& state) const {
    if (!row(room_prop.states, state.name)) return;
    const std::size_t count = room_prop.states.size();
    const auto id = static_cast<StateId>(count - 1);
    room_prop.states.back().goal = state.goal.has_value();
    if (state.goal && !room_prop.first_goal) room_prop.first_goal = id;
    if (state.name.text == "solved" || state.name.text == "waiting") {
      work.report.say(Code::declared_twice, state.name.span,
                      quoted(state.name.text) + " is what every prop can be",
                      "Of any prop one can say that it is `solved`, or `waiting` before it wakes.",
                      {"rename the state."});
    }
    add(NameKind::state, count, state.name, false);
    add_body(state.body, nullptr, id);
  }

  void add_body(const std::vector<ast::Inside>& insides, const ast::In* in,
                std::optional<StateId> state) const {
    if (!within_ids(work, room_prop.bodies.size(), room_prop.span)) return;
    const auto id = static_cast<BodyId>(room_prop.bodies.size());
    Body fresh;
    fresh.shared = in != nullptr;
    if (state) fresh.states = {*state};
    room_prop.bodies.push_back(std::move(fresh));
    prop.bodies.push_back({&insides, in, state, {}});
    const bool checked = prop.written != nullptr;
    for (const ast::Inside& inside : insides) {
      take_accepts(work, inside.accepts, inside.span, checked);
      std::visit(Declarer{work, prop, room_prop, id, inside.whole}, inside.form);
    }
  }
};

void find_start(Workspace& work, const PropWork& prop, Prop& room_prop) {
  const ast::State* first = nullptr;
  std::size_t at = 0;
  for (const ast::Part& part : *prop.parts) {
    const auto* state = std::get_if<ast::State>(&part.form);
    if (state == nullptr) continue;
    const std::size_t row = at++;
    if (!state->start || row >= room_prop.states.size()) continue;
    if (first != nullptr) {
      work.report.say(Code::start_state, state->name.span,
                      "a second start state, " + quoted(state->name.text), "A prop wakes in one state.",
                      {"take away one `start`."}, {{first->name.span, "", true}});
      return;
    }
    first = state;
    room_prop.start = static_cast<StateId>(row);
  }
  if (first != nullptr || !prop.whole) return;
  const Span span = prop.design == nullptr ? room_prop.span : prop.design->name.span;
  if (room_prop.states.empty()) {
    work.report.say(Code::start_state, span, quoted(work.text(span)) + " has no state",
                    "What a prop does is written in its states.",
                    {"write at least one: `state NAME start { … }`."});
  } else {
    work.report.say(Code::start_state, room_prop.states.front().span,
                    "no state of " + quoted(work.text(span)) + " is its start", "A prop wakes in one state.",
                    {"write `start` after the name of the state in which it begins."}, {{span, "", true}});
  }
}

/// Which states each `in` block names, and which bodies each state has: those of blocks first.
void join_bodies(Workspace& work, PropWork& prop, Prop& room_prop) {
  for (std::size_t at = 0; at < prop.bodies.size(); ++at) {
    const BodyWork& body = prop.bodies[at];
    Body& room_body = room_prop.bodies[at];
    if (body.in == nullptr) continue;
    if (body.in->every) {
      for (std::size_t state = 0; state < room_prop.states.size(); ++state) {
        room_body.states.push_back(static_cast<StateId>(state));
      }
    }
    for (const ast::Name& name : body.in->states) {
      const Symbol* symbol = own_named(work, {&prop, {}}, name, NameKind::state);
      if (symbol == nullptr) continue;
      const auto id = static_cast<StateId>(symbol->index);
      bool twice = false;
      for (const StateId known : room_body.states) twice = twice || known == id;
      if (twice) {
        work.report.say(Code::twice_given, name.span, quoted(name.text) + " is named twice", "",
                        {"take one away."});
      } else {
        room_body.states.push_back(id);
      }
    }
    for (const StateId state : room_body.states)
      room_prop.states[index(state)].bodies.push_back(static_cast<BodyId>(at));
  }
  for (std::size_t at = 0; at < prop.bodies.size(); ++at) {
    if (prop.bodies[at].state)
      room_prop.states[index(*prop.bodies[at].state)].bodies.push_back(static_cast<BodyId>(at));
  }
}

void declare_parts(Workspace& work, PropWork& prop) {
  const Reporter::Within within(work.report, prop.used_at);
  Prop& room_prop = work.room.props[index(prop.id)];
  for (const ast::Part& part : *prop.parts) {
    take_accepts(work, part.accepts, part.span, prop.written != nullptr);
    const std::size_t bodies = prop.bodies.size();
    std::visit(Declarer{work, prop, room_prop, std::nullopt, part.whole}, part.form);
    if (prop.bodies.size() > bodies) room_prop.bodies[bodies].span = part.span;
  }
  find_start(work, prop, room_prop);
  join_bodies(work, prop, room_prop);
}

void declare_prop(Workspace& work, PropWork& prop) {
  Prop& room_prop = work.room.props[index(prop.id)];
  if (const auto controller = controller_named(work, prop.written->controller)) {
    room_prop.controller = *controller;
    prop.placed = true;
  }
  prop.parts = &prop.written->parts;
  if (prop.written->design) {
    prop.parts = nullptr;
    const Symbol* symbol = named(work, {}, *prop.written->design, "a design",
                                 [](const Symbol& s) { return s.kind == NameKind::design; });
    if (symbol == nullptr) return;
    DesignWork& design = work.designs[symbol->index];
    design.used = true;
    prop.design = design.written;
    prop.parts = &design.written->parts;
    prop.whole = prop.whole && design.whole;
    prop.used_at = prop.written->design->span;
    room_prop.filled_at = prop.used_at;
    if (!design.whole) {  // a place that could not be read is filled all the same
      for (const ast::Given& given : prop.written->given) work.stray.emplace(given.place.text);
    }
    fill_places(work, prop);
  }
  declare_parts(work, prop);
}

void declare_unused(Workspace& work, const DesignWork& design) {
  Prop row;
  row.name = design.written->name.text;
  row.span = design.written->name.span;
  PropWork prop;
  prop.id = static_cast<PropId>(work.room.props.size());
  prop.design = design.written;
  prop.parts = &design.written->parts;
  prop.whole = design.whole;
  work.room.props.push_back(std::move(row));
  work.props.push_back(std::move(prop));
  fill_places(work, work.props.back());
  declare_parts(work, work.props.back());
}

}  // namespace

void declare_props(Workspace& work) {
  for (PropWork& prop : work.props) declare_prop(work, prop);
  for (const DesignWork& design : work.designs) {
    if (!design.used && within_ids(work, work.props.size(), design.written->name.span))
      declare_unused(work, design);
  }
}

void resolve_values(Workspace& work, PropWork& prop) {
  const Reporter::Within within(work.report, prop.used_at);
  Prop& room_prop = work.room.props[index(prop.id)];
  for (std::size_t i = 0; i < prop.windows.size(); ++i) window_done(work, prop, static_cast<WindowId>(i));
  for (std::size_t i = 0; i < prop.timers.size(); ++i) {
    const Where where{&prop, room_prop.timers[i].body};
    if (const auto length = duration(work, where, prop.timers[i]->time))
      room_prop.timers[i].length_ms = *length;
  }
  constexpr std::int64_t kWidest = 255;  // a table counts in one byte
  for (std::size_t i = 0; i < prop.counters.size(); ++i) {
    const ast::Number& low = prop.counters[i]->low;
    const ast::Number& high = prop.counters[i]->high;
    if (high.span.begin == high.span.end) continue;  // could not be read
    const Span span{low.span.file, low.span.begin, high.span.end};
    if (low.value >= high.value) {
      work.report.say(Code::empty_range, span, "the counter's low end is not below its high end", "",
                      {"write the lower number first: `counter misses: 0 to 3`."});
    } else if (high.value - low.value > kWidest) {
      work.report.say(Code::out_of_range, span, "a counter counts 255 steps at most",
                      "From " + std::to_string(low.value) + " to " + std::to_string(high.value) + " are " +
                          std::to_string(high.value - low.value) + ".",
                      {"write ends that lie 255 apart at most."});
    } else {
      room_prop.counters[i].low = low.value;
      room_prop.counters[i].high = high.value;
    }
  }
}

}  // namespace lw::model
