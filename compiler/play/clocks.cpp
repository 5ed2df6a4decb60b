// See clocks.hpp. The bounds are on values before a scan: a count that is compared after it has moved on is
// bounded one below what it is compared with. Where each count is compared is said beside it.
#include "play/clocks.hpp"

#include <algorithm>
#include <map>

#include "runtime/block.h"

namespace lw {

using rows::FactKind;

namespace {

std::vector<Count> sorted(std::vector<Count> starts) {
  std::sort(starts.begin(), starts.end());
  starts.erase(std::unique(starts.begin(), starts.end()), starts.end());
  return starts;
}

/// A value that is 0 or more and compared, once it has moved on, with `least`.
void at_least(std::vector<Count>& starts, std::uint32_t least) {
  if (least > 1) starts.push_back(static_cast<Count>(least) - 1);
}

std::vector<Count> run_starts(const rows::Rule& rule) {
  const auto n = static_cast<Count>(rule.n);
  std::vector<Count> starts{0, 1, n, n + 1};
  if (!rule.target) starts.push_back(rule.a ? n + static_cast<Count>(rule.a) : n + 2);
  return sorted(std::move(starts));
}

std::vector<Count> left_starts(std::uint32_t most) { return sorted({-static_cast<Count>(most), -1, 0}); }

}  // namespace

void Clocks::add(Kind kind, std::size_t at, std::uint8_t width, std::size_t owner,
                 std::vector<Count> starts) {
  Clock clock;
  clock.kind = kind;
  clock.at = static_cast<std::uint16_t>(at);
  clock.width = width;
  clock.owner = static_cast<std::uint16_t>(owner);
  clock.starts = std::move(starts);
  clocks_.push_back(std::move(clock));
}

Clocks::Clocks(const rows::Table& rows, const lw_table& t, const std::vector<rows::RawFact>& facts,
               const std::vector<bool>& compares)
    : table_(&t) {
  homes_.resize(rows.bodies.size());
  for (std::size_t p = 0; p < rows.props.size(); ++p)
    for (std::size_t state = 0; state < rows.props[p].states.size(); ++state)
      for (const std::uint16_t body : rows.props[p].states[state].bodies) {
        homes_[body].prop = static_cast<std::uint8_t>(p);
        homes_[body].states.resize(rows.props[p].states.size() + 1);
        homes_[body].states[state + 1] = true;
      }
  const auto body_of = [&](std::uint16_t place) {
    for (std::size_t b = 0; b < rows.bodies.size(); ++b) {
      const rows::Body& body = rows.bodies[b];
      if (place >= body.locals && place < body.locals + body.locals_size) return static_cast<int>(b);
    }
    return -1;
  };
  std::vector<Count> session{0};
  std::vector<Count> session_ended{0};
  at_least(session, rows.session.length);
  std::vector<std::vector<Count>> timers(rows.timers.size(), {0, 1});
  std::vector<bool> lit(rows.outputs.size());
  for (const rows::RawFact& each : facts) {
    const rows::RawFact* const fact = &each;
    if (fact->kind == FactKind::session_from) {
      at_least(session, fact->a);
      if (fact->a > 0) session_ended.push_back(static_cast<Count>(fact->a));
    } else if (fact->kind == FactKind::timer_from) {
      at_least(timers[fact->a], fact->b);
    } else if (fact->kind == FactKind::output_is && fact->b < LW_OUTPUT_is_blinking) {
      lit[fact->a] = true;
    }
  }

  // Session: time counts while it runs, and is compared after that (7.1, 7.2); its start's run likewise.
  // An end that is heard stops the time before it has moved on, so what asks of it then parts it here too.
  session.insert(session.end(), session_ended.begin(), session_ended.end());
  add(Kind::session, LW_AT_TIME, 4, 0, sorted(session));
  clocks_.back().tops = {static_cast<Count>(LW_MAX_scans) + 1};
  clocks_.back().by = {{0}, clocks_.back().starts, sorted(session_ended)};
  std::vector<Count> start{0};
  if (rows.session.starts == rows::StartKind::when) {
    const auto hold = static_cast<Count>(rows.session.hold);
    start = sorted({0, 1, 2, hold + 1, hold + 2});
  }
  add(Kind::start, LW_AT_START_RUN, 4, 0, start);

  for (std::size_t n = 0; n < rows.timers.size(); ++n) {
    std::vector<Count>& starts = timers[n];
    starts.push_back(static_cast<Count>(rows.timers[n].length));
    starts.push_back(static_cast<Count>(rows.timers[n].length) + 1);
    add(Kind::timer, std::size_t{t.arena} + rows.timers[n].place, 4, n, sorted(starts));
    clocks_.back().body = body_of(rows.timers[n].place);
  }

  // Drives and clips count down to nothing.
  std::vector<std::uint32_t> most(rows.drives.size(), 1);
  for (const rows::ActionList& list : rows.actions)
    for (const rows::Action& action : list)
      if (action.kind == rows::ActionKind::keep) most[action.index] = std::max(most[action.index], action.n);
  for (const rows::Tail& tail : rows.tails) most[tail.drive] = std::max(most[tail.drive], tail.length);
  for (std::size_t n = 0; n < rows.drives.size(); ++n) {
    std::vector<Count> starts = left_starts(most[n]);
    // 5.2: what another statement asks for is compared with what is left once it has moved on.
    for (const rows::ActionList& list : rows.actions)
      for (const rows::Action& action : list)
        if (compares[n] && action.kind == rows::ActionKind::keep && action.index == n && action.n < most[n])
          starts.push_back(-static_cast<Count>(action.n) - 1);
    add(Kind::left, std::size_t{t.drive_block} + LW_DRIVE_PART * n + 2, 4, n, sorted(std::move(starts)));
  }
  std::uint32_t longest = 1;
  for (const std::uint32_t clip : rows.clips) longest = std::max(longest, clip);
  for (std::size_t n = 0; n < t.voices; ++n)
    add(Kind::left, std::size_t{t.voice_block} + LW_VOICE_PART * n + 3, 4, n, left_starts(longest));

  // 5.5: a phase turns in its level's cycle; nobody looks at it but who asks for `on` and `off`.
  for (std::size_t n = t.voices; n < rows.outputs.size(); ++n) {
    add(Kind::phase, std::size_t{t.output_phases} + 2 * n, 2, n, {0});
    for (const rows::Level& level : rows.levels) {
      std::vector<Count> starts{0};
      const auto cycle = static_cast<Count>(level.value);
      if (lit[n] && level.kind == rows::LevelKind::blinking && cycle > 1) {
        // It is dark from there on: as a snapshot reads what was shown, and as the scan shows what comes.
        const Count dark = cycle - cycle / 2;
        starts.push_back(std::max<Count>(dark - 1, 0));
        starts.push_back(dark);
        starts.push_back(cycle - 1);
      }
      clocks_.back().by.push_back(sorted(std::move(starts)));
      clocks_.back().tops.push_back(level.kind == rows::LevelKind::blinking ? cycle - 1 : 0);
    }
  }

  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    const rows::Prop& prop = rows.props[p];
    if (prop.age == 0xFFFF) continue;
    add(Kind::age, std::size_t{t.arena} + prop.age, 4, p, {0});
    clocks_.back().tops = {static_cast<Count>(prop.age_top)};
    clocks_.back().by.push_back({0});  // waiting
    for (const rows::State& state : prop.states) {
      std::vector<Count> starts{0};
      for (const std::uint16_t body : state.bodies)
        for (const rows::Rule& rule : rows.bodies[body].rules) {
          if (rule.kind != rows::RuleKind::age) continue;
          at_least(starts, rule.n);
          if (!rule.target) at_least(starts, rule.n + 1);
        }
      clocks_.back().by.push_back(sorted(std::move(starts)));
    }
  }
  for (std::size_t b = 0; b < rows.bodies.size(); ++b) {
    std::size_t at = std::size_t{t.arena} + rows.bodies[b].runs;
    for (const rows::Rule& rule : rows.bodies[b].rules) {
      if (rule.run_width != 0) {
        add(Kind::run, at, rule.run_width, b, run_starts(rule));
        clocks_.back().body = static_cast<int>(b);
      }
      at += rule.run_width;
    }
  }

