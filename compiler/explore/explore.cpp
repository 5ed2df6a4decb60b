// See explore.hpp.
#include "explore/explore.hpp"

#include <algorithm>
#include <numeric>

#include "explore/courses.hpp"
#include "explore/earliest.hpp"
#include "explore/lead.hpp"
#include "explore/lost.hpp"
#include "explore/reaching.hpp"
#include "explore/replay.hpp"
#include "explore/schedule.hpp"
#include "explore/search.hpp"
#include "play/room_run.hpp"

namespace lw {

using namespace explore;
using model::PromiseKind;
using rows::FactKind;

/// Weights by question, and the largest sum of those that held together in a search.
struct Sum {
  std::vector<std::int64_t> weights;
  std::int64_t least = 0, most = 0;
  bool is_reached(std::uint64_t answers) {
    std::int64_t sum = 0;
    for (std::size_t n = 0; n < weights.size(); ++n)
      if ((answers >> n) & 1) sum += weights[n];
    most = std::max(most, sum);
    return sum >= least;
  }
};

Explorer::Explorer(Courses& courses, Freedoms freedoms, Budget budget)
    : courses_(courses),
      room_(courses.room()),
      tables_(courses.tables()),
      freedoms_(freedoms),
      budget_(std::move(budget)) {
  if (room_.links.empty()) freedoms_.cut = false;
}

Explorer Explorer::of_what_works() const {
  Explorer other = *this;
  other.freedoms_.cut = other.freedoms_.restart = false;
  return other;
}

Explored Explorer::told(Explored result) const {
  if (!freedoms_.hands && result.answer == Answer::refuted) {
    // What holds for any hand holds for what lies about; the other way it must be looked for.
    result.answer = Answer::undecided;
    result.bound = "broken by hands that put any weight anywhere; without them it was not looked for";
    result.playthrough.reset();
  }
  return result;
}

Explored Explorer::promise(std::size_t which) const {
  return told(room_.promises[which].kind == PromiseKind::can_always_reach
                  ? reaches({tables_.promise_conditions[which], true})
                  : never(which, room_.promises[which].time_ms));
}

Explored Explorer::ever(const Question& question) const {
  const Claim claim = seen(question);
  return told(nothing_bad({question}, std::nullopt, 0, &claim));
}

Explored Explorer::can_finish() const { return told(reaches({tables_.finish, false})); }

Explored Explorer::reaches(const Goal& goal) const {
  if (may_fail()) {
    Explored result = of_what_works().reaches(goal);
    if (result.answer == Answer::refuted) return result;
  }
  Explored result = always_reach(room_, tables_, freedoms_, budget_, goal);
  if (result.answer == Answer::undecided && !may_fail()) {
    // Too much to be looked at as it is, it may be lost in a part.
    auto lost = lost_in_parts(courses_, freedoms_, budget_, goal);
    if (!lost) return result;
    lost->goal_seen = result.goal_seen;
    return *lost;
  }
  if (!result.still_lost) return result;
  // The first scan that is too late may be hard to meet; where the room then stays is not.
  const auto is_shown = [&](const Playthrough& playthrough, const Question& at_end) {
    return replay(courses_, playthrough, seen_at_end(all_of({opposite(goal.question), at_end}))).shown;
  };
  StillLost& later = *result.still_lost;
  if (!is_shown(*result.playthrough, result.at_end) && is_shown(later.playthrough, later.at_end)) {
    result.playthrough = std::move(later.playthrough);
    result.at_end = std::move(later.at_end);
    result.last.reset();
  }
  return result;
}

Explored Explorer::stays(const Question& question, std::int64_t time_ms) const {
  const Claim claim = held_longer(tables_, question, time_ms);
  return told(nothing_bad({question}, Watch{Watch::Kind::stays, 0, 0, 0}, time_ms, &claim));
}

Explored Explorer::finishes(std::optional<std::int64_t> before_ms) const {
  const Claim claim = finished_before(tables_, before_ms);
  std::optional<Watch> watch;
  if (before_ms) watch = Watch{Watch::Kind::not_before, 0, 0, 0};
  return told(nothing_bad({tables_.finish}, watch, before_ms.value_or(0), &claim));
}

Explored Explorer::adds_up(const std::vector<Weighed>& parts, std::int64_t least) const {
  std::vector<Question> questions;
  Sum sum;
  sum.least = least;
  for (const Weighed& part : parts) {
    questions.push_back(part.question);
    sum.weights.push_back(part.weight);
  }
  const Claim claim = adding_up(parts, least);
  return told(nothing_bad(questions, std::nullopt, 0, &claim, &sum));
}

Explored Explorer::answered_later(std::size_t which, std::int64_t time_ms) const {
  return told(never(which, time_ms));
}

/// `never`, `C then D within T` and `finish not before T`: nothing bad is ever visible.
Explored Explorer::never(std::size_t which, std::int64_t time_ms) const {
  const model::Promise& promise = room_.promises[which];
  std::vector<Question> questions{tables_.promise_conditions[which]};
  std::optional<Watch> watch;
  if (promise.kind == PromiseKind::then_within) {
    questions.push_back(tables_.promise_answers[which]);
    watch = Watch{Watch::Kind::then_within, 0, 1, 0};
    // A moment is asked of a scan; each is one of its own.
    watch->moment = std::any_of(questions[0].begin(), questions[0].end(),
                                [](const Ask& ask) { return ask.kind == Ask::Kind::scan_fact; });
  } else if (promise.kind == PromiseKind::finish_not_before) {
    watch = Watch{Watch::Kind::not_before, 0, 0, 0};
  }
  Claim claim = broken(room_, tables_, which);
  if (time_ms != promise.time_ms) claim.time_ms = time_ms;
  return nothing_bad(questions, watch, time_ms, &claim);
}

Explored Explorer::nothing_bad(const std::vector<Question>& questions, std::optional<Watch> watch,
                               std::int64_t time_ms, const Claim* claim, Sum* sum) const {
  if (may_fail()) {
    // What needs no failure is told without one.
    Explored result = of_what_works().nothing_bad(questions, watch, time_ms, claim, sum);
    if (result.answer == Answer::refuted && (!claim || replay(courses_, *result.playthrough, *claim).shown))
      return result;
    if (!watch && !sum)
      if (auto proved = proved_apart(questions[0])) return *proved;
  }
  std::vector<Found> found;
  Explored result = outwards(questions, watch, time_ms, claim, sum, found);
  if (result.answer != Answer::undecided || !claim) return result;
  if (may_fail() && !sum)
    if (auto refuted = little_heard(questions, watch, time_ms, *claim, found)) return *refuted;
  // Too much to be looked at as it is: what was found in the parts is led up to in the room.
  return led_up_to(found, *claim).value_or(result);
}

std::optional<Explored> Explorer::led_up_to(const std::vector<Found>& found, const Claim& claim) const {
  Effort left(budget_);
  for (const Found& one : found)
    if (auto led = courses_.leads().up_to(courses_, freedoms_, left, one, claim)) {
      Explored result;
      result.answer = Answer::refuted;
      result.bound = one.bound;
      result.playthrough = std::move(led->first);
      return result;
    }
  return std::nullopt;
}

/// Whether a reset can leave it so, whatever inputs do meanwhile.
bool Explorer::may_hold_after_reset(const Question& question) const {
  const RoomRun reset(room_, tables_);  // as power comes, and as a reset leaves it (8.1)
  std::vector<bool> known, open;
  for (const Ask& ask : question) {
    if (ask.kind != Ask::Kind::fact && ask.kind != Ask::Kind::scan_fact) continue;
    const bool is_fact = ask.kind == Ask::Kind::fact;
    open.push_back(is_fact &&
                   (ask.fact.kind <= FactKind::input_stirs || ask.fact.kind == FactKind::peer_says ||
                    ask.fact.kind == FactKind::peer_lost || ask.fact.kind == FactKind::peer_stirs));
    known.push_back(is_fact && reset.holds(ask.controller, ask.fact));
  }
  constexpr std::ptrdiff_t kMostOpen = 10;
  const auto count = std::count(open.begin(), open.end(), true);
  if (count > kMostOpen) return true;
  std::vector<bool> stack;
  for (std::uint32_t way = 0; way >> count == 0; ++way) {
    std::size_t n = 0, bit = 0;
    if (answered(question, stack, [&](const Ask&) {
          const std::size_t at = n++;
          return open[at] ? ((way >> bit++) & 1) != 0 : bool(known[at]);
        }))
      return true;
  }
  return false;
}

/// Whether a late answer in any epoch is one in the first, in a part that a reset comes to in time
/// (docs/exploring.md, "One epoch").
bool Explorer::lies_in_one_epoch(const std::vector<Question>& questions,
                                 const std::optional<Watch>& watch) const {
  if (!watch || watch->kind != Watch::Kind::then_within || watch->moment) return false;
  if (freedoms_.cut || freedoms_.restart) return false;
  std::set<std::uint8_t> of;
  for (const Ask& ask : questions[watch->condition])
    if (ask.kind == Ask::Kind::fact || ask.kind == Ask::Kind::scan_fact) of.insert(ask.controller);
  return of.size() == 1 && !may_hold_after_reset(questions[watch->condition]);
}

namespace {

/// Whether a reset has come to all that are present before that time is over.
bool reset_comes_within(const Slice& part, std::int64_t time_ms) {
  constexpr std::int64_t kScans = 6;  // what it takes beside the delay of a link that all share
  std::int64_t scan_ms = 0, delay_ms = 0;
  std::size_t present = 0;
  for (const Part& one : part.parts) {
    if (!one.present) continue;
    ++present;
    scan_ms = std::max<std::int64_t>(scan_ms, one.rows.scan_ms);
  }
  for (const Line& line : part.lines) delay_ms = std::max(delay_ms, line.delay_ms);
  return part.lines.size() == present * (present - 1) && time_ms >= delay_ms + kScans * scan_ms;
}

}  // namespace

Explored Explorer::outwards(const std::vector<Question>& questions, std::optional<Watch> watch,
                            std::int64_t time_ms, const Claim* claim, Sum* sum,
                            std::vector<Found>& found) const {
  const auto is_bad = [&](const Space& space, const Outcome& outcome) {
    if (sum) return sum->is_reached(outcome.answers);
    return watch ? space.watch_failed(outcome) : (outcome.answers & 1) != 0;
  };
  // From the props that are asked for outwards, until what is left free does no harm (docs/exploring.md).
  Explored result;
  Props members;
  // Each part with inputs that keep nothing; so, with what is free solved no sooner than it can be; then as
  // they are, where that may do in the first epoch alone at first; then with what is free kept to its chain;
  // then, where an input could not be so fast, held back. What is too much as it is may still be found where
  // nobody loses, ends or overrides anything and all messages take as long as they may.
  enum class Inputs : std::uint8_t {
    loose,
    no_sooner,
    one_epoch,
    one_epoch_held_back,
    free,
    kind,
    chained,
    held_back
  };
  std::optional<Explored> too_much;
  const bool since_start = watch && watch->kind == Watch::Kind::not_before;
  const bool may_be_one_epoch = lies_in_one_epoch(questions, watch);
  Earliest earliest(room_, tables_, freedoms_, budget_, time_ms);
  for (Inputs inputs = Inputs::loose;;) {
    Props frontier;
    Slice part = slice_of(room_, tables_, questions, {}, freedoms_, members, frontier);
    keep_own(part, frontier);
    if (inputs >= Inputs::chained || inputs == Inputs::no_sooner) {
      Props further;
      part = slice_of(room_, tables_, questions, {}, freedoms_, members, further, true);
    }
    if (inputs == Inputs::chained && !part.keeps_to_chain()) {
      inputs = Inputs::loose;
      members = grown(part, std::move(members), frontier);
      continue;
    }
    part.loose = inputs <= Inputs::no_sooner;
    const bool one_epoch =
        inputs <= Inputs::one_epoch_held_back && may_be_one_epoch && reset_comes_within(part, time_ms);
    if (inputs == Inputs::one_epoch && !one_epoch) inputs = Inputs::free;
    if (inputs == Inputs::kind)
      part.freedoms.losses = part.freedoms.operator_ = part.freedoms.override_ = part.freedoms.late =
          part.freedoms.apart = false;
    if (part.exact && !part.loose && !one_epoch) break;
    // The session's start is that of the controller that keeps it.
    if (since_start && !part.parts[0].present) break;
    if (inputs == Inputs::no_sooner) {
      // Where links are cut, what was solved in a session that is over may be heard in the next.
      if (may_fail() || !earliest.hold_up(part)) {
        inputs = Inputs::free;
        continue;
      }
      part.forget_resets();
    }
    if (one_epoch) part.forget_resets();
    if (part.round_ticks() == 0 || (freedoms_.restart && !part.one_period())) return of_several_periods();
    if (watch) watch->scans = ticks_of(watch->kind, time_ms, questions, part);
    Space space(part, questions, watch ? &*watch : nullptr,
                inputs == Inputs::held_back || inputs == Inputs::one_epoch_held_back);
    // With inputs that keep something a reset is no power-up.
    const bool proves =
        inputs != Inputs::one_epoch && inputs != Inputs::one_epoch_held_back && inputs != Inputs::kind;
    if (inputs == Inputs::loose && !space.loosened()) {
      inputs = one_epoch ? Inputs::one_epoch : Inputs::free;
      if (part.exact && !one_epoch) break;
    }
    // Nothing is shown of a part that is loose.
    if (since_start && inputs <= Inputs::no_sooner) space.let_count_more();
    space.limit(budget_);
    Search search(space, budget_.states);
    std::uint32_t bad_node = 0, bad_outcome = 0;
    if (sum) sum->most = 0;
    const auto early = [&](const Location& location, const Outcome&) { return !space.is_late(location); };
    const auto allows = inputs == Inputs::no_sooner ? Search::Allows(early) : Search::Allows();
    const Search::End end = search.run(allows, [&](std::uint32_t node, std::uint32_t k) {
      bad_node = node;
      bad_outcome = k;
      return is_bad(space, space.at(search.nodes()[node].location).outcomes[k]);
    });
    result.states += search.stored();
    if (end == Search::End::complete && !space.overflowed() && proves) {
      result.bound = looked_at(search, part);
      result.answer = Answer::proved;
      if (sum) result.most = sum->most;
      return result;
    }
    if (inputs <= Inputs::no_sooner) {
      inputs = inputs == Inputs::loose && since_start ? Inputs::no_sooner : Inputs::one_epoch;
      continue;
    }
    // Perhaps nothing that is free took part in it: the whole room shows.
    if (end == Search::End::stopped && claim) {
      auto scheduled = schedule(space, way_of(search, bad_node, bad_outcome));
      // Messages of links that are not followed may be sooner there than they are.
      const Freedoms limits = part.parted ? freedoms_ : Freedoms{};
      if (scheduled && shown_within(replay(courses_, scheduled->play, *claim), limits)) {
        result.bound = looked_at(search, part);
        result.answer = Answer::refuted;
        result.playthrough = std::move(scheduled->play);
        return result;
      }
      const bool slow_enough = scheduled.has_value();
      if (slow_enough) {
        found.push_back(found_in(space, std::move(*scheduled)));
        found.back().bound = looked_at(search, part);
      }
      if (!slow_enough && inputs != Inputs::held_back && inputs != Inputs::one_epoch_held_back &&
          inputs != Inputs::kind) {
        inputs = inputs == Inputs::one_epoch ? Inputs::one_epoch_held_back : Inputs::held_back;
        continue;
      }
    }
    if (inputs == Inputs::one_epoch || inputs == Inputs::one_epoch_held_back) {
      inputs = Inputs::free;
      continue;
    }
    if (end == Search::End::stopped && inputs == Inputs::free && !frontier.empty()) {
      inputs = Inputs::chained;
      continue;
    }
    if (inputs == Inputs::kind) {
      if (too_much) return *too_much;
      break;
    }
    if (end == Search::End::full && inputs == Inputs::free) {
      // A larger part takes no less.
      if (!space.overflowed()) too_much = ended(search, part, space);
      inputs = Inputs::kind;
      continue;
    }
    if (space.overflowed()) break;
    if (frontier.empty()) break;
    inputs = Inputs::loose;
    members = grown(part, std::move(members), frontier);
  }
  const Slice slice = slice_of(room_, tables_, questions, {}, freedoms_, false);
  if (slice.round_ticks() == 0 || (freedoms_.restart && !slice.one_period())) return of_several_periods();
  if (watch) watch->scans = ticks_of(watch->kind, time_ms, questions, slice);
  // First with inputs that may change in any scan; only where that breaks the promise and no input could be
  // so fast, with inputs held back. Of scales that move no sooner than they need, which is less than they
  // can, it counts what is found alone.
  Slice leisurely = slice;
  leisurely.at_leisure = true;
  std::vector<std::pair<const Slice*, bool>> looks{{&slice, false}, {&slice, true}};
  if (moves_are_read(slice)) looks.insert(looks.begin() + 1, {&leisurely, true});
  // What is heard of inputs elsewhere was free, too.
  std::optional<Slice> followed;
  if (inputs_are_sent(slice) && !slice.parted) {
    followed = slice_of(room_, tables_, questions, {}, freedoms_, false, true);
    if (followed->unit_ms() == slice.unit_ms()) looks.emplace_back(&*followed, true);
  }
  for (const auto& [of, held_back] : looks) {
    Space space(*of, questions, watch ? &*watch : nullptr, held_back);
    space.limit(budget_);
    Search search(space, budget_.states);
    std::uint32_t bad_node = 0, bad_outcome = 0;
    if (sum) sum->most = 0;
    const Search::End end = search.run({}, [&](std::uint32_t node, std::uint32_t k) {
      bad_node = node;
      bad_outcome = k;
      return is_bad(space, space.at(search.nodes()[node].location).outcomes[k]);
    });
    if (of->at_leisure && end != Search::End::stopped) continue;
    if (end == Search::End::full || (end == Search::End::complete && space.overflowed()))
      return ended(search, slice, space);
    result.states += search.stored();
    result.bound = looked_at(search, slice);
    result.answer = Answer::proved;
    if (sum) result.most = sum->most;
    if (end == Search::End::complete) return result;
    auto scheduled = schedule(space, way_of(search, bad_node, bad_outcome));
    result.answer = Answer::refuted;
    if (!scheduled) continue;
    if (slice.parted && claim && !shown_within(replay(courses_, scheduled->play, *claim), freedoms_)) {
      found.push_back(found_in(space, std::move(*scheduled)));
      found.back().bound = result.bound;
      result.answer = Answer::undecided;
      result.bound =
          "what is heard over links that are cut, and of controllers without power, was taken to be "
          "anything, and what was found so the runtime does not show";
      return result;
    }
    result.playthrough = std::move(scheduled->play);
    return result;
  }
  result.answer = Answer::undecided;
  result.bound = "a playthrough was found, but not the times at which each of its inputs can change";
  return result;
}

std::optional<std::set<std::vector<std::uint8_t>>> Explorer::visible(bool says_all) const {
  const std::vector<Question> questions;
  Slice slice = slice_of(room_, tables_, questions, {}, freedoms_, true);
  slice.says_all = says_all;
  Space space(slice, questions, nullptr, false);
  space.limit(budget_);
  Search search(space, budget_.states);
  std::set<std::vector<std::uint8_t>> found;
  const Search::End end = search.run({}, [&](std::uint32_t node, std::uint32_t k) {
    found.insert(space.seen(space.at(search.nodes()[node].location).outcomes[k].post));
    return false;
  });
  if (end != Search::End::complete || space.overflowed()) return std::nullopt;
  return found;
}

}  // namespace lw
