// Facts as raw rows, and in words. See lower_meaning.hpp; tests: tests/unit/lower/facts_test.cpp.
#include "table/lower_meaning.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>

#include "text/quantity.hpp"

namespace lw::lowering {
namespace {

using model::FactKind;
using model::index;
using rows::RawFact;

Meaning constant(bool truth) {
  Meaning m;
  m.truth = truth;
  return m;
}
Meaning one_of(std::size_t owner, std::vector<RawFact> any) {
  if (any.empty()) return constant(false);
  Meaning m;
  m.kind = Meaning::Kind::any_of;
  m.owner = owner;
  m.any = std::move(any);
  return m;
}

/// A count's inclusive range; whatever lies outside 0 to `top` cannot be. One that is always so is still
/// false for another controller until it has heard of it (9.3).
struct Count {
  std::int64_t low, high, top;
  bool never() const { return std::max<std::int64_t>(low, 0) > std::min(high, top); }
  bool always() const { return low <= 0 && high >= top; }
  std::uint8_t first() const { return static_cast<std::uint8_t>(std::max<std::int64_t>(low, 0)); }
  std::uint8_t last() const { return static_cast<std::uint8_t>(std::min(high, top)); }
};

Count count_of(FactKind kind, std::int64_t value, std::int64_t top) {
  switch (kind) {
    case FactKind::counter_above:
    case FactKind::sequence_above:
      return {value + 1, top, top};
    case FactKind::counter_below:
    case FactKind::sequence_below:
      return {0, value - 1, top};
    default:
      return {value, value, top};
  }
}

class Reading {
 public:
  Reading(const Plan& plan, const model::Fact& fact, Span span, std::size_t reader)
      : plan_(plan), fact_(fact), span_(span), reader_(reader) {}

  Meaning input() const;
  Meaning of_prop() const;
  Meaning session() const;
  Meaning output() const;

 private:
  Meaning cells(const Seat& seat, const std::vector<Range>& in) const;
  Meaning tags(const Seat& seat) const;
  Meaning timer(std::size_t owner) const;
  Meaning counter(std::size_t owner) const;
  Meaning sequence(std::size_t owner) const;
  std::uint32_t scans(std::size_t controller, std::int64_t ms) const {
    return plan_.clocks[controller].scans(ms, span_);
  }

