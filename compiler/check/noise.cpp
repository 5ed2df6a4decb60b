// Noise at the edge of a window: what acts again and again while a load lies still.
//
// A settled value moves only by more than a division (docs/meaning.md 2.1), so noise within two neighbouring
// divisions does nothing; two readings of one load must lie two divisions apart, which is said of a scale by
// its `repeats`. A move is made once however the reading goes on, unless noise can lead back too. A settled
// value stands for the settle time at the least (2.6), so a hold of no more than that is none. Facts that are
// not the scale's may be so or not, but stay as they are. Tests: tests/cases/weighing/noisy_edge*,
// tests/weigh_edges.py.
#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "check/weighing.hpp"
#include "model/divisions.hpp"

namespace lw {
namespace {

using weigh::mass;

/// Two readings that one load may give, in divisions.
struct Readings {
  std::int64_t low = 0, high = 0;
};

/// How a condition may stand at the two readings: bit 2 × (true at the low one) + (true at the high one).
using Truths = std::uint8_t;
constexpr Truths kNever = 1, kHighOnly = 2, kLowOnly = 4, kBoth = 8;

class Noise {
 public:
  explicit Noise(Scales& scales) : scales_(scales), room_(scales.room) {}

  void run() {
    if (scales_.weighed.things().empty()) return;
    for (const model::Input& input : room_.inputs) {
      if (input.kind != model::InputKind::scale || input.division <= 0) continue;
      most_apart_ = input.repeats.value_or(0) / input.division;
      if (most_apart_ < 2) continue;
      scale_ = &input;
      for (const model::Prop& prop : room_.props) {
        for (const model::Body& body : prop.bodies) {
          for (const model::Rule& rule : body.rules) act(rule);
          for (const model::Keep& keep : body.keeps) kept(keep);
        }
        for (const model::Sequence& sequence : prop.sequences) steps(sequence);
        to_and_fro(prop);
      }
    }
  }

 private:
  bool held(std::int64_t hold_ms) const { return hold_ms > scale_->steady_ms; }

  void act(const model::Rule& rule) {
    if (rule.after || rule.target || held(rule.hold_ms)) return;
    if (const auto at = edge(rule.condition))
      say(rule.span, rule.condition, *at, "make this rule act again and again", rule.hold_ms,
          fmt::format("write `for {}` or longer.", hold_words()));
  }

  void kept(const model::Keep& keep) {
    if (!keep.while_ || held(keep.longer_ms)) return;
    if (const auto at = edge(*keep.while_))
      say(keep.span, *keep.while_, *at, "switch this again and again", keep.longer_ms,
          fmt::format("write `then {} longer`, or let a rule with `for` lead to a state that keeps it.",
                      hold_words()));
  }

  void steps(const model::Sequence& sequence) {
    if (sequence.each) {
      if (held(sequence.each_hold_ms)) return;
      if (const auto at = edge(*sequence.each))
        say(sequence.each->span, *sequence.each, *at, "count as several steps", sequence.each_hold_ms,
            fmt::format("write `for {}` or longer.", hold_words()));
      return;
    }
    if (sequence.wrong_ignored) return;
    for (const model::Step& step : sequence.steps)
      if (const auto at = edge(step.condition))
        say(step.span, step.condition, *at, "count as this step again", 0,
            "let a prop with a rule and its `for` read the scale, and make its states the steps.");
  }

  /// A move that the one reading makes, and that moves made at either reading, at least one of them by the
  /// other reading alone, lead back from.
  void to_and_fro(const model::Prop& prop) {
    struct Move {
      const model::Rule* rule;
      std::size_t from, to;
      Truths truths;
    };
    std::vector<Move> moves;
    std::vector<const model::Cond*> conditions;
    for (const model::Body& body : prop.bodies)
      for (const model::Rule& rule : body.rules) {
        if (rule.after || !rule.target || held(rule.hold_ms)) continue;
        conditions.push_back(&rule.condition);
        for (const model::StateId state : body.states)
          if (state != *rule.target)
            moves.push_back({&rule, model::index(state), model::index(*rule.target), 0});
      }
    const std::size_t states = prop.states.size();
    for (const Readings& at : readings(conditions)) {
      Truths any = 0;
      std::vector<bool> leads(states * states);
      for (std::size_t n = 0; n < states; ++n) leads[n * states + n] = true;
      for (Move& move : moves) {
        move.truths = truths(move.rule->condition, at);
        any = static_cast<Truths>(any | move.truths);
        if ((move.truths & ~kNever) != 0) leads[move.from * states + move.to] = true;
      }
      if ((any & kHighOnly) == 0 || (any & kLowOnly) == 0) continue;
      for (std::size_t k = 0; k < states; ++k)
        for (std::size_t i = 0; i < states; ++i)
          for (std::size_t j = 0; leads[i * states + k] && j < states; ++j)
            if (leads[k * states + j]) leads[i * states + j] = true;
      for (const Move& there : moves)
        for (const Move& back : moves) {
          if ((there.truths & kHighOnly) == 0 || (back.truths & kLowOnly) == 0 ||
              !leads[there.to * states + back.from] || !leads[back.to * states + there.from])
            continue;
          const auto some = lies(there.rule->condition, at);
          if (!some) return;
          if (!*some) continue;
          const bool first = there.rule->span.begin < back.rule->span.begin;
          return fro(*(first ? there : back).rule, *(first ? back : there).rule, at);
        }
    }
  }

