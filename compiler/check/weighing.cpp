// Weighing: what the masses of the room's things say of its windows.
//
// What `weigh` works out, said as findings; a window's sets are listed in full by `latchwork weigh`. Said are
// other sets only where the target names things: of a plain target nobody knows what was meant. Tests:
// tests/cases/weighing.
#include <fmt/format.h>

#include <algorithm>

#include "check/check.hpp"
#include "model/divisions.hpp"
#include "text/quantity.hpp"
#include "weigh/fit.hpp"
#include "weigh/room.hpp"
#include "weigh/way.hpp"

namespace lw {
namespace {

using weigh::Grade;
using weigh::Kinship;
using weigh::Landing;

std::string mass(std::int64_t pg) { return format_quantity({pg, Dimension::mass}); }

/// A look while writing: what takes longer than about a second is left undecided.
constexpr weigh::Effort kEffort{50'000, 1u << 19, 20'000};

class Weighing {
 public:
  Weighing(const Subject& subject, Findings& findings)
      : room_(subject.room), weighed_(subject.room, kEffort), findings_(findings) {}

  void run() {
    for (const model::Input& input : room_.inputs)
      if (input.kind == model::InputKind::scale && input.division > 0) scale(input);
    for (const weigh::Place& place : weighed_.places()) {
      if (place.low > place.high) continue;  // said of the window itself
      light(place);
      const bool reliable = wide_enough(place);
      if (weighed_.things().empty()) continue;
      if (place.intended) {
        if (!enough(place)) continue;
        if (reliable) misses(place);
        if (place.further_pg == 0) others(place);
      } else if (place.bounded && !weighed_.window(place).follows) {
        reached(place);
      }
    }
    for (const weigh::Passing& passing : weigh::passings(weighed_)) on_the_way(passing);
    hands();
  }

 private:
  Finding of(Code code, const weigh::Place& place, std::string message) {
    const model::Window& window = weighed_.window(place);
    Finding finding = finding_of(code, window.range_span, std::move(message));
    finding.note = ends(place);
    if (const auto& filled = room_.props[model::index(place.prop)].filled_at)
      finding.places.push_back(lw::Place{*filled, "filled in here", false});
    return finding;
  }

  std::string ends(const weigh::Place& place) const {
    const std::int64_t division = weighed_.scale(place).division;
    return mass(times(place.low, division)) + " to " + mass(times(place.high, division));
  }
  static std::int64_t times(std::int64_t divisions, std::int64_t division) {
    return weigh::times_up(divisions, division);
  }

  /// "630 g ± 3 g".
  static std::string weight(const weigh::Load& load) {
    const std::int64_t spread = load.high_pg - load.nominal_pg;
    return spread == 0 ? mass(load.nominal_pg) : mass(load.nominal_pg) + " ± " + mass(spread);
  }

  /// "the scale's own error is 2 g either way (class III in service 2 g)".
  std::string error_words(const model::Input& input, const weigh::OwnError& error) const {
    static const char* const kClasses[] = {"", "I", "II", "III", "IIII"};
    std::string parts;
    const auto part = [&](std::int64_t pg, const std::string& what) {
      if (pg != 0) parts += (parts.empty() ? "" : ", ") + what + " " + mass(pg);
    };
    part(error.class_pg, fmt::format("class {} in service", kClasses[input.accuracy_class]));
    part(error.drift_pg, "drift");
    part(error.repeats_pg, "repeats");
    return parts;
  }