  const Plan& plan_;
  const model::Fact& fact_;
  Span span_;
  std::size_t reader_;
};

Meaning Reading::cells(const Seat& seat, const std::vector<Range>& in) const {
  const Shape& shape = plan_.shapes[index(*input_read(plan_.room, fact_))];
  std::vector<RawFact> any;
  for (const Range& range : in)
    any.push_back({rows::FactKind::input_in, seat.row, shape.cell(range.low), shape.cell(range.high), {}});
  return one_of(seat.controller, any);
}

Meaning Reading::tags(const Seat& seat) const {
  const std::uint32_t other = static_cast<std::uint32_t>(plan_.controllers[seat.controller].tags.size()) + 1;
  const auto from_to = [&](std::uint32_t low, std::uint32_t high) {
    return RawFact{rows::FactKind::input_in, seat.row, low, high, {}};
  };
  if (fact_.kind == FactKind::reads_nothing) return one_of(seat.controller, {from_to(0, 0)});
  if (fact_.kind == FactKind::reads_anything) return one_of(seat.controller, {from_to(1, other)});
  const std::uint32_t tag = plan_.tag_row(seat.controller, fact_.thing) + 1u;
  if (fact_.kind == FactKind::reads_thing) return one_of(seat.controller, {from_to(tag, tag)});
  std::vector<RawFact> any;
  if (tag > 1) any.push_back(from_to(1, tag - 1));
  any.push_back(from_to(tag + 1, other));
  return one_of(seat.controller, any);
}

Meaning Reading::input() const {
  const model::InputId id = *input_read(plan_.room, fact_);
  const model::Input& input = plan_.input(id);
  const Seat seat = plan_.seat(id, reader_);
  const auto raw = [&](rows::FactKind kind, std::uint32_t low = 0, std::uint32_t high = 0) {
    return one_of(seat.controller, {{kind, seat.row, low, high, {}}});
  };
  // 2.7: an operator's button is pressed for one scan, never held, never lost.
  const bool asked_by_operator = input.kind == model::InputKind::operator_button;
  switch (fact_.kind) {
    case FactKind::in_window:
      return cells(seat,
                   ranges(plan_.shapes[index(id)], plan_.prop(fact_.prop).windows[index(fact_.window)]));
    case FactKind::scale_empty:
      return cells(seat, empty_ranges(input));
    case FactKind::input_moving:
      return raw(rows::FactKind::input_moving);
    case FactKind::input_lost:
      return asked_by_operator ? constant(false) : raw(rows::FactKind::input_lost);
    case FactKind::contact_open:
    case FactKind::signal_off:
      return raw(rows::FactKind::input_in, 0, 0);
    case FactKind::contact_closed:
    case FactKind::signal_on:
      return raw(rows::FactKind::input_in, 1, 1);
    case FactKind::button_held:
      return asked_by_operator ? constant(false) : raw(rows::FactKind::input_in, 1, 1);
    case FactKind::button_pressed:
      return raw(rows::FactKind::input_edge);
    case FactKind::enters:
      return one_of(seat.controller, {{rows::FactKind::input_enters, seat.row, 0, 0, fact_.text}});
    default:
      return tags(seat);
  }
}

/// 6.6. The row counts 0 stopped, else 1 + scans gone, N + 1 done.
Meaning Reading::timer(std::size_t owner) const {
  const model::Timer& timer = plan_.prop(fact_.prop).timers[fact_.item];
  const std::uint32_t length = plan_.clocks[owner].scans(timer.length_ms, timer.span);
  std::uint32_t least = length + 1;
  if (fact_.kind == FactKind::timer_past) {
    const std::uint32_t gone = scans(owner, fact_.value);
    if (gone > length) return constant(false);
    least = gone + 1;
  } else if (fact_.kind == FactKind::timer_left) {
    const std::uint32_t left = scans(owner, fact_.value);
    least = left >= length ? 1 : 1 + length - left;
  }
  return one_of(owner,
                {{rows::FactKind::timer_from, plan_.timers[index(fact_.prop)][fact_.item], least, 0, {}}});
}

Meaning Reading::counter(std::size_t owner) const {
  const model::Counter& counter = plan_.prop(fact_.prop).counters[fact_.item];
  const Count count = count_of(fact_.kind, fact_.value - counter.low, counter.high - counter.low);
  if (count.never() || (count.always() && owner == reader_)) return constant(count.always());
  return one_of(owner, {{rows::FactKind::counter_in,
                         plan_.counters[index(fact_.prop)][fact_.item],
                         count.first(),
                         count.last(),
                         {}}});
}

Meaning Reading::sequence(std::size_t owner) const {
  const model::Sequence& sequence = plan_.prop(fact_.prop).sequences[fact_.item];
  Meaning m;
  m.kind = Meaning::Kind::sequence;
  m.owner = owner;
  m.sequence = plan_.sequences[index(fact_.prop)][fact_.item];
  if (fact_.kind == FactKind::sequence_done) {
    m.low = m.high = rows::kSequenceDone;
  } else if (fact_.kind == FactKind::sequence_wrong) {
    m.low = m.high = rows::kSequenceWrong;
  } else {
    // The last step met makes the place 0 again (6.2).
    const Count count =
        count_of(fact_.kind, fact_.value, static_cast<std::int64_t>(sequence.steps.size()) - 1);
    if (count.never() || (count.always() && owner == reader_)) return constant(count.always());
    m.low = count.first();
    m.high = count.last();
    m.any = {{rows::FactKind::sequence_in, static_cast<std::uint32_t>(m.sequence), m.low, m.high, {}}};
  }
  return m;
}

Meaning Reading::of_prop() const {
  const Seat seat = plan_.props[index(fact_.prop)];
  const auto in = [&](std::uint32_t state) {
    return one_of(seat.controller, {{rows::FactKind::prop_in, seat.row, state, state, {}}});
  };
  switch (fact_.kind) {
    case FactKind::prop_in_state:
      return in(static_cast<std::uint32_t>(index(fact_.state)) + 1);
    case FactKind::prop_waiting:
      return in(0);
    case FactKind::prop_solved:
      return one_of(seat.controller, {{rows::FactKind::prop_solved, seat.row, 0, 0, {}}});
    case FactKind::timer_done:
    case FactKind::timer_past:
    case FactKind::timer_left:
      return timer(seat.controller);
    case FactKind::counter_is:
    case FactKind::counter_above:
    case FactKind::counter_below:
      return counter(seat.controller);
    default:
      return sequence(seat.controller);
  }
}

/// 7.3.
Meaning Reading::session() const {
  const auto from = [&](std::uint32_t least) {
    return one_of(reader_, {{rows::FactKind::session_from, least, 0, 0, {}}});
  };
  switch (fact_.kind) {
    case FactKind::session_running:
      return one_of(reader_, {{rows::FactKind::session_in, 1, 1, 0, {}}});
    case FactKind::session_ended:
      return one_of(reader_, {{rows::FactKind::session_in, 2, 2, 0, {}}});
    case FactKind::session_past:
      return from(scans(reader_, fact_.value));
    default: {
      if (plan_.room.session_ms == 0) return constant(false);
      const std::uint32_t length = plan_.clocks[reader_].scans(plan_.room.session_ms, plan_.room.span);
      const std::uint32_t left = scans(reader_, fact_.value);
      return from(left >= length ? 0 : length - left);
    }
  }
}

Meaning Reading::output() const {
  const Seat seat = plan_.outputs[index(fact_.output)];
  const auto is = [&](std::uint32_t test) {
    return one_of(seat.controller, {{rows::FactKind::output_is, seat.row, test, 0, {}}});
  };
  const bool fail_safe = plan_.output(fact_.output).fail_safe;
  switch (fact_.kind) {
    case FactKind::output_on:
    case FactKind::voice_playing:
      return is(LW_OUTPUT_is_on);
    case FactKind::output_off:
      return is(LW_OUTPUT_is_off);
    case FactKind::output_blinking:
      return is(LW_OUTPUT_is_blinking);
    case FactKind::lock_released:  // 5.6
      return is(fail_safe ? LW_OUTPUT_is_off : LW_OUTPUT_is_on);
    case FactKind::lock_secured:
      return is(fail_safe ? LW_OUTPUT_is_on : LW_OUTPUT_is_off);
    default:
      if (fact_.value >= 100) return is(LW_OUTPUT_is_on);
      if (fact_.value <= 0) return is(LW_OUTPUT_is_off);
      return is(LW_OUTPUT_is_at + static_cast<std::uint32_t>(fact_.value));
  }
}

std::string time_words(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

}  // namespace

Meaning meaning(const Plan& plan, const model::Fact& fact, Span span, std::size_t reader) {
  const Reading reading(plan, fact, span, reader);
  if (input_read(plan.room, fact)) return reading.input();
  switch (fact.kind) {
    case FactKind::session_running:
    case FactKind::session_ended:
    case FactKind::session_past:
    case FactKind::session_left:
      return reading.session();
    case FactKind::output_on:
    case FactKind::output_off:
    case FactKind::output_at:
    case FactKind::output_blinking:
    case FactKind::lock_released:
    case FactKind::lock_secured:
    case FactKind::voice_playing:
      return reading.output();
    default:
      assert(fact.kind != FactKind::finish && fact.kind != FactKind::controller_lost);
      return reading.of_prop();
  }
}

bool is_level(const Meaning& meaning) {
  if (meaning.kind == Meaning::Kind::sequence) return !meaning.any.empty();
  for (const RawFact& raw : meaning.any)
    if (raw.kind == rows::FactKind::input_edge || raw.kind == rows::FactKind::input_enters) return false;
  return true;
}

std::string words(const model::Room& room, const model::Fact& fact, bool with_prop) {
  const auto input = [&] { return room.inputs[index(fact.input)].name; };
  const auto output = [&] { return room.outputs[index(fact.output)].name; };
  const auto thing = [&] { return room.things[index(fact.thing)].name; };
  const auto prop = [&]() -> const model::Prop& { return room.props[index(fact.prop)]; };
  const auto own = [&](const std::string& name) { return with_prop ? prop().name + "." + name : name; };
  const auto timer = [&] { return own(prop().timers[fact.item].name); };
  const auto counter = [&] { return own(prop().counters[fact.item].name); };
  const auto sequence = [&] { return own(prop().sequences[fact.item].name); };
  switch (fact.kind) {
    case FactKind::in_window:
      return own(prop().windows[index(fact.window)].name);
    case FactKind::scale_empty:
      return input() + " empty";
    case FactKind::input_moving:
      return input() + " moving";
    case FactKind::input_lost:
      return input() + " lost";
    case FactKind::contact_closed:
      return fmt::format("{} {}", input(), room.inputs[index(fact.input)].closed_word);
    case FactKind::contact_open:
      return fmt::format("{} {}", input(), room.inputs[index(fact.input)].open_word);
    case FactKind::button_held:
      return input() + " held";
    case FactKind::button_pressed:
      return input() + " pressed";
    case FactKind::reads_thing:
      return fmt::format("{} reads {}", input(), thing());
    case FactKind::reads_nothing:
      return input() + " reads nothing";
    case FactKind::reads_anything:
      return input() + " reads anything";
    case FactKind::reads_other:
      return fmt::format("{} reads anything but {}", input(), thing());
    case FactKind::enters:
      return fmt::format("{} enters \"{}\"", input(), fact.text);
    case FactKind::signal_on:
      return input() + " on";
    case FactKind::signal_off:
      return input() + " off";
    case FactKind::prop_in_state:
      return fmt::format("{} {}", prop().name, prop().states[index(fact.state)].name);
    case FactKind::prop_waiting:
      return prop().name + " waiting";
    case FactKind::prop_solved:
      return prop().name + " solved";
    case FactKind::timer_done:
      return timer() + " done";
    case FactKind::timer_past:
      return fmt::format("{} past {}", timer(), time_words(fact.value));
    case FactKind::timer_left:
      return fmt::format("{} has {} left", timer(), time_words(fact.value));
    case FactKind::counter_is:
      return fmt::format("{} is {}", counter(), fact.value);
    case FactKind::counter_above:
      return fmt::format("{} above {}", counter(), fact.value);
    case FactKind::counter_below:
      return fmt::format("{} below {}", counter(), fact.value);
    case FactKind::sequence_done:
      return sequence() + " done";
    case FactKind::sequence_wrong:
      return sequence() + " wrong";
    case FactKind::sequence_is:
      return fmt::format("{} is {}", sequence(), fact.value);
    case FactKind::sequence_above:
      return fmt::format("{} above {}", sequence(), fact.value);
    case FactKind::sequence_below:
      return fmt::format("{} below {}", sequence(), fact.value);
    case FactKind::session_running:
      return "session running";
    case FactKind::session_ended:
      return "session ended";
    case FactKind::session_past:
      return "session past " + time_words(fact.value);
    case FactKind::session_left:
      return fmt::format("session has {} left", time_words(fact.value));
    case FactKind::finish:
      return "finish";
    case FactKind::output_on:
      return output() + " on";
    case FactKind::output_off:
      return output() + " off";
    case FactKind::output_at:
      return fmt::format("{} at {} %", output(), fact.value);
    case FactKind::output_blinking:
      return output() + " blinking";
    case FactKind::lock_released:
      return output() + " released";
    case FactKind::lock_secured:
      return output() + " secured";
    case FactKind::voice_playing:
      return output() + " playing";
    case FactKind::controller_lost:
      return room.controllers[index(fact.controller)].name + " lost";
  }
  return {};
}

}  // namespace lw::lowering
