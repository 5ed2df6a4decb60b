#include "weigh/say.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "text/quantity.hpp"
#include "text/utf8.hpp"
#include "weigh/chance.hpp"
#include "weigh/fit.hpp"
#include "weigh/scale.hpp"
#include "weigh/way.hpp"

namespace lw::weigh {
namespace {

constexpr std::size_t kMostChances = 50;  // of a window; a long list is read for its sets

std::string time(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

std::string weight(const Load& load) {
  const std::int64_t spread = load.high_pg - load.nominal_pg;
  return spread == 0 ? mass(load.nominal_pg) : mass(load.nominal_pg) + " ± " + mass(spread);
}

std::string sets(const Count& count) { return count.str() + (count == 1 ? " set" : " sets"); }

/// Rows whose columns begin under each other, two spaces apart.
class Columns {
 public:
  void add(std::vector<std::string> row) { rows_.push_back(std::move(row)); }
  std::string text(std::size_t indent) const {
    std::vector<std::size_t> widths;
    for (const auto& row : rows_)
      for (std::size_t i = 0; i < row.size(); ++i) {
        if (i >= widths.size()) widths.push_back(0);
        widths[i] = std::max(widths[i], count_code_points(row[i]));
      }
    std::string text;
    for (const auto& row : rows_) {
      std::string line(indent, ' ');
      for (std::size_t i = 0; i < row.size(); ++i) {
        line += row[i];
        if (i + 1 < row.size()) line += std::string(widths[i] - count_code_points(row[i]) + 2, ' ');
      }
      text += line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
    }
    return text;
  }
  bool empty() const { return rows_.empty(); }

 private:
  std::vector<std::vector<std::string>> rows_;
};

class Page {
 public:
  Page(WeighedRoom& weighed, const SourceSet& sources, const Saying& saying)
      : weighed_(weighed), room_(weighed.room()), sources_(sources), saying_(saying) {}

  std::string text() {
    std::int64_t all = 0;
    for (const Kind& kind : weighed_.kinds()) all = add_up(all, kind.count);
    out_ += fmt::format("{}: {} of things with a mass, {} in all\n", shown_safely(room_.title),
                        counted(weighed_.things().size(), "kind"), all);
    for (std::size_t n = 0; n < room_.inputs.size(); ++n) {
      const model::Input& input = room_.inputs[n];
      if (input.kind != model::InputKind::scale || input.division <= 0) continue;
      if (!saying_.scale.empty() && input.name != saying_.scale) continue;
      scale(static_cast<model::InputId>(n));
    }
    return out_;
  }
  bool undecided() const { return undecided_; }

 private:
  static std::string counted(std::size_t n, const std::string& noun) {
    return fmt::format("{} {}{}", n, noun, n == 1 ? "" : "s");
  }

  std::uint32_t line(Span span) const { return static_cast<std::uint32_t>(sources_.position(span).line); }

  void scale(model::InputId id) {
    static const char* const kClasses[] = {"", ", class I", ", class II", ", class III", ", class IIII"};
    const model::Input& input = room_.inputs[model::index(id)];
    out_ += fmt::format("\n{}: to {} in steps of {}{}; empty below {}; settles in {}\n", input.name,
                        mass(input.to), mass(input.division), kClasses[input.accuracy_class],
                        mass(input.empty_below), time(input.steady_ms));
    if (input.rests)
      out_ += fmt::format("  {} lives on the pan, which leaves {}\n", mass(*input.rests),
                          mass(times_up(most_shown(input), input.division)));
    errors(input);
    for (const Place& place : weighed_.places())
      if (place.scale == id) window(place);
  }

  /// The scale's own error, a piece for each load from which it is another.
  void errors(const model::Input& input) {
    std::string pieces;
    std::int64_t from = 0;
    const std::int64_t most = most_shown(input);
    const auto at = [&](std::int64_t load) {
      return own_error(input, times_up(load, input.division)).total_pg();
    };
    while (from <= most) {
      // The last load of the same error; the table has three pieces.
      std::int64_t good = from, bad = most + 1;
      while (bad - good > 1) {
        const std::int64_t middle = good + (bad - good) / 2;
        (at(middle) == at(from) ? good : bad) = middle;
      }
      pieces += fmt::format("{}{} to {}", pieces.empty() ? "" : ", ", mass(at(from)),
                            mass(times_up(good, input.division)));
      from = good + 1;
    }
    out_ += input.accuracy_class == 0 && at(0) == 0
                ? "  own error not stated: no class, drift or repeats\n"
                : fmt::format("  own error either way: {}; a settled reading may be {} more behind\n", pieces,
                              mass(input.division));
  }

  void window(const Place& place) {
    const model::Window& window = weighed_.window(place);
    const model::Input& input = weighed_.scale(place);
    const model::Prop& prop = room_.props[model::index(place.prop)];
    out_ += fmt::format("\n  {} of {}, line {}: ", window.name, prop.name, line(window.span));
    if (place.low > place.high) {
      out_ += "nothing that the scale can show\n";
      return;
    }
    const std::string low = window.low ? mass(times_up(place.low, input.division)) : "anything";
    out_ += fmt::format("{} to {}", low, mass(times_up(place.high, input.division)));
    if (place.intended) {
      out_ += ", means " + weighed_.words(*place.intended);
      if (place.further_pg != 0) out_ += " and " + mass(place.further_pg) + " more";
    }
    out_ += "\n";
    landed(place);
    if (place.intended && place.enough) chance(place);
    if (place.intended && place.enough && place.further_pg == 0) nearest(place);
    if (place.intended && place.enough) way(place);
    rules(place);
  }

  void landed(const Place& place) {
    const Counts counts = weighed_.sets().count(place.band);
    if (!counts.surely || !counts.nominally || !counts.possibly) {
      undecided_ = true;
      if (!counts.surely && !counts.nominally && !counts.possibly) {
        out_ += "    not decided: too many different sums to go through\n";
        return;
      }
    }
    if (counts.possibly == Count(0)) {
      out_ += "    no set lands\n";
    } else {
      const auto said = [](const std::optional<Count>& count) {
        return count ? count->str() : "not decided";
      };
      out_ += fmt::format("    {} surely, {} as written, {} possibly\n",
                          counts.surely ? sets(*counts.surely) : "not decided", said(counts.nominally),
                          said(counts.possibly));
    }
    const bool targeted = place.intended.has_value();
    if (saying_.which == Which::minimal && !targeted && !place.bounded) return;  // everything heavy, or light
    const auto landings = weighed_.landings(place, saying_.which, saying_.most);
    Columns columns;
    for (std::size_t n = 0; n < landings.sets.size(); ++n)
      columns.add(row(place, landings.sets[n], n < kMostChances));
    out_ += columns.text(6);
    if (!landings.whole)
      out_ +=
          fmt::format("      and more: the list stops at {}, the counts are exact{}\n", landings.sets.size(),
                      landings.sets.size() == saying_.most ? "; --most N lists more" : "");
    if (saying_.which == Which::minimal && counts.possibly &&
        Count(landings.sets.size()) < *counts.possibly && landings.whole)
      out_ += fmt::format("      {} with nothing to spare; the others hold one of them and more\n",
                          counted(landings.sets.size(), "set"));
  }

  std::vector<std::string> row(const Place& place, const Landing& landing, bool with_chance) {
    static const char* const kGrades[] = {"surely", "as written", "possibly", "by the scale's error", "not"};
    static const char* const kKin[] = {"meant", "meant, and more", "a part of it", "not meant"};
    std::string kin;
    if (place.intended) kin = kKin[static_cast<int>(weighed_.kinship(place, landing.parts))];
    std::string how = kGrades[static_cast<int>(landing.grade)];
    if (with_chance && (landing.grade == Grade::nominally || landing.grade == Grade::possibly))
      how += fmt::format(", in {} of 100 rooms", chance_words(place, landing.parts));
    return {weighed_.words(landing.parts), weight(landing.load), margin(place, landing),
            how + (kin.empty() ? "" : "; " + kin)};
  }

  /// "33 g to the edge: 33 steps, 16.5 times the error".
  std::string margin(const Place& place, const Landing& landing) {
    const std::int64_t division = weighed_.scale(place).division;
    const std::int64_t error = weighed_.error(place).total_pg();
    const std::int64_t margin = landing.margin_pg;
    const std::int64_t shown_margin = margin < 0 ? -margin : margin;
    // To a hundredth of a step: what is finer, nobody weighs.
    const std::int64_t fine = std::max<std::int64_t>(division / 100, 1);
    std::string words =
        fmt::format("{} {}: {} steps", mass((shown_margin + fine / 2) / fine * fine),
                    margin < 0 ? "over the edge" : "to the edge", tenths(shown_margin, division));
    if (error > 0) words += fmt::format(", {} times the error", tenths(shown_margin, error));
    return words;
  }

  /// a / b to the nearest tenth.
  static std::string tenths(std::int64_t a, std::int64_t b) {
    const auto whole =
        static_cast<std::int64_t>((static_cast<__int128>(a) * 20 + b) / (static_cast<__int128>(b) * 2));
    return whole % 10 == 0 ? fmt::format("{}", whole / 10) : fmt::format("{}.{}", whole / 10, whole % 10);
  }

  void chance(const Place& place) {
    if (weighed_.landing(place, *place.intended).grade == Grade::surely) return;
    out_ += fmt::format("    by the spread of its masses it lands in {} of 100 rooms\n",
                        chance_words(place, *place.intended));
  }

  std::string chance_words(const Place& place, const Parts& parts) const {
    const double of_100 = 100 * weigh::chance(weighed_, place, parts);
    if (of_100 > 0 && of_100 < 0.005) return "less than 0.01";
    if (of_100 < 100 && of_100 >= 99.995) return "more than 99.99";
    return fmt::format("{:.2f}", of_100);
  }

  /// The sets beside the window, to either side.
  void nearest(const Place& place) {
    // Widened until something is found, and narrowed again where that is more than can be gone through.
    const auto beside = [&](bool above) -> const Landing* {
      constexpr std::size_t kMostLooked = 500;
      std::int64_t none = 0, some = 0;
      for (std::int64_t reach = weighed_.scale(place).division; reach < weighed_.sets().most_pg() / 2;
           reach = some == 0 ? times_up(reach, 2) : none + (some - none) / 2) {
        if (some != 0 && some - none < 2) return nullptr;
        const Band side = above ? Band{place.band.high_pg + 1, add_up(place.band.high_pg, reach)}
                                : Band{place.band.low_pg - reach, place.band.low_pg - 1};
        const auto count = weighed_.sets().possibly(side);
        if (!count) return nullptr;
        if (*count == 0) {
          none = reach;
          continue;
        }
        Listing listing = weighed_.sets().list(side, Which::all, kMostLooked);
        found_.clear();
        for (Parts& parts : listing.sets) {
          Landing landing = weighed_.landing(place, std::move(parts));
          if (landing.grade >= Grade::near) found_.push_back(std::move(landing));
        }
        if (!found_.empty() && listing.whole)
          return &*std::max_element(found_.begin(), found_.end(), [](const Landing& a, const Landing& b) {
            return a.margin_pg < b.margin_pg;
          });
        (listing.whole ? none : some) = reach;
      }
      return nullptr;
    };
    Columns columns;
    for (const bool above : {false, true}) {
      const Landing* const landing = beside(above);
      if (landing != nullptr)
        columns.add({above ? "next above" : "next below", weighed_.words(landing->parts),
                     weight(landing->load), margin(place, *landing)});
    }
    out_ += columns.text(4);
  }

  void way(const Place& place) {
    const std::int64_t things =
        std::accumulate(place.intended->begin(), place.intended->end(), std::int64_t{0});
    if (things < 2) return;
    for (const Place& passed : weighed_.places()) {
      if (passed.scale != place.scale || passed.low > passed.high) continue;
      const auto orders = orders_through(weighed_, *place.intended, passed);
      if (!orders) {
        undecided_ = true;
        out_ += "    on the way: not decided, too many parts\n";
        return;
      }
      if (orders->through == 0) continue;
      out_ += fmt::format("    on the way: {} of {} orders pass through {}, with {} for instance{}\n",
                          orders->through.str(), orders->all.str(), weighed_.window(passed).name,
                          weighed_.words(orders->first),
                          orders->through < orders->all ? ""
                          : orders->leapt               ? "; two at once may leap over it"
                                                        : "; placed by twos too");
    }
  }

  void rules(const Place& place) {
    for (const RuleAt& at : rules_of(room_, place)) {
      const model::Rule& rule = rule_at(room_, at);
      const model::Prop& prop = room_.props[model::index(at.prop)];
      const std::string does =
          rule.target ? "moves to " + prop.states[model::index(*rule.target)].name : "acts";
      out_ += fmt::format("    line {} {} once it has been so for {}{}\n", line(rule.span), does,
                          time(answer_ms(room_, rule)),
                          by_hand_alone(rule.condition) ? ": a hand that holds still can do it alone" : "");
    }
  }

  WeighedRoom& weighed_;
  const model::Room& room_;
  const SourceSet& sources_;
  const Saying& saying_;
  std::vector<Landing> found_;
  std::string out_;
  bool undecided_ = false;
};

}  // namespace

Said said(WeighedRoom& weighed, const SourceSet& sources, const Saying& saying) {
  Page page(weighed, sources, saying);
  Said result{page.text(), false};
  result.undecided = page.undecided();
  return result;
}

Proposal proposed(WeighedRoom& weighed, const SourceSet& sources) {
  Proposal proposal;
  std::string& out = proposal.text;
  for (const Place& place : weighed.places()) {
    if (!place.intended || place.further_pg != 0) continue;
    const model::Window& window = weighed.window(place);
    const model::Input& scale = weighed.scale(place);
    const Position at = sources.position(window.span);
    out += fmt::format("# In {}, {} line {}.\n", weighed.room().props[model::index(place.prop)].name,
                       shown_safely(sources.name(window.span.file)), at.line);
    if (!place.enough) {
      out += "# There are not as many things as the target asks for.\n";
      ++proposal.not_found;
      continue;
    }
    const Fit fit = weigh::fit(weighed, place);
    const auto steps = [&](std::int64_t n) { return mass(times_up(n, scale.division)); };
    if (!fit.decided) {
      out += "# Not decided: too many different sums to go through.\n";
      ++proposal.undecided;
    } else if (fit.found()) {
      out += fmt::format("# {} needs ± {} and is alone up to ± {}. Hold it `for {}`.\n",
                         weighed.words(*place.intended), steps(fit.needed), steps(fit.widest),
                         time(proposed_hold_ms(weighed, place)));
      out += written(weighed, place, fit.widest) + "\n";
      ++proposal.found;
    } else {
      ++proposal.not_found;
      out += fmt::format("# {} needs ± {}, and no tolerance is as wide and its own:\n",
                         weighed.words(*place.intended), steps(fit.needed));
      if (fit.too_heavy) out += fmt::format("#   it is heavier than {} can show.\n", scale.name);
      if (fit.too_light) out += fmt::format("#   it is under the least load of {}.\n", scale.name);
      if (fit.crowded) out += "#   a neighbouring window, or the bare pan, is too close.\n";
      for (std::size_t n = 0; n < fit.in_the_way.size() && n < 5; ++n)
        out += fmt::format("#   {} weighs {}.\n", weighed.words(fit.in_the_way[n].parts),
                           weight(fit.in_the_way[n].load));
      for (const Change& change : changes(weighed, place, fit, 3)) {
        const model::Thing& thing = weighed.room().things[model::index(weighed.things()[change.kind])];
        out += fmt::format("# Make {} {} {}: thing {} {}.\n", thing.name,
                           mass(change.by_pg < 0 ? -change.by_pg : change.by_pg),
                           change.by_pg < 0 ? "lighter" : "heavier", thing.name,
                           mass(*thing.mass_pg + change.by_pg));
      }
    }
  }
  if (out.empty()) out = "# No window of this room means things.\n";
  return proposal;
}

}  // namespace lw::weigh