  void scale(const model::Input& input) {
    if (const auto most =
            input.accuracy_class == 0 ? std::nullopt : weigh::most_divisions(input.accuracy_class)) {
      const std::int64_t divisions = input.to / input.division;
      if (divisions > *most) {
        Finding finding = finding_of(
            Code::beyond_class, input.span,
            fmt::format("scale `{}` counts {} divisions, more than its class has", input.name, divisions));
        finding.reason = fmt::format("{} in steps of {}; a scale of its class has {} at most.",
                                     mass(input.to), mass(input.division), *most);
        finding.remedies.push_back("write the capacity, division and class that stand on the scale's plate.");
        findings_.push_back(std::move(finding));
      }
    }
    const std::int64_t wander = weigh::add_up(input.drift.value_or(0), input.repeats.value_or(0));
    const auto first = static_cast<std::int64_t>(model::ceil_div(input.empty_below, input.division));
    if (wander == 0 || weigh::shown(wander, input.division) + 1 < first) return;
    Finding finding =
        finding_of(Code::unsteady_zero, input.span,
                   fmt::format("the bare pan of scale `{}` may not count as empty", input.name));
    finding.reason = fmt::format(
        "With drift and repeats it may show {}, a settled reading may be one division of {} behind, and it "
        "counts as "
        "empty below {}.",
        mass(wander), mass(input.division), mass(input.empty_below));
    const std::int64_t enough = weigh::times_up(weigh::shown(wander, input.division) + 2, input.division);
    finding.remedies.push_back(fmt::format("write `empty below {}` or more.", mass(enough)));
    findings_.push_back(std::move(finding));
  }

  void light(const weigh::Place& place) {
    const model::Input& input = weighed_.scale(place);
    const model::Window& window = weighed_.window(place);
    if (input.accuracy_class == 0 || window.target.empty()) return;
    const std::int64_t least =
        weigh::times_up(weigh::least_load(input.accuracy_class, input.division), input.division);
    std::int64_t target = 0;
    for (const model::Addend& addend : window.target)
      target = weigh::add_up(target, weigh::times_up(addend.value, addend.count));
    if (target >= least) return;
    Finding finding =
        of(Code::least_load, place,
           fmt::format("the target of window `{}` is under the least load of its scale", window.name));
    finding.places.push_back(lw::Place{input.span, "least load " + mass(least), false});
    finding.reason = fmt::format("The target is {}; its class weighs from {} on.", mass(target), mass(least));
    finding.remedies.push_back("choose a heavier target, or a scale with a finer division.");
    findings_.push_back(std::move(finding));
  }

  bool wide_enough(const weigh::Place& place) {
    if (!place.bounded || place.high - place.low < 1)
      return true;  // narrower ones are said by their ends alone
    const weigh::Band sure = weigh::widened(place.band, -weighed_.error(place).total_pg());
    if (sure.low_pg <= sure.high_pg) return true;
    const model::Input& input = weighed_.scale(place);
    const weigh::OwnError error = weighed_.error(place);
    Finding finding = of(Code::unreliable_window, place,
                         fmt::format("window `{}` is narrower than the error of scale `{}`",
                                     weighed_.window(place).name, input.name));
    finding.places.push_back(lw::Place{input.span, "own error " + mass(error.total_pg()), false});
    finding.reason =
        fmt::format("Its own error is {} either way ({}), so no load at all is surely shown in the window.",
                    mass(error.total_pg()), error_words(input, error));
    finding.remedies.push_back("make the window wider, or use a scale with a smaller error.");
    findings_.push_back(std::move(finding));
    return false;
  }

  bool enough(const weigh::Place& place) {
    if (place.enough) return true;
    const model::Window& window = weighed_.window(place);
    Finding finding = of(Code::short_of_things, place,
                         fmt::format("the target of window `{}` asks for more than there are", window.name));
    for (const model::Addend& addend : window.target) {
      if (!addend.thing) continue;
      const model::Thing& thing = room_.things[model::index(*addend.thing)];
      std::int64_t asked = 0;
      for (const model::Addend& other : window.target)
        if (other.thing == addend.thing) asked = weigh::add_up(asked, other.count);
      if (asked > thing.count) {
        finding.places.push_back(lw::Place{thing.span, fmt::format("count {}", thing.count), true});
        finding.reason =
            fmt::format("It asks for {} of `{}`, and the room has {}.", asked, thing.name, thing.count);
        finding.remedies.push_back(
            fmt::format("write `count {}` for `{}`, or ask for fewer.", asked, thing.name));
        break;
      }
    }
    if (finding.remedies.empty()) {
      finding.reason = "One of its things is heavier than the scale can carry.";
      finding.remedies.push_back("use a scale with a larger capacity.");
    }
    findings_.push_back(std::move(finding));
    return false;
  }

