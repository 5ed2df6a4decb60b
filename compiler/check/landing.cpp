// What lands in a window and is not meant, and windows that nothing reaches.
//
// A target that names things says what is meant. A plain target does not: where one set alone can be the
// meant one, the others are said as they are of a named target; else all of them, and that the target should
// name one. A window written by its two ends means any load between them. Tests: tests/cases/weighing,
// tests/weigh_landing.py.
#include <fmt/format.h>

#include <algorithm>

#include "check/weighing.hpp"
#include "weigh/fit.hpp"
#include "weigh/way.hpp"

namespace lw {
namespace {

using weigh::Grade;
using weigh::Kinship;
using weigh::Landing;
using weigh::mass;

constexpr std::size_t kMostSaid = 4;

class Landed {
 public:
  explicit Landed(Scales& scales) : scales_(scales) {}

  /// Sets other than the intended one, and not that one with more beside it, that may land or come as near as
  /// the scale's own error. `taken` says why a set that the target does not name is taken as meant.
  void others(const weigh::Place& place, const std::string& taken = "") {
    const auto meant = [&](const Landing& set) {
      const Kinship kinship = weighed_.kinship(place, set.parts);
      return kinship == Kinship::intended || kinship == Kinship::more;
    };
    const weigh::WeighedRoom::Landings landing =
        weighed_.landings(place, weigh::Which::minimal, Scales::kMostListed);
    bool whole = landing.whole;
    std::vector<Landing> found;
    for (const Landing& set : landing.sets)
      if (!meant(set)) found.push_back(set);
    const bool lands = !found.empty();
    if (!lands) {
      const weigh::WeighedRoom::Landings near = weighed_.near(place, Scales::kMostListed);
      whole = whole && near.whole;
      for (const Landing& set : near.sets)
        if (!meant(set) && !carried_here(place, set.parts)) found.push_back(set);
    }
    if (found.empty()) {
      if (!whole && !alone(place)) scales_.undecided(place);
      return;
    }
    Finding finding = scales_.of(Code::unintended_set, place,
                                 fmt::format("window `{}` is {} true of things that its target does not {}",
                                             weighed_.window(place).name, lands ? "also" : "perhaps",
                                             taken.empty() ? "name" : "seem to mean"));
    if (!lands) finding.severity = Severity::note;
    finding.reason = taken + listed(place, found, whole);
    if (!lands)
      finding.reason += fmt::format(
          " That is within the scale's own error ({}) and the division that a settled reading "
          "may be behind.",
          Scales::error_words(weighed_.scale(place), weighed_.error(place)));
    scales_.mend(place, finding);
    if (!taken.empty()) any_will_do(place, finding);
    scales_.findings.push_back(std::move(finding));
  }

  /// A window whose target names nothing.
  void unnamed(const weigh::Place& place) {
    if (weigh::rules_of(scales_.room, place).empty()) return;
    const auto [sets, whole] = weighed_.landings(place, weigh::Which::minimal, Scales::kMostListed);
    if (sets.empty() && (whole || weighed_.sets().possibly(place.band) == weigh::Count(0)))
      return unreached(place);
    if (sets.empty()) return scales_.undecided(place);
    if (weighed_.window(place).target.empty()) return;
    if (sets.size() < 2) {
      if (!whole && weighed_.sets().possibly(place.band) != weigh::Count(1)) scales_.undecided(place);
      return;
    }
    if (const Landing* const meant = whole ? only(place, sets) : nullptr) {
      weigh::Place named = place;
      named.intended = meant->parts;
      named.further_pg = 0;
      others(named, fmt::format("`{}` {}, so it is taken as meant; named in the target it is held to that. ",
                                weighed_.words(meant->parts),
                                meant->load.nominal_pg == place.further_pg
                                    ? "weighs just what the target says"
                                    : "alone lands with the masses as written"));
      return;
    }
    const model::Window& window = weighed_.window(place);
    Finding finding =
        scales_.of(Code::plain_target, place,
                   fmt::format("several sets of things reach window `{}`, and its target names none of them",
                               window.name));
    finding.reason =
        listed(place, sets, whole) + " A plain mass does not say which is meant, so none is told apart.";
    finding.remedies.push_back(
        fmt::format("write what is meant as a sum, `window {} on {}: {} ± {}` for instance.", window.name,
                    weighed_.scale(place).name, weighed_.words(sets.front().parts), mass(window.tolerance)));
    any_will_do(place, finding);
    scales_.findings.push_back(std::move(finding));
  }

