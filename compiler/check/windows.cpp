// Windows: what can be said of a scale's windows from their ends alone, in whole divisions.
//
// Compared are windows of one prop on one scale or gauge, since those are meant to tell loads apart. A gauge
// that wraps may have a window over its seam: it counts as the two ranges that it is. Which things land in a
// window is weigh's. Tests: tests/cases/windows.
#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <optional>
#include <tuple>

#include "check/check.hpp"
#include "check/weighing.hpp"
#include "text/quantity.hpp"

namespace lw {
namespace {

constexpr std::int64_t kLowest = std::numeric_limits<std::int64_t>::min() / 4;
constexpr std::int64_t kHighest = std::numeric_limits<std::int64_t>::max() / 4;

/// Inclusive, in whole divisions.
struct Range {
  std::int64_t low = 0, high = 0;
};

struct Placed {
  model::WindowId id;
  const model::Window* window;
  std::vector<Range> ranges;  // one, or two over a gauge's seam
};

std::vector<Range> ranges_of(const model::Window& window, const model::Input& input) {
  const std::int64_t low = window.low.value_or(kLowest);
  const std::int64_t high = window.high.value_or(kHighest);
  if (low <= high) return {{low, high}};
  const std::int64_t circle = (input.to - input.from) / input.division;
  return {{low, circle - 1}, {0, high}};
}

std::string value(const model::Input& input, std::int64_t divisions) {
  return format_quantity({input.from + divisions * input.division, input.dimension});
}

std::string ends(const model::Window& window, const model::Input& input) {
  if (!window.low && !window.high) return "any value";
  if (!window.low) return "up to " + value(input, *window.high);
  if (!window.high) return "from " + value(input, *window.low);
  return value(input, *window.low) + " to " + value(input, *window.high);
}

const char* device(const model::Input& input) {
  return input.kind == model::InputKind::scale ? "scale" : "gauge";
}

/// Two windows that are both true somewhere.
void overlap(const model::Input& input, const Placed& a, const Placed& b, Findings& findings) {
  for (const Range& one : a.ranges)
    for (const Range& other : b.ranges) {
      const std::int64_t low = std::max(one.low, other.low);
      const std::int64_t high = std::min(one.high, other.high);
      if (low > high) continue;
      Finding finding =
          finding_of(Code::overlap, b.window->range_span,
                     fmt::format("windows `{}` and `{}` overlap", a.window->name, b.window->name));
      finding.note = ends(*b.window, input);
      finding.places.push_back(lw::Place{a.window->range_span, ends(*a.window, input), false});
      const std::string where = low == high      ? "At " + value(input, low)
                                : low == kLowest ? "Up to " + value(input, high)
                                : high == kHighest
                                    ? "From " + value(input, low) + " on"
                                    : "From " + value(input, low) + " to " + value(input, high);
      finding.reason = where + " both are true, so that one load is answered as two.";
      if (!b.window->low || !b.window->high) {
        const bool above = !b.window->high;
        finding.remedies.push_back(
            fmt::format("write `{} {}`, which {} {}.", above ? "above" : "below", a.window->name,
                        above ? "begins at" : "ends at",
                        value(input, above ? a.ranges[0].high + 1 : a.ranges[0].low - 1)));
      } else if (!a.window->low || !a.window->high) {
        const bool above = !a.window->high;
        finding.remedies.push_back(
            fmt::format("write `{} {}` in `{}`.", above ? "above" : "below", b.window->name, a.window->name));
      } else {
        finding.remedies.push_back("make their tolerances smaller, or their targets further apart.");
      }
      findings.push_back(std::move(finding));
      return;
    }
}

/// The states of its prop in which a window is asked about, a bit each in the order of the states; all of
/// them where something beside rules and keeps asks.
std::vector<bool> asked_in(const model::Room& room, const model::Prop& prop, model::WindowId window) {
  std::vector<bool> states(prop.states.size());
  const auto asks = [&](const model::Cond& cond) {
    bool found = false;
    model::each_fact(cond, [&](const model::Fact& fact, Span) {
      found = found || (fact.kind == model::FactKind::in_window && fact.window == window &&
                        &room.props[model::index(fact.prop)] == &prop);
    });
    return found;
  };
  bool everywhere = asks(room.start_condition);
  for (const model::Prop& other : room.props) {
    for (const model::Body& body : other.bodies) {
      const bool asked = std::any_of(body.rules.begin(), body.rules.end(),
                                     [&](const model::Rule& rule) { return asks(rule.condition); }) ||
                         std::any_of(body.keeps.begin(), body.keeps.end(), [&](const model::Keep& keep) {
                           return keep.while_ && asks(*keep.while_);
                         });
      if (!asked) continue;
      everywhere = everywhere || &other != &prop;
      if (&other == &prop)
        for (const model::StateId state : body.states) states[model::index(state)] = true;
    }
    everywhere = everywhere || (other.wakes && asks(*other.wakes));
    for (const model::Sequence& sequence : other.sequences)
      everywhere = everywhere || (sequence.each && asks(*sequence.each)) ||
                   std::any_of(sequence.steps.begin(), sequence.steps.end(),
                               [&](const model::Step& step) { return asks(step.condition); });
  }
  if (everywhere) states.assign(states.size(), true);
  return states;
}

/// Whether both windows are asked about, and never in one state: then the strip between them is what keeps a
/// way there and the way back apart.
bool there_and_back(const std::vector<bool>& a, const std::vector<bool>& b) {
  const auto none = [](const std::vector<bool>& states) {
    return std::find(states.begin(), states.end(), true) == states.end();
  };
  if (none(a) || none(b)) return false;
  for (std::size_t n = 0; n < a.size(); ++n)
    if (a[n] && b[n]) return false;
  return true;
}

/// Neighbours with a strip between them that is narrower than either: it was hardly meant.
void gap(const model::Room& room, const model::Prop& prop, const model::Input& input, const Placed& a,
         const Placed& b, Findings& findings) {
  const std::int64_t from = a.ranges[0].high + 1;
  const std::int64_t to = b.ranges[0].low - 1;
  const std::int64_t width = to - from + 1;
  const auto wide = [](const Placed& p) { return p.ranges[0].high - p.ranges[0].low + 1; };
  if (width < 1 || width >= std::min(wide(a), wide(b))) return;
  if (there_and_back(asked_in(room, prop, a.id), asked_in(room, prop, b.id))) return;
  Finding finding = finding_of(
      Code::gap, b.window->range_span,
      fmt::format("a load between windows `{}` and `{}` is in neither", a.window->name, b.window->name));
  finding.note = ends(*b.window, input);
  finding.places.push_back(lw::Place{a.window->range_span, ends(*a.window, input), false});
  finding.reason = from == to ? fmt::format("At {} neither is true, and nothing answers.", value(input, from))
                              : fmt::format("From {} to {} neither is true, and nothing answers.",
                                            value(input, from), value(input, to));
  finding.remedies.push_back(!b.window->high  ? fmt::format("write `above {}`, which begins at {}.",
                                                            a.window->name, value(input, from))
                             : !a.window->low ? fmt::format("write `below {}` in `{}`, which ends at {}.",
                                                            b.window->name, a.window->name, value(input, to))
                                              : std::string("let one begin where the other ends."));
  findings.push_back(std::move(finding));
}

/// A window that the device cannot show, or not to its end.
struct Beyond {
  const model::Window* window;
  bool within;  // a part of it can be shown
};

std::optional<Beyond> beyond(const model::Input& input, const Placed& placed) {
  const std::int64_t most = (input.to - input.from) / input.division;
  const bool scale = input.kind == model::InputKind::scale;
  bool within = false;
  bool over = false;
  for (const Range& range : placed.ranges) {
    within = within || (range.low <= most && range.high >= (scale ? kLowest : 0));
    over = over || (range.high > most && range.high != kHighest) ||
           (!scale && range.low < 0 && range.low != kLowest);
  }
  if (within && !over) return std::nullopt;
  return Beyond{placed.window, within};
}

/// What a plain target that the scale cannot carry was perhaps meant to be.
void slip_beyond(const model::Room& room, const model::Window& window, Finding& finding) {
  const std::vector<model::Addend>& target = window.target;
  if (target.empty() ||
      std::any_of(target.begin(), target.end(), [](const model::Addend& addend) { return addend.thing; }))
    return;
  std::int64_t pg = 0;
  for (const model::Addend& addend : target)
    pg = weigh::add_up(pg, weigh::times_up(addend.value, addend.count));
  weigh::WeighedRoom weighed(room, Scales::kLook);
  if (!weighed.things().empty()) say_slip(weighed, pg, finding);
}

/// One finding a device: where several windows lie beyond it, its own ends are the mistake.
void report_beyond(const model::Room& room, const model::Input& input, std::vector<Beyond> all,
                   Findings& findings) {
  if (all.empty()) return;
  constexpr std::size_t kShown = 8;
  const std::int64_t most = (input.to - input.from) / input.division;
  const bool scale = input.kind == model::InputKind::scale;
  const bool within = std::all_of(all.begin(), all.end(), [](const Beyond& one) { return one.within; });
  const bool none = std::none_of(all.begin(), all.end(), [](const Beyond& one) { return one.within; });
  const std::string can = scale ? "capacity " + format_quantity({input.to, input.dimension})
                                : value(input, 0) + " to " + value(input, most);
  Finding finding;
  if (all.size() == 1) {
    const model::Window& window = *all[0].window;
    finding = finding_of(Code::beyond_capacity, window.range_span,
                         fmt::format("window `{}` {} beyond what {} `{}` can show", window.name,
                                     within ? "reaches" : "lies", device(input), input.name));
    finding.note = ends(window, input);
    finding.places.push_back(lw::Place{input.span, can, false});
    finding.reason = within ? "The part beyond is never read." : "It is never true, whatever is put there.";
    if (scale && !within) slip_beyond(room, window, finding);
  } else {
    finding = finding_of(Code::beyond_capacity, input.span,
                         fmt::format("{} windows {} beyond what {} `{}` can show", all.size(),
                                     none ? "lie" : "reach", device(input), input.name));
    finding.note = can;
    std::stable_sort(all.begin(), all.end(), [](const Beyond& a, const Beyond& b) {
      const Span x = a.window->range_span;
      const Span y = b.window->range_span;
      return std::tie(x.file, x.begin) < std::tie(y.file, y.begin);
    });
    for (std::size_t n = 0; n < std::min(all.size(), kShown); ++n)
      finding.places.push_back(lw::Place{all[n].window->range_span, ends(*all[n].window, input), false});
    finding.reason = within ? "The parts beyond are never read."
                     : none ? "They are never true, whatever is put there."
                            : "What lies wholly beyond is never true, whatever is put there.";
    if (all.size() > kShown) finding.reason += fmt::format(" {} more are not shown.", all.size() - kShown);
  }
  finding.severity = within ? Severity::warning : Severity::error;
  finding.remedies.push_back(scale             ? "choose a lighter target, or a scale with a larger capacity."
                             : all.size() == 1 ? "keep the window within the gauge's ends."
                                               : "keep the windows within the gauge's ends.");
  findings.push_back(std::move(finding));
}

/// Fewer than the two neighbouring values that a reading may dither between (2.1), or none at all.
void narrow(const model::Input& input, const model::Window& window, Findings& findings) {
  const std::string step = format_quantity({input.division, input.dimension});
  Finding finding = finding_of(Code::narrow_window, window.range_span, "");
  const bool none = window.is_empty;
  finding.places.push_back(lw::Place{input.span, "division " + step, false});
  if (none) {
    finding.message = fmt::format("window `{}` lies between two values that {} `{}` can show", window.name,
                                  device(input), input.name);
    finding.reason =
        window.low && window.high && *window.low == *window.high + 1
            ? fmt::format("It counts in steps of {}: after {} comes {}, so this window is never true.", step,
                          value(input, *window.high), value(input, *window.low))
            : fmt::format("It counts in steps of {}, and none lies in it, so this window is never true.",
                          step);
  } else if (window.low && window.low == window.high) {
    finding.severity = Severity::warning;
    finding.message =
        fmt::format("window `{}` is one step of {} `{}` wide", window.name, device(input), input.name);
    finding.note = value(input, *window.low);
    finding.reason = fmt::format(
        "A reading dithers between two neighbouring steps of {}, so the right load may well be read as the "
        "one "
        "beside it.",
        step);
  } else {
    return;
  }
  const bool by_tolerance = !window.target.empty();
  finding.remedies.push_back(
      by_tolerance
          ? fmt::format("write a tolerance of {} or more, or use a finer {}.", step, device(input))
          : fmt::format("make it at least two steps of {} wide, or use a finer {}.", step, device(input)));
  findings.push_back(std::move(finding));
}

/// Whether a window is what a rule moves or acts by, as a plain fact or in a plain `and`.
bool answers(const model::Prop& prop, model::WindowId window) {
  const auto mentions = [&](const model::Cond& cond, const auto& self) -> bool {
    if (cond.kind == model::CondKind::fact)
      return cond.fact.kind == model::FactKind::in_window && cond.fact.window == window;
    if (cond.kind == model::CondKind::not_) return false;
    return std::any_of(cond.parts.begin(), cond.parts.end(),
                       [&](const model::Cond& part) { return self(part, self); });
  };
  for (const model::Body& body : prop.bodies)
    for (const model::Rule& rule : body.rules)
      if (mentions(rule.condition, mentions)) return true;
  return false;
}

/// A window of loads that is true of the bare pan.
void empty_pan(const model::Prop& prop, model::WindowId id, const model::Input& input, const Placed& placed,
               Findings& findings) {
  if (input.kind != model::InputKind::scale || !answers(prop, id)) return;
  const Range& range = placed.ranges[0];
  // `below empty` and the like mean the bare pan; what holds a load beside it does not.
  const std::int64_t first_load = (input.empty_below + input.division - 1) / input.division;
  if (range.low > 0 || range.high < first_load) return;
  Finding finding = finding_of(Code::empty_pan, placed.window->range_span,
                               fmt::format("window `{}` is true of the bare pan", placed.window->name));
  finding.note = ends(*placed.window, input);
  finding.places.push_back(
      lw::Place{input.span, "empty below " + format_quantity({input.empty_below, input.dimension}), false});
  finding.reason = "A rule that answers a load with it answers before anything lies on the scale.";
  const std::string upper = range.high == kHighest ? std::string() : value(input, range.high + 1);
  finding.remedies.push_back(!placed.window->target.empty()
                                 ? std::string("write a smaller tolerance, or a heavier target.")
                             : upper.empty() ? std::string("write `above empty`.")
                                             : fmt::format("write `between empty and {}`.", upper));
  findings.push_back(std::move(finding));
}

}  // namespace

void check_windows(const Subject& subject, Findings& findings) {
  const model::Room& room = subject.room;
  std::vector<std::vector<Beyond>> all_beyond(room.inputs.size());
  for (const model::Prop& prop : room.props) {
    std::vector<std::vector<Placed>> by_input(room.inputs.size());
    for (std::size_t n = 0; n < prop.windows.size(); ++n) {
      const model::Window& window = prop.windows[n];
      const model::Input& input = room.inputs[model::index(window.input)];
      if (input.division <= 0) continue;
      narrow(input, window, findings);
      if (window.is_empty) continue;
      Placed placed{static_cast<model::WindowId>(n), &window, ranges_of(window, input)};
      if (const auto found = beyond(input, placed)) all_beyond[model::index(window.input)].push_back(*found);
      empty_pan(prop, static_cast<model::WindowId>(n), input, placed, findings);
      by_input[model::index(window.input)].push_back(std::move(placed));
    }
    for (std::size_t i = 0; i < by_input.size(); ++i) {
      const std::vector<Placed>& all = by_input[i];
      for (std::size_t b = 1; b < all.size(); ++b)
        for (std::size_t a = 0; a < b; ++a) overlap(room.inputs[i], all[a], all[b], findings);
      std::vector<const Placed*> sorted;
      for (const Placed& placed : all)
        if (placed.ranges.size() == 1) sorted.push_back(&placed);
      std::sort(sorted.begin(), sorted.end(),
                [](const Placed* a, const Placed* b) { return a->ranges[0].low < b->ranges[0].low; });
      for (std::size_t n = 1; n < sorted.size(); ++n)
        gap(room, prop, room.inputs[i], *sorted[n - 1], *sorted[n], findings);
    }
  }
  for (std::size_t i = 0; i < all_beyond.size(); ++i)
    report_beyond(room, room.inputs[i], all_beyond[i], findings);
}

}  // namespace lw