  void misses(const weigh::Place& place) {
    if (place.high - place.low < 2) return;  // said by its ends alone
    const model::Window& window = weighed_.window(place);
    const model::Input& input = weighed_.scale(place);
    const Landing landing = weighed_.landing(place, *place.intended);
    const std::int64_t reach = weighed_.reach_pg(place);
    if (landing.margin_pg >= reach) return;
    const bool out = landing.grade == Grade::not_at_all || landing.grade == Grade::near;
    Finding finding = of(Code::intended_misses, place,
                         fmt::format("`{}` {} window `{}`", weighed_.words(*place.intended),
                                     out ? "misses" : "may miss", window.name));
    finding.places.push_back(
        lw::Place{input.span, "own error " + mass(weighed_.error(place).total_pg()), false});
    finding.reason = fmt::format("It weighs {}", weight(landing.load));
    if (const auto words = error_words(input, weighed_.error(place)); !words.empty())
      finding.reason +=
          fmt::format("; the scale's own error adds {} ({})", mass(weighed_.error(place).total_pg()), words);
    finding.reason +=
        fmt::format("; and a settled reading may be one division of {} behind.", mass(input.division));
    for (const weigh::Place& other : weighed_.places()) {
      if (&other == &place || other.scale != place.scale || other.low > other.high) continue;
      const weigh::Band wide = weigh::widened(other.band, reach);
      if (landing.load.low_pg > wide.high_pg || landing.load.high_pg < wide.low_pg) continue;
      finding.reason += fmt::format(" It may then be shown in `{}`.", weighed_.window(other).name);
      break;
    }
    if (place.further_pg == 0) {
      const weigh::Fit fit = weigh::fit(weighed_, place);
      if (!fit.too_heavy)
        finding.remedies.push_back(fmt::format("write a tolerance of {} or more.",
                                               mass(weigh::times_up(fit.needed, input.division))));
    }
    if (finding.remedies.empty())
      finding.remedies.push_back("write a larger tolerance, or use a scale with a smaller error.");
    findings_.push_back(std::move(finding));
  }

  void undecided(const weigh::Place& place) {
    Finding finding =
        of(Code::sets_undecided, place,
           fmt::format("what lands in window `{}` was not decided", weighed_.window(place).name));
    finding.reason = fmt::format("There are {} kinds of things, and their sets were too many to go through.",
                                 weighed_.things().size());
    finding.remedies.push_back(
        "write masses no finer than they were weighed: sets of equal mass are counted at once.");
    findings_.push_back(std::move(finding));
  }

  /// Sets other than the intended one, and not that one with more beside it, that may land or come as near as
  /// the scale's own error.
  void others(const weigh::Place& place) {
    const auto all = weighed_.sets().possibly(weigh::widened(place.band, weighed_.reach_pg(place)));
    if (!all) return undecided(place);
    if (*all == 0) return;
    constexpr std::size_t kMostListed = 40;
    weigh::WeighedRoom::Landings landing = weighed_.landings(place, weigh::Which::minimal, kMostListed);
    weigh::WeighedRoom::Landings near = weighed_.near(place, kMostListed);
    const auto meant = [&](const Landing& set) {
      const Kinship kinship = weighed_.kinship(place, set.parts);
      return kinship == Kinship::intended || kinship == Kinship::more;
    };
    std::vector<Landing> found;
    for (Landing& set : landing.sets)
      if (!meant(set)) found.push_back(std::move(set));
    const bool lands = !found.empty();
    if (!lands)
      for (Landing& set : near.sets)
        if (!meant(set)) found.push_back(std::move(set));
    if (found.empty()) return;
    const model::Window& window = weighed_.window(place);
    Finding finding = of(Code::unintended_set, place,
                         fmt::format("window `{}` is {} true of things that its target does not name",
                                     window.name, lands ? "also" : "perhaps"));
    if (!lands) finding.severity = Severity::note;
    constexpr std::size_t kMostSaid = 4;
    for (std::size_t n = 0; n < found.size() && n < kMostSaid; ++n) {
      const Landing& set = found[n];
      finding.reason += fmt::format("{}`{}` weighs {}{}",
                                    n == 0                  ? ""
                                    : n + 1 == found.size() ? ", and "
                                                            : ", ",
                                    weighed_.words(set.parts), weight(set.load), how(place, set));
    }
    const bool whole = landing.whole && near.whole;
    if (found.size() > kMostSaid)
      finding.reason += fmt::format(", and so on: {}{} in all that hold no smaller one",
                                    whole ? "" : "more than ", found.size());
    finding.reason += ".";
    if (!lands)
      finding.reason += fmt::format(
          " That is within the scale's own error ({}) and the division that a settled reading "
          "may be behind.",
          error_words(weighed_.scale(place), weighed_.error(place)));
    remedy(place, finding);
    findings_.push_back(std::move(finding));
  }