  for (const rows::Ready& ready : rows.readies) {
    if (ready.hold == 0) continue;
    const auto hold = static_cast<Count>(ready.hold);
    add(Kind::ready, std::size_t{t.arena} + ready.place, 4, 0, {0, hold, hold + 1});
  }

  for (std::size_t n = 0; n < rows.sequences.size(); ++n) {
    const rows::Sequence& sequence = rows.sequences[n];
    sequence_places_.push_back(sequence.place);
    const std::size_t first = clocks_.size();
    std::size_t at = std::size_t{t.arena} + sequence.place + LW_SEQUENCE_PART;
    if (sequence.has_each) {
      const auto hold = static_cast<Count>(sequence.hold);
      add(Kind::each, at, 4, n,
          sequence.each_edge ? std::vector<Count>{0} : sorted({0, 1, 2, hold + 1, hold + 2, hold + 3}));
      at += 4;
    }
    if (sequence.has_gaps) {
      add(Kind::gap, at, 4, n, {0});
      clocks_.back().tops = {static_cast<Count>(sequence.gap_top)};
      for (std::size_t met = 0; met < sequence.steps.size(); ++met) {
        std::vector<Count> starts{0};
        if (met != 0) {
          at_least(starts, sequence.steps[met].gap_low);
          if (sequence.steps[met].gap_high != 0)
            starts.push_back(static_cast<Count>(sequence.steps[met].gap_high));
        }
        clocks_.back().by.push_back(sorted(std::move(starts)));
      }
      at += 4;
    }
    if (sequence.has_within) {
      add(Kind::within, at, 4, n, {0});
      clocks_.back().by.push_back({0});
      for (std::size_t met = 1; met < sequence.steps.size(); ++met)
        clocks_.back().by.push_back(sorted({0, static_cast<Count>(sequence.within)}));
    }
    for (std::size_t k = first; k < clocks_.size(); ++k) clocks_[k].body = body_of(sequence.place);
  }
}