 private:
  /// Whether no set, or the intended one alone, lands or comes as near as the scale's own error.
  bool alone(const weigh::Place& place) {
    const weigh::Band wide = weigh::widened(place.band, weighed_.reach_pg(place));
    const weigh::Load load = weigh::load_of(weighed_.kinds(), *place.intended);
    const int meant = load.low_pg <= wide.high_pg && load.high_pg >= wide.low_pg ? 1 : 0;
    const auto all = weighed_.sets().possibly(wide);
    return all && *all <= meant;
  }

  /// The one set that a plain target can mean: the only one that weighs what it says, or else the only one
  /// that lands with the masses as written. Null: none, or several.
  static const Landing* only(const weigh::Place& place, const std::vector<Landing>& sets) {
    const auto single = [&](auto&& fits) -> const Landing* {
      const auto first = std::find_if(sets.begin(), sets.end(), fits);
      if (first == sets.end() || std::any_of(first + 1, sets.end(), fits)) return nullptr;
      return &*first;
    };
    const auto weighs_it = [&](const Landing& set) { return set.load.nominal_pg == place.further_pg; };
    if (std::any_of(sets.begin(), sets.end(), weighs_it)) return single(weighs_it);
    return single([](const Landing& set) { return set.grade <= Grade::nominally; });
  }

  /// What the window beside this one means and may be shown here is said of both windows.
  bool carried_here(const weigh::Place& place, const weigh::Parts& parts) const {
    return std::any_of(scales_.carried.begin(), scales_.carried.end(), [&](const Scales::Carried& one) {
      return weighed_.index(*one.to) == weighed_.index(place) && one.from->intended == parts;
    });
  }

  void any_will_do(const weigh::Place& place, Finding& finding) const {
    finding.remedies.push_back(fmt::format("write `window {} on {}: {}` if any load between these will do.",
                                           weighed_.window(place).name, weighed_.scale(place).name,
                                           scales_.ends(place)));
  }

  /// "`a` weighs …, and `b` weighs …."
  std::string listed(const weigh::Place& place, const std::vector<Landing>& found, bool whole) const {
    constexpr std::size_t kLong = 300;  // bytes: sets of many things are not all written out
    std::string words;
    std::size_t n = 0;
    for (; n < found.size() && n < kMostSaid && words.size() < kLong; ++n)
      words += fmt::format("{}`{}` weighs {}{}",
                           n == 0                  ? ""
                           : n + 1 == found.size() ? ", and "
                                                   : ", ",
                           weighed_.words(found[n].parts), weight_words(found[n].load), how(place, found[n]));
    if (n < found.size())
      words += fmt::format(", and so on: {}{} in all that hold no smaller one, which `latchwork weigh` lists",
                           whole ? "" : "more than ", found.size());
    return words + ".";
  }

  std::string how(const weigh::Place& place, const Landing& set) const {
    std::string part = weighed_.kinship(place, set.parts) == Kinship::part ? ", a part of what is meant" : "";
    if (set.grade == Grade::possibly) part += ", which reaches into it";
    if (set.grade == Grade::near) part += fmt::format(", {} outside", mass(-set.margin_pg));
    return part;
  }

  void unreached(const weigh::Place& place) {
    const model::Window& window = weighed_.window(place);
    Finding finding = scales_.of(Code::unreached_window, place,
                                 fmt::format("no things of the room reach window `{}`", window.name));
    finding.reason = "No set of them is shown within it, so that only a hand makes it true.";
    if (!weighed_.window(place).target.empty()) say_slip(weighed_, place.further_pg, finding);
    finding.remedies.push_back(
        "write the thing that is meant, with its mass, or name the things in the target.");
    scales_.findings.push_back(std::move(finding));
  }

  Scales& scales_;
  weigh::WeighedRoom& weighed_ = scales_.weighed;
};

}  // namespace

void check_landing(Scales& scales, const weigh::Place& place) {
  Landed landed(scales);
  if (place.intended) {
    if (place.further_pg == 0) landed.others(place);
  } else if (place.bounded && !scales.weighed.window(place).follows) {
    landed.unnamed(place);
  }
}

}  // namespace lw