  std::string how(const weigh::Place& place, const Landing& set) const {
    std::string part = weighed_.kinship(place, set.parts) == Kinship::part ? ", a part of what is meant" : "";
    if (set.grade == Grade::possibly) part += ", which reaches into it";
    if (set.grade == Grade::near) part += fmt::format(", {} outside", mass(-set.margin_pg));
    return part;
  }

  void remedy(const weigh::Place& place, Finding& finding) {
    const weigh::Fit fit = weigh::fit(weighed_, place);
    if (fit.found()) {
      finding.remedies.push_back(fmt::format("write `{}`, the widest that no other set reaches.",
                                             weigh::written(weighed_, place, fit.widest)));
      return;
    }
    // Where a room is full of sets no change of one thing helps for long, and trying them all takes long.
    constexpr std::size_t kMostThings = 20, kMostInTheWay = 10;
    constexpr int kMostTries = 150;
    const bool worth_trying = fit.decided && !fit.too_heavy && !fit.too_light &&
                              weighed_.things().size() <= kMostThings &&
                              fit.in_the_way.size() <= kMostInTheWay;
    const auto changes =
        worth_trying ? weigh::changes(weighed_, place, fit, 2, kMostTries) : std::vector<weigh::Change>();
    for (const weigh::Change& change : changes) {
      const model::Thing& thing = room_.things[model::index(weighed_.things()[change.kind])];
      finding.remedies.push_back(
          fmt::format("make `{}` {} {}, {}, and then let `latchwork fit` choose the tolerance.", thing.name,
                      mass(change.by_pg < 0 ? -change.by_pg : change.by_pg),
                      change.by_pg < 0 ? "lighter" : "heavier", mass(*thing.mass_pg + change.by_pg)));
    }
    if (changes.empty()) finding.remedies.push_back("choose things whose sums lie further apart.");
  }

  void reached(const weigh::Place& place) {
    const auto count = weighed_.sets().possibly(place.band);
    if (!count) return undecided(place);
    if (*count != 0 || weigh::rules_of(room_, place).empty()) return;
    const model::Window& window = weighed_.window(place);
    Finding finding = of(Code::unreached_window, place,
                         fmt::format("no things of the room reach window `{}`", window.name));
    finding.reason = "No set of them is shown within it, so that only a hand makes it true.";
    slip(place, finding);
    finding.remedies.push_back(
        "write the thing that is meant, with its mass, or name the things in the target.");
    findings_.push_back(std::move(finding));
  }