const std::vector<Count>& Clocks::starts(const std::uint8_t* block, const Clock& clock) const {
  switch (clock.kind) {
    case Kind::session:
      return clock.by[block[LW_AT_PHASE]];
    case Kind::phase:
      return clock.by[block[table_->output_levels + clock.owner]];
    case Kind::age:
      return clock.by[block[table_->prop_states + clock.owner]];
    case Kind::gap:
    case Kind::within: {
      const std::uint8_t met = block[table_->arena + sequence_places_[clock.owner]];
      return met < clock.by.size() ? clock.by[met] : clock.starts;
    }
    default:
      return clock.starts;
  }
}

const std::vector<Count>& Clocks::session_starts() const {
  const auto session = std::find_if(clocks_.begin(), clocks_.end(),
                                    [](const Clock& clock) { return clock.kind == Kind::session; });
  return session->by[1];
}

Count Clocks::value(const std::uint8_t* block, std::size_t n) const {
  const Clock& clock = clocks_[n];
  if (!alive(block, n)) return 0;
  std::uint32_t value = 0;
  for (std::uint8_t k = clock.width; k != 0; --k) value = value << 8 | block[clock.at + k - 1];
  return clock.kind == Kind::left ? -static_cast<Count>(value) : static_cast<Count>(value);
}

void Clocks::set(std::uint8_t* block, std::size_t n, Count value) const {
  const Clock& clock = clocks_[n];
  if (!alive(block, n)) return;
  auto rest = static_cast<std::uint32_t>(clock.kind == Kind::left ? -value : value);
  for (std::uint8_t k = 0; k < clock.width; ++k, rest >>= 8)
    block[clock.at + k] = static_cast<std::uint8_t>(rest);
}

bool Clocks::alive(const std::uint8_t* block, std::size_t n) const {
  const int body = clocks_[n].body;
  if (body < 0) return true;
  const Home& home = homes_[static_cast<std::size_t>(body)];
  const std::uint8_t state = block[table_->prop_states + home.prop];
  return state < home.states.size() && home.states[state];
}

Interval Clocks::interval(const std::uint8_t* block, std::size_t n, Count value) const {
  if (!alive(block, n)) return {0, 0, true};
  const std::vector<Count>& bounds = starts(block, clocks_[n]);
  const auto above = std::upper_bound(bounds.begin(), bounds.end(), value);
  Interval found;
  found.low = above == bounds.begin() ? value : *(above - 1);
  found.last = above == bounds.end();
  found.high = found.last ? found.low : *above - 1;
  return found;
}

bool Clocks::stands(const std::uint8_t* block, std::size_t n) const {
  return clocks_[n].kind == Kind::session && block[LW_AT_PHASE] != 1;
}

Count Clocks::top(const std::uint8_t* block, std::size_t n) const {
  const Clock& clock = clocks_[n];
  if (clock.tops.empty()) return starts(block, clock).back();
  return clock.kind == Kind::phase ? clock.tops[block[table_->output_levels + clock.owner]] : clock.tops[0];
}

Clocks::Place Clocks::place(std::size_t n) const {
  return {clocks_[n].at, clocks_[n].width, clocks_[n].kind == Kind::left};
}

void Clocks::normalise(std::uint8_t* block) const {
  for (std::size_t n = 0; n < clocks_.size(); ++n) {
    if (!alive(block, n)) continue;
    const Count last = starts(block, clocks_[n]).back();
    if (value(block, n) > last) set(block, n, last);
  }
}

}  // namespace lw
