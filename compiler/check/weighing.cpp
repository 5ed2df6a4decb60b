// Weighing: what the masses of the room's things and its scales' own errors say of its windows.
//
// What `weigh` works out, said as findings; a window's sets are listed in full by `latchwork weigh`. Here
// stand what is said of a scale and of each window for itself, the way there, and passing hands. Tests:
// tests/cases/weighing.
#include "check/weighing.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/divisions.hpp"
#include "weigh/fit.hpp"
#include "weigh/slip.hpp"
#include "weigh/way.hpp"

namespace lw {

using weigh::Grade;
using weigh::Landing;
using weigh::mass;

std::string weight_words(const weigh::Load& load) {
  const std::int64_t spread = load.high_pg - load.nominal_pg;
  return spread == 0 ? mass(load.nominal_pg) : mass(load.nominal_pg) + " ± " + mass(spread);
}

std::string time_words(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

void say_slip(weigh::WeighedRoom& weighed, std::int64_t target_pg, Finding& finding) {
  const auto slip = weigh::slip_of(weighed, target_pg);
  if (!slip) return;
  finding.reason += fmt::format(" `{}` weighs {}, {}: perhaps that was meant.", weighed.words(slip->parts),
                                mass(weigh::load_of(weighed.kinds(), slip->parts).nominal_pg), slip->words);
  finding.remedies.push_back(
      fmt::format("write `{} ± …` if that is what was meant.", weighed.words(slip->parts)));
}

void sort_places(Finding& finding) {
  std::sort(finding.places.begin(), finding.places.end(), [](const lw::Place& a, const lw::Place& b) {
    return std::make_pair(a.span.file, a.span.begin) < std::make_pair(b.span.file, b.span.begin);
  });
}

Scales::Scales(const model::Room& of_room, Findings& into)
    : room(of_room), weighed(of_room, kLook), findings(into) {}

Finding Scales::of(Code code, const weigh::Place& place, std::string message) const {
  Finding finding = finding_of(code, weighed.window(place).range_span, std::move(message));
  finding.note = ends(place);
  if (const auto& filled = room.props[model::index(place.prop)].filled_at)
    finding.places.push_back(lw::Place{*filled, "filled in here", false});
  return finding;
}

std::string Scales::ends(const weigh::Place& place) const {
  const std::int64_t division = weighed.scale(place).division;
  return mass(weigh::times_up(place.low, division)) + " to " + mass(weigh::times_up(place.high, division));
}

std::string Scales::error_words(const model::Input& input, const weigh::OwnError& error) {
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

lw::Place Scales::error_place(const weigh::Place& place) const {
  return {weighed.scale(place).span, "own error " + mass(weighed.error(place).total_pg()), false};
}

void Scales::mend(const weigh::Place& place, Finding& finding) {
  const weigh::Fit fit = weigh::fit(weighed, place);
  if (fit.found()) {
    finding.remedies.push_back(fmt::format("write `{}`, the widest that no other set reaches.",
                                           weigh::written(weighed, place, fit.widest)));
    return;
  }
  // Where a room is full of sets no change of one thing helps for long, and trying them all takes long.
  constexpr std::size_t kMostThings = 20, kMostInTheWay = 10;
  constexpr int kMostTries = 150;
  const bool worth_trying = fit.decided && !fit.too_heavy && !fit.too_light &&
                            weighed.things().size() <= kMostThings && fit.in_the_way.size() <= kMostInTheWay;
  const auto changes =
      worth_trying ? weigh::changes(weighed, place, fit, 2, kMostTries) : std::vector<weigh::Change>();
  for (const weigh::Change& change : changes) {
    const model::Thing& thing = room.things[model::index(weighed.things()[change.kind])];
    finding.remedies.push_back(
        fmt::format("make `{}` {} {}, {}, and then let `latchwork fit` choose the tolerance.", thing.name,
                    mass(change.by_pg < 0 ? -change.by_pg : change.by_pg),
                    change.by_pg < 0 ? "lighter" : "heavier", mass(*thing.mass_pg + change.by_pg)));
  }
  if (changes.empty()) finding.remedies.push_back("choose things whose sums lie further apart.");
}

void Scales::undecided(const weigh::Place& place) {
  Finding finding = of(Code::sets_undecided, place,
                       fmt::format("what lands in window `{}` was not decided", weighed.window(place).name));
  finding.reason = fmt::format(
      "There are {} kinds of things, whose sets were too many to go through in a moment; those that were "
      "gone "
      "through say nothing.",
      weighed.things().size());
  finding.remedies.push_back(
      "write masses no finer than they were weighed: sets of equal mass are counted at once.");
  finding.remedies.push_back("ask `latchwork weigh`, which looks further.");
  findings.push_back(std::move(finding));
}

namespace {

class Weighing {
 public:
  explicit Weighing(Scales& scales) : scales_(scales) {}

  void run() {
    for (const model::Input& input : room_.inputs)
      if (input.kind == model::InputKind::scale && input.division > 0) scale(input);
    check_near_windows(scales_);
    for (const weigh::Place& place : weighed_.places()) {
      if (place.low > place.high) continue;  // said of the window itself
      light(place);
      const bool reliable = wide_enough(place);
      if (weighed_.things().empty()) continue;
      if (place.intended) {
        if (!enough(place)) continue;
        if (reliable) misses(place);
      }
      check_landing(scales_, place);
    }
    for (const weigh::Passing& passing : weigh::passings(weighed_)) on_the_way(passing);
    hands();
    check_noise(scales_);
  }

 private:
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
    Finding finding = scales_.of(
        Code::least_load, place,
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
    Finding finding = scales_.of(Code::unreliable_window, place,
                                 fmt::format("window `{}` is narrower than the error of scale `{}`",
                                             weighed_.window(place).name, input.name));
    finding.places.push_back(scales_.error_place(place));
    finding.reason =
        fmt::format("Its own error is {} either way ({}), so no load at all is surely shown in the window.",
                    mass(error.total_pg()), Scales::error_words(input, error));
    finding.remedies.push_back("make the window wider, or use a scale with a smaller error.");
    findings_.push_back(std::move(finding));
    return false;
  }

  bool enough(const weigh::Place& place) {
    if (place.enough) return true;
    const model::Window& window = weighed_.window(place);
    Finding finding =
        scales_.of(Code::short_of_things, place,
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
    // What the window beside it may show has been said, with what mends both.
    if (std::any_of(scales_.carried.begin(), scales_.carried.end(),
                    [&](const Scales::Carried& one) { return one.from == &place; }))
      return;
    const bool out = landing.grade == Grade::not_at_all || landing.grade == Grade::near;
    Finding finding = scales_.of(Code::intended_misses, place,
                                 fmt::format("`{}` {} window `{}`", weighed_.words(*place.intended),
                                             out ? "misses" : "may miss", window.name));
    finding.places.push_back(scales_.error_place(place));
    finding.reason = fmt::format("It weighs {}", weight_words(landing.load));
    if (const auto words = Scales::error_words(input, weighed_.error(place)); !words.empty())
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

  void on_the_way(const weigh::Passing& passing) {
    constexpr std::int64_t kNextThing_ms = 2000;
    if (passing.answer_ms >= kNextThing_ms) return;
    const model::Rule& rule = weigh::rule_at(room_, passing.rule);
    const std::string& intended = weighed_.window(*passing.intended).name;
    Finding finding = finding_of(Code::on_the_way, rule.span,
                                 fmt::format("on the way {} window `{}` this rule may answer first",
                                             passing.taking_off ? "from" : "to", intended));
    finding.places.push_back(
        lw::Place{weighed_.window(*passing.passed).range_span, scales_.ends(*passing.passed), false});
    finding.places.push_back(
        lw::Place{weighed_.window(*passing.intended).range_span, scales_.ends(*passing.intended), false});
    finding.reason = fmt::format(
        "Of {} orders of {} `{}` {} pass through `{}`, with `{}` for instance. The rule moves once that "
        "has lain "
        "still for {}{}.",
        passing.orders.all.str(), passing.taking_off ? "taking off" : "placing",
        weighed_.words(*passing.intended->intended), passing.orders.through.str(),
        weighed_.window(*passing.passed).name, weighed_.words(passing.orders.first),
        time_words(passing.answer_ms), passing.taking_off ? ", before the pan is bare" : "");
    const std::int64_t hold_ms = kNextThing_ms - (passing.answer_ms - rule.hold_ms);
    finding.remedies.push_back(fmt::format(
        "write `for {}` or longer, which lets people {} the next thing, or let {} wait in different states.",
        time_words(hold_ms), passing.taking_off ? "take off" : "place",
        passing.taking_off ? "this window and the bare pan" : "both windows"));
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
          finding.places.push_back(lw::Place{scale->span, "settle " + time_words(scale->steady_ms), false});
          finding.reason =
              fmt::format("It moves once a load has lain still for {}, and a hand holds one for as long.",
                          time_words(weigh::answer_ms(room_, rule)));
          finding.remedies.push_back(fmt::format(
              "write `for {}` or longer.", time_words(std::max<std::int64_t>(500, 2 * scale->steady_ms))));
          sort_places(finding);
          findings_.push_back(std::move(finding));
        }
      }
    }
  }

  Scales& scales_;
  const model::Room& room_ = scales_.room;
  weigh::WeighedRoom& weighed_ = scales_.weighed;
  Findings& findings_ = scales_.findings;
};

}  // namespace

void check_weighing(const Subject& subject, Findings& findings) {
  Scales scales(subject.room, findings);
  Weighing(scales).run();
}

}  // namespace lw