  void fro(const model::Rule& rule, const model::Rule& back, const Readings& at) {
    say(rule.span, rule.condition, at, "move this prop to and fro", rule.hold_ms,
        fmt::format("write `for {}` or longer, or let the way back ask for a window that ends more than {} "
                    "beyond that edge.",
                    hold_words(), mass(*scale_->repeats)),
        &back);
  }

  std::string hold_words() const { return time_words(std::max<std::int64_t>(500, 2 * scale_->steady_ms)); }

  /// Whether a value of the scale makes the fact true; nothing: the fact is not the scale's.
  std::optional<bool> holds(const model::Fact& fact, std::int64_t reading) const {
    if (fact.kind == model::FactKind::in_window) {
      const model::Window& window = window_of(fact);
      if (&room_.inputs[model::index(window.input)] != scale_) return std::nullopt;
      return !window.is_empty && reading >= window.low.value_or(INT64_MIN) &&
             reading <= window.high.value_or(INT64_MAX);
    }
    if ((fact.kind != model::FactKind::scale_empty && fact.kind != model::FactKind::input_lost) ||
        &room_.inputs[model::index(fact.input)] != scale_)
      return std::nullopt;
    return fact.kind == model::FactKind::scale_empty && reading < first_load();
  }

  const model::Window& window_of(const model::Fact& fact) const {
    return room_.props[model::index(fact.prop)].windows[model::index(fact.window)];
  }

  std::int64_t first_load() const {
    return static_cast<std::int64_t>(model::ceil_div(scale_->empty_below, scale_->division));
  }

  Truths truths(const model::Cond& cond, const Readings& at) const {
    const auto one = [](bool low, bool high) { return static_cast<Truths>(1u << (2 * low + high)); };
    switch (cond.kind) {
      case model::CondKind::fact: {
        const auto low = holds(cond.fact, at.low);
        if (low) return one(*low, *holds(cond.fact, at.high));
        return model::is_edge(cond.fact.kind) ? kNever : static_cast<Truths>(kNever | kBoth);
      }
      case model::CondKind::always:
        return kBoth;
      default:
        break;
    }
    // How many of the parts may be true at the one reading and at the other: as pairs of counts.
    const std::size_t side = cond.parts.size() + 1;
    std::vector<bool> counts(side * side);
    counts[0] = true;
    for (const model::Cond& part : cond.parts) {
      const Truths may = truths(part, at);
      std::vector<bool> next(side * side);
      for (std::size_t n = 0; n < counts.size(); ++n)
        for (std::size_t bit = 0; counts[n] && bit < 4; ++bit)
          if ((may >> bit & 1) != 0) next[n + bit / 2 * side + bit % 2] = true;
      counts = std::move(next);
    }
    const auto met = [&](std::size_t count) {
      const auto asked = static_cast<std::size_t>(cond.count);
      switch (cond.kind) {
        case model::CondKind::all:
          return count == cond.parts.size();
        case model::CondKind::any:
          return count >= 1;
        case model::CondKind::at_least:
          return count >= asked;
        case model::CondKind::exactly:
          return count == asked;
        default:
          return count == 0;  // not
      }
    };
    Truths result = 0;
    for (std::size_t n = 0; n < counts.size(); ++n)
      if (counts[n]) result = static_cast<Truths>(result | one(met(n / side), met(n % side)));
    return result;
  }

  /// Pairs of readings on either side of one or more edges of what the conditions ask of the scale, as near
  /// to each other as go, the nearest first.
  std::vector<Readings> readings(const std::vector<const model::Cond*>& conditions) const {
    constexpr std::int64_t kFar = INT64_MAX / 4;  // beyond what any scale shows
    std::vector<std::int64_t> edges;              // the first reading above
    const auto edge = [&](std::int64_t first_above) {
      if (first_above > -kFar && first_above < kFar) edges.push_back(first_above);
    };
    for (const model::Cond* const cond : conditions)
      model::each_fact(*cond, [&](const model::Fact& fact, Span) {
        if (!holds(fact, 0)) return;
        if (fact.kind == model::FactKind::scale_empty) edge(first_load());
        if (fact.kind != model::FactKind::in_window || window_of(fact).is_empty) return;
        if (const auto low = window_of(fact).low) edge(*low);
        if (const auto high = window_of(fact).high) edge(*high + 1);
      });
    std::sort(edges.begin(), edges.end());
    edges.erase(std::unique(edges.begin(), edges.end()), edges.end());
    std::vector<Readings> pairs;
    for (std::size_t n = 0; n < edges.size(); ++n) {
      pairs.push_back({edges[n] - 2, edges[n]});
      pairs.push_back({edges[n] - 1, edges[n] + 1});
      for (std::size_t m = n + 1; m < edges.size() && edges[m] - edges[n] < most_apart_; ++m)
        pairs.push_back({edges[n] - 1, edges[m]});
    }
    std::stable_sort(pairs.begin(), pairs.end(),
                     [](const Readings& a, const Readings& b) { return a.high - a.low < b.high - b.low; });
    return pairs;
  }

