// Windows so near to each other that the scale's own error carries a load from one into the other.
//
// Compared are neighbours on one scale, of one prop or of two, that have both their own ends: what is written
// by another window, or has one end, is the rest beside it, and nothing is meant for it. What is carried is
// what a window means: the set that its target names, else any set of the room that lands in it. In a room
// without masses a plain target means its mass, and a range any load, where a strip was left to keep it
// apart. Rejected: comparing the ends alone, since between windows that meet lies always less than the error,
// and most often no load. Tests: tests/cases/weighing/near_windows*, tests/weigh_edges.py.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "check/weighing.hpp"
#include "model/divisions.hpp"
#include "weigh/fit.hpp"

namespace lw {
namespace {

using weigh::Band;
using weigh::Grade;
using weigh::Landing;
using weigh::mass;

class Neighbours {
 public:
  explicit Neighbours(Scales& scales) : scales_(scales) {}

  void run() {
    std::vector<const weigh::Place*> sorted;
    for (const weigh::Place& place : weighed_.places())
      if (place.bounded && !weighed_.window(place).follows && place.low <= place.high)
        sorted.push_back(&place);
    std::stable_sort(sorted.begin(), sorted.end(), [](const weigh::Place* a, const weigh::Place* b) {
      return std::tie(a->scale, a->low) < std::tie(b->scale, b->low);
    });
    // Of any two props the windows between which neither has another; so all of one prop that follow each
    // other.
    for (std::size_t n = 0; n < sorted.size(); ++n) {
      const weigh::Place& below = *sorted[n];
      std::map<model::PropId, std::int64_t> next;  // where the first window above begins, of each prop
      for (std::size_t m = n + 1; m < sorted.size() && sorted[m]->scale == below.scale; ++m) {
        const weigh::Place& above = *sorted[m];
        if (above.low <= below.high) continue;
        const auto own = next.find(below.prop);
        if (own != next.end() && own->second < above.low) break;
        if (next.emplace(above.prop, above.low).first->second < above.low) continue;
        pair(below, above);
      }
    }
  }

 private:
  void pair(const weigh::Place& below, const weigh::Place& above) {
    two_props_ = below.prop != above.prop;
    std::string carried;
    const weigh::Place* first = nullptr;
    for (const auto& [from, to] : {std::pair(&below, &above), std::pair(&above, &below)}) {
      const std::string words = carry(*from, *to);
      if (words.empty()) continue;
      carried += (carried.empty() ? "" : " ") + words;
      if (first == nullptr) first = from;
    }
    if (first == nullptr) return;
    const model::Input& input = weighed_.scale(above);
    Finding finding = scales_.of(Code::near_windows, above,
                                 fmt::format("windows `{}` and `{}` are closer than the error of scale `{}`",
                                             called(below), called(above), input.name));
    finding.places.push_back(scales_.error_place(above));
    finding.places.push_back(lw::Place{weighed_.window(below).range_span, scales_.ends(below), false});
    sort_places(finding);
    const std::string error = Scales::error_words(input, weighed_.error(above));
    finding.reason = carried;
    if (!error.empty())
      finding.reason += fmt::format(" The scale's own error is {} ({}), and",
                                    mass(weighed_.error(above).total_pg()), error);
    finding.reason += fmt::format(
        "{} settled reading may be one division of {} behind; from the end of `{}` to `{}` it is {}.",
        error.empty() ? " A" : " a", mass(input.division), called(below), called(above),
        mass(static_cast<std::int64_t>(std::min<model::Wide>(
            (static_cast<model::Wide>(above.low) - below.high) * input.division, INT64_MAX))));
    mend(below, above, *first, finding);
    scales_.findings.push_back(std::move(finding));
  }

  /// What is meant for `from` and may be shown in `to`, as a sentence; empty: nothing.
  std::string carry(const weigh::Place& from, const weigh::Place& to) {
    const std::int64_t reach = weighed_.reach_pg(from);
    const Band zone =
        to.low > from.high
            ? Band{std::max(from.band.low_pg, weigh::widened(to.band, reach).low_pg), from.band.high_pg}
            : Band{from.band.low_pg, std::min(from.band.high_pg, weigh::widened(to.band, reach).high_pg)};
    if (zone.low_pg > zone.high_pg) return "";
    const auto within = [&](std::int64_t low_pg, std::int64_t high_pg) {
      return low_pg <= zone.high_pg && high_pg >= zone.low_pg;
    };
    if (from.intended) {
      if (!from.enough) return "";
      const Landing landing = weighed_.landing(from, *from.intended);
      if (landing.grade > Grade::possibly || !within(landing.load.low_pg, landing.load.high_pg)) return "";
      scales_.carried.push_back({&from, &to});
      const std::string further = from.further_pg == 0 ? "" : " + " + mass(from.further_pg);
      return fmt::format("`{}{}` weighs {} and is meant for `{}`, but may be shown in `{}`.",
                         weighed_.words(*from.intended), further, weight_words(landing.load), called(from),
                         called(to));
    }
    if (!weighed_.things().empty()) {
      // The smallest first; what is meant for the other window is said of that one, and may hide what holds
      // it.
      bool whole = true;
      for (const weigh::Which which : {weigh::Which::minimal, weigh::Which::all}) {
        const auto listing = weighed_.sets().list(zone, which, Scales::kMostListed);
        const auto found = std::find_if(listing.sets.begin(), listing.sets.end(),
                                        [&](const weigh::Parts& parts) { return parts != to.intended; });
        if (found != listing.sets.end())
          return fmt::format("`{}` weighs {} and lands in `{}`, but may be shown in `{}`.",
                             weighed_.words(*found), weight_words(weigh::load_of(weighed_.kinds(), *found)),
                             called(from), called(to));
        whole = listing.whole;
        if (listing.sets.empty()) break;
      }
      if (!whole) scales_.undecided(from);
      return "";
    }
    const std::int64_t division = weighed_.scale(from).division;
    if (!weighed_.window(from).target.empty()) {
      if (!within(from.further_pg, from.further_pg)) return "";
      return fmt::format("A load of {}, which is what `{}` says, may be shown in `{}`.",
                         mass(from.further_pg), called(from), called(to));
    }
    const bool upwards = to.low > from.high;
    if (upwards ? from.high + 1 == to.low : to.high + 1 == from.low) return "";
    return fmt::format("A load of {}, which `{}` holds, may be shown in `{}`.",
                       mass(weigh::times_up(upwards ? from.high : from.low, division)), called(from),
                       called(to));
  }