  /// A target ten times too much or too little, or its number in another unit, against what could be meant.
  void slip(const weigh::Place& place, Finding& finding) {
    const model::Window& window = weighed_.window(place);
    if (window.target.empty()) return;
    struct Slip {
      std::int64_t times, over;
      const char* words;
    };
    static constexpr Slip kSlips[] = {
        {10, 1, "ten times the target"},
        {1, 10, "a tenth of the target"},
        {28'349'523'125, 1'000'000'000, "as many ounces as the target has grams"},
        {1'000'000'000, 28'349'523'125, "as many grams as the target has ounces"},
        {1'000'000'000, 453'592'370, "as many kilograms as the target has pounds"},
        {453'592'370, 1'000'000'000, "as many pounds as the target has kilograms"},
    };
    for (const Slip& slip : kSlips) {
      const model::Wide meant = static_cast<model::Wide>(place.further_pg) * slip.times / slip.over;
      if (meant > INT64_MAX / 4) continue;
      const auto target = static_cast<std::int64_t>(meant);
      const std::int64_t about = target / 100;
      weigh::Listing listing = weighed_.sets().list(
          weigh::widened({target, target}, std::min(about, weighed_.sets().most_pg() / 4)), weigh::Which::all,
          200);
      const weigh::Parts* best = nullptr;
      std::int64_t best_off = INT64_MAX;
      for (const weigh::Parts& parts : listing.sets) {
        const std::int64_t off = weigh::load_of(weighed_.kinds(), parts).nominal_pg - target;
        if ((off < 0 ? -off : off) >= best_off) continue;
        best_off = off < 0 ? -off : off;
        best = &parts;
      }
      if (best == nullptr) continue;
      finding.reason += fmt::format(" `{}` weighs {}, {}: perhaps that was meant.", weighed_.words(*best),
                                    mass(weigh::load_of(weighed_.kinds(), *best).nominal_pg), slip.words);
      finding.remedies.push_back(
          fmt::format("write `{} ± …` if that is what was meant.", weighed_.words(*best)));
      return;
    }
  }

  void on_the_way(const weigh::Passing& passing) {
    constexpr std::int64_t kNextThing_ms = 2000;
    if (passing.answer_ms >= kNextThing_ms) return;
    const model::Rule& rule = weigh::rule_at(room_, passing.rule);
    const std::string& intended = weighed_.window(*passing.intended).name;
    Finding finding =
        finding_of(Code::on_the_way, rule.span,
                   fmt::format("on the way to window `{}` this rule may answer first", intended));
    finding.places.push_back(
        lw::Place{weighed_.window(*passing.passed).range_span, ends(*passing.passed), false});
    finding.places.push_back(
        lw::Place{weighed_.window(*passing.intended).range_span, ends(*passing.intended), false});
    finding.reason = fmt::format(
        "Of {} orders of placing `{}` {} pass through `{}`, with `{}` for instance. The rule moves once that "
        "has lain "
        "still for {}.",
        passing.orders.all.str(), weighed_.words(*passing.intended->intended), passing.orders.through.str(),
        weighed_.window(*passing.passed).name, weighed_.words(passing.orders.first), time(passing.answer_ms));
    const std::int64_t hold_ms = kNextThing_ms - (passing.answer_ms - rule.hold_ms);
    finding.remedies.push_back(fmt::format(
        "write `for {}` or longer, which lets people place the next thing, or let both windows wait in "
        "different states.",
        time(hold_ms)));
    sort_places(finding);
    findings_.push_back(std::move(finding));
  }

  void hands() {
    constexpr std::int64_t kPassing_ms = 400;
    for (std::size_t prop = 0; prop < room_.props.size(); ++prop) {
      for (const model::Body& body : room_.props[prop].bodies) {
        for (const model::Rule& rule : body.rules) {
          if (!rule.target || !weigh::by_hand_alone(rule.condition)) continue;
          const model::Input* scale = nullptr;
          model::each_fact(rule.condition, [&](const model::Fact& fact, Span) {
            if (fact.kind != model::FactKind::in_window) return;
            const model::Input& input = room_.inputs[model::index(
                room_.props[model::index(fact.prop)].windows[model::index(fact.window)].input)];
            if (input.kind == model::InputKind::scale) scale = &input;
          });
          if (scale == nullptr || weigh::answer_ms(room_, rule) >= kPassing_ms) continue;
          Finding finding = finding_of(Code::hand_reading, rule.span,
                                       "a hand that passes over the pan makes this rule move");
          finding.places.push_back(lw::Place{scale->span, "settle " + time(scale->steady_ms), false});
          finding.reason =
              fmt::format("It moves once a load has lain still for {}, and a hand holds one for as long.",
                          time(weigh::answer_ms(room_, rule)));
          finding.remedies.push_back(fmt::format("write `for {}` or longer.",
                                                 time(std::max<std::int64_t>(500, 2 * scale->steady_ms))));
          sort_places(finding);
          findings_.push_back(std::move(finding));
        }
      }
    }
  }

  static std::string time(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

  static void sort_places(Finding& finding) {
    std::sort(finding.places.begin(), finding.places.end(), [](const lw::Place& a, const lw::Place& b) {
      return std::make_pair(a.span.file, a.span.begin) < std::make_pair(b.span.file, b.span.begin);
    });
  }

  const model::Room& room_;
  weigh::WeighedRoom weighed_;
  Findings& findings_;
};

}  // namespace

void check_weighing(const Subject& subject, Findings& findings) { Weighing(subject, findings).run(); }

}  // namespace lw