  /// True loads that both readings may be of.
  weigh::Band loads(const Readings& at) const {
    const std::int64_t error =
        weigh::own_error(*scale_, weigh::times_up(std::max<std::int64_t>(at.high, 0), scale_->division))
            .total_pg();
    const weigh::Band low = weigh::loads_of(at.low, at.low, scale_->division);
    const weigh::Band high = weigh::loads_of(at.high, at.high, scale_->division);
    return {weigh::widened(high, error).low_pg, weigh::widened(low, error).high_pg};
  }

  /// Whether some set of the room is such a load. Nothing: not decided, and said of the condition's windows.
  std::optional<bool> lies(const model::Cond& cond, const Readings& at) {
    const auto listing = scales_.weighed.sets().list(loads(at), weigh::Which::minimal, 1);
    if (!listing.sets.empty() || listing.whole) return !listing.sets.empty();
    model::each_fact(cond, [&](const model::Fact& fact, Span) {
      for (const weigh::Place& place : scales_.weighed.places())
        if (fact.kind == model::FactKind::in_window && place.prop == fact.prop && place.window == fact.window)
          scales_.undecided(place);
    });
    return std::nullopt;
  }

  /// Readings between which the condition may come and go while some set of the room lies still.
  std::optional<Readings> edge(const model::Cond& cond) {
    for (const Readings& at : readings({&cond})) {
      if ((truths(cond, at) & (kHighOnly | kLowOnly)) == 0) continue;
      const auto some = lies(cond, at);
      if (!some) return std::nullopt;
      if (*some) return at;
    }
    return std::nullopt;
  }

  void say(Span span, const model::Cond& cond, const Readings& at, const char* does, std::int64_t hold_ms,
           std::string remedy, const model::Rule* back = nullptr) {
    const model::Window* window = nullptr;
    model::each_fact(cond, [&](const model::Fact& fact, Span) {
      if (window == nullptr && fact.kind == model::FactKind::in_window && holds(fact, at.low) &&
          holds(fact, at.low) != holds(fact, at.high))
        window = &window_of(fact);
    });
    const auto value = [&](std::int64_t reading) { return mass(weigh::times_up(reading, scale_->division)); };
    Finding finding = finding_of(
        Code::noisy_edge, span,
        fmt::format("noise at the edge of {} may {}",
                    window != nullptr ? "window `" + window->name + "`" : "an empty `" + scale_->name + "`",
                    does));
    finding.places.push_back(lw::Place{scale_->span, "repeats within " + mass(*scale_->repeats), false});
    if (window != nullptr) {
      const std::string low = window->low ? "from " + value(*window->low) : "";
      const std::string high = window->high ? (window->low ? " to " : "up to ") + value(*window->high) : "";
      finding.places.push_back(lw::Place{window->range_span, low + high, false});
    }
    if (back != nullptr) finding.places.push_back(lw::Place{back->span, "", false});
    sort_places(finding);
    const auto listing = scales_.weighed.sets().list(loads(at), weigh::Which::minimal, Scales::kMostListed);
    finding.reason = fmt::format(
        "`{}` weighs {}. Two readings of one load may lie {} apart, so that the settled one may go from {} "
        "to {} "
        "and back while nobody touches it.",
        scales_.weighed.words(listing.sets.front()),
        weight_words(weigh::load_of(scales_.weighed.kinds(), listing.sets.front())), mass(*scale_->repeats),
        value(at.low), value(at.high));
    if (hold_ms != 0)
      finding.reason += fmt::format(" A settled reading stands for {}, so {} waits for nothing.",
                                    time_words(scale_->steady_ms), time_words(hold_ms));
    finding.remedies.push_back(std::move(remedy));
    scales_.findings.push_back(std::move(finding));
  }

  Scales& scales_;
  const model::Room& room_;
  const model::Input* scale_ = nullptr;  // the one that is looked at, and how far apart it may read one load
  std::int64_t most_apart_ = 0;          // divisions
};

}  // namespace

void check_noise(Scales& scales) { Noise(scales).run(); }

}  // namespace lw