  void mend(const weigh::Place& below, const weigh::Place& above, const weigh::Place& first,
            Finding& finding) {
    std::vector<std::string> lines;
    bool all = true;
    for (const weigh::Place* const place : {&below, &above}) {
      if (!place->intended || place->further_pg != 0 || !place->enough) continue;
      const weigh::Fit fit = weigh::fit(weighed_, *place);
      if (fit.found())
        lines.push_back(weigh::written(weighed_, *place, fit.widest));
      else
        all = false;
    }
    if (!lines.empty() && all) {
      finding.remedies.push_back(
          fmt::format("write `{}`{}.", lines.front(), lines.size() > 1 ? " and `" + lines.back() + "`" : ""));
    } else if (const auto moved = moved_border(below, above)) {
      finding.remedies.push_back(fmt::format("write `{}` and `{}`.", moved->first, moved->second));
    } else if (first.intended && first.further_pg == 0) {
      scales_.mend(first, finding);
    }
    finding.remedies.push_back(fmt::format(
        "{} a scale with a smaller error.",
        finding.remedies.empty() ? "choose loads that lie further apart, and windows with them, or use"
                                 : "use"));
  }

  using Lines = std::optional<std::pair<std::string, std::string>>;

  /// Both windows as they could be written with the border between them moved, of which one at least is a
  /// range, so that nothing in the room comes within the scale's error of it.
  Lines moved_border(const weigh::Place& below, const weigh::Place& above) {
    const auto range = [&](const weigh::Place& place) { return weighed_.window(place).target.empty(); };
    if (weighed_.things().empty()) return std::nullopt;
    if (range(below) && range(above)) {
      constexpr std::int64_t kMostTries = 50;
      for (std::int64_t n = 1; n <= kMostTries; ++n)
        for (const std::int64_t by : {n, -n})
          if (clear(below, above, below.high + by, above.low + by))
            return std::pair(written(below, below.low, below.high + by),
                             written(above, above.low + by, above.high));
      return std::nullopt;
    }
    const weigh::Place& meant = range(below) ? above : below;
    if (range(below) == range(above) || !meant.intended || meant.further_pg != 0 || !meant.enough)
      return std::nullopt;
    // What is meant gets the tolerance that it needs, and the range begins where that ends.
    const weigh::Fit fit = weigh::fit(weighed_, meant);
    if (!fit.decided || fit.too_heavy || fit.too_light || !fit.in_the_way.empty()) return std::nullopt;
    const std::int64_t division = weighed_.scale(meant).division;
    const std::int64_t nominal_pg = weigh::load_of(weighed_.kinds(), *meant.intended).nominal_pg;
    const std::string line = weigh::written(weighed_, meant, fit.needed);
    if (&meant == &below) {
      const auto end = static_cast<std::int64_t>(model::floor_div(nominal_pg, division)) + fit.needed;
      if (!clear(below, above, end, end + 1)) return std::nullopt;
      return std::pair(line, written(above, end + 1, above.high));
    }
    const auto begin = static_cast<std::int64_t>(model::ceil_div(nominal_pg, division)) - fit.needed;
    if (!clear(below, above, begin - 1, begin)) return std::nullopt;
    return std::pair(written(below, below.low, begin - 1), line);
  }

  /// Whether nothing comes within the scale's error of the border between two windows of which one ends and
  /// the other begins so; both keep two divisions at the least.
  bool clear(const weigh::Place& below, const weigh::Place& above, std::int64_t end, std::int64_t begin) {
    if (end <= below.low || begin >= above.high) return false;
    const std::int64_t division = weighed_.scale(above).division;
    const std::int64_t reach = std::max(weighed_.reach_pg(below), weighed_.reach_pg(above));
    const Band zone{weigh::loads_of(begin, begin, division).low_pg - reach,
                    weigh::loads_of(end, end, division).high_pg + reach};
    const auto count = weighed_.sets().possibly(zone);
    return count && *count == 0;
  }

  std::string written(const weigh::Place& place, std::int64_t low, std::int64_t high) const {
    const std::int64_t division = weighed_.scale(place).division;
    return fmt::format("window {} on {}: {} to {}", name(place), weighed_.scale(place).name,
                       mass(weigh::times_up(low, division)), mass(weigh::times_up(high, division)));
  }

  const std::string& name(const weigh::Place& place) const { return weighed_.window(place).name; }

  /// Between the marks of a name: with its prop where the two windows have one each.
  std::string called(const weigh::Place& place) const {
    return two_props_ ? name(place) + "` of `" + scales_.room.props[model::index(place.prop)].name
                      : name(place);
  }

  Scales& scales_;
  weigh::WeighedRoom& weighed_ = scales_.weighed;
  bool two_props_ = false;  // of the pair that is looked at
};

}  // namespace

void check_near_windows(Scales& scales) { Neighbours(scales).run(); }

}  // namespace lw
