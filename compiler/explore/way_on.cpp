// See way_on.hpp.
#include "explore/way_on.hpp"

#include <algorithm>
#include <utility>

namespace lw::explore {

namespace {

/// Nobody resets, ends or overrides, and nothing more is lost (10.2).
bool is_kindly(const Location&, const Outcome& outcome) { return !outcome.resets && !outcome.loses; }

}  // namespace

WayOn::Is WayOn::look(const std::string& state, const std::vector<Stands>& stands, std::int64_t scans,
                      std::optional<Playthrough>* way) {
  if (is_so_ && space_.is_so(state, 0)) {
    if (way) way->emplace();
    return Is::open;
  }
  // Most often a way on is found at once, slow enough as it is. Where there is none though inputs may change
  // in any scan, there is none.
  for (const bool held : {false, true}) {
    Space& space = held ? held_ : space_;
    Search search(space, most_);
    std::optional<std::pair<std::uint32_t, std::uint32_t>> found;
    const Search::End end = search.run(search.start_of(held ? held_.stood(state, stands) : state), is_kindly,
                                       [&](std::uint32_t node, std::uint32_t k) {
                                         const Location& at = space.at(search.nodes()[node].location);
                                         if (done_(at, at.outcomes[k])) found.emplace(node, k);
                                         return found.has_value();
                                       });
    states_ += search.stored();
    if (!found && (end == Search::End::full || space.overflowed())) {
      if (held) return Is::unknown;
      continue;
    }
    if (!found) return space.slower() ? looked_wider(state, stands) : Is::closed;
    // Whether a scale can do what it does there only its values can tell.
    if (!held && held_.slower()) continue;
    // Held back is slow enough.
    if (held && !way) return Is::open;
    Way on = way_of(search, found->first, found->second);
    on.stands = stands;
    on.scans = scans;
    auto scheduled = schedule(space, on);
    if (scheduled && way) *way = std::move(scheduled->play);
    if (scheduled) return Is::open;
    if (held) return Is::unknown;
  }
  return Is::unknown;
}

/// Whether there is none with scales that move in any scan either.
WayOn::Is WayOn::looked_wider(const std::string& state, const std::vector<Stands>& stands) {
  if (!wider_) return Is::unknown;
  Search search(*wider_, most_);
  const Search::End end = search.run(search.start_of(wider_->stood(state, stands)), is_kindly,
                                     [&](std::uint32_t node, std::uint32_t k) {
                                       const Location& at = wider_->at(search.nodes()[node].location);
                                       return done_(at, at.outcomes[k]);
                                     });
  states_ += search.stored();
  return end == Search::End::complete && !wider_->overflowed() ? Is::closed : Is::unknown;
}

namespace {

struct Point {
  LocationId location = 0;
  Zone zone;  // of one point
};

/// Along a way that was scheduled, every clock known.
class Along {
 public:
  Along(Space& space, const Way& way, const Scheduled& scheduled) : space_(space), scheduled_(scheduled) {
    Point now;
    now.location = way.from;
    for (const Count value : way.values) now.zone.add(value);
    entered_.push_back(now);
    for (std::size_t n = 0; n < way.steps.size(); ++n) {
      const Zone waited = later(entered_[n].zone, scheduled.scans[n] - 1 - entry(n));
      Point next;
      bool found = false;
      Search(space, 0).follow(way.steps[n].location, waited, way.steps[n].outcome,
                              [&](LocationId to, Zone&& zone) {
                                next = {to, std::move(zone)};
                                found = true;
                              });
      // The way's next location, else the times do not go with it.
      const std::optional<LocationId> expected =
          n + 1 < way.steps.size() ? std::optional<LocationId>(way.steps[n + 1].location) : way.to;
      holds_ = holds_ && found && (!expected || next.location == *expected);
      if (!holds_) return;
      entered_.push_back(std::move(next));
    }
  }

  /// Whether the times go with the way.
  bool holds() const { return holds_; }
  std::size_t places() const { return entered_.size(); }
  /// The scan by which the place was entered.
  std::int64_t entry(std::size_t place) const { return place == 0 ? 0 : scheduled_.scans[place - 1]; }

  /// As it is visible in a scan while the place lasts.
  std::string state(std::size_t place, std::int64_t scan) const {
    const Point& point = entered_[place];
    const Location& location = space_.at(point.location);
    const Zone now = later(point.zone, scan - entry(place));
    std::string state = location.state;
    for (std::size_t k = 0; k < location.clocks.size(); ++k)
      space_.set(state, location.clocks[k], now.least(k));
    return state;
  }
  std::vector<Stands> stands(std::int64_t scan) const {
    std::vector<const Source*> sources;
    for (std::size_t c = 0; c < space_.slice().parts.size(); ++c)
      for (const Source& source : space_.sources(c)) sources.push_back(&source);
    std::vector<Stands> stands(sources.size(), Stands{kUnread, scan});
    for (const Scheduled::Change& change : scheduled_.changes) {
      if (change.scan > scan) continue;
      Stands& now = stands[change.seat];
      const std::vector<Choice>& choices = sources[change.seat]->choices;
      // A scale's value goes on standing while it moves.
      const bool goes_on = now.choice < choices.size() && change.choice < choices.size() &&
                           moves_alone(choices[now.choice], choices[change.choice]);
      now = {change.choice, goes_on ? now.scans : scan - change.scan};
    }
    return stands;
  }
  /// The playthrough up to that scan.
  Playthrough until(std::int64_t scan) const {
    Playthrough play = scheduled_.play;
    const std::int64_t until_ms = scheduled_.at_ms(scan);
    // Where it is read that a scale moves it has begun to before it settles.
    const auto begins_ms = [&](const Happening& happening) {
      std::int64_t at_ms = happening.at_ms;
      if (happening.kind != Happening::Kind::input) return at_ms;
      for (const Source& source : space_.sources(happening.controller)) {
        if (source.peer >= 0 || source.prop >= 0 || source.input != happening.input || !source.moves)
          continue;
        const rows::Table& rows = space_.slice().parts[happening.controller].rows;
        at_ms -= static_cast<std::int64_t>(rows.inputs[source.input].steady) * rows.scan_ms;
      }
      return at_ms;
    };
    play.happenings.erase(
        std::remove_if(play.happenings.begin(), play.happenings.end(),
                       [&](const Happening& happening) { return begins_ms(happening) > until_ms; }),
        play.happenings.end());
    for (Happening& happening : play.happenings)
      if (happening.kind == Happening::Kind::moves)
        happening.takes_ms = std::min(happening.takes_ms, until_ms + 1 - happening.at_ms);
    play.until_ms = std::max<std::int64_t>(until_ms, 0);
    return play;
  }

 private:
  static Zone later(const Zone& zone, std::int64_t scans) {
    Zone moved;
    for (std::size_t k = 0; k < zone.clocks(); ++k) moved.add(zone.least(k) + static_cast<Count>(scans));
    return moved;
  }

  Space& space_;
  const Scheduled& scheduled_;
  std::vector<Point> entered_;
  bool holds_ = true;
};

}  // namespace

std::optional<Closed> closed_by(Space& space, WayOn& way_on, const Way& way, const Scheduled& scheduled) {
  const Along along(space, way, scheduled);
  if (!along.holds()) return std::nullopt;
  std::optional<Playthrough> on;
  const auto look = [&](std::size_t place, std::int64_t scan) {
    on.reset();
    return way_on.look(along.state(place, scan), along.stands(scan), scan, &on);
  };
  std::size_t place = along.places() - 1;
  std::int64_t lost = scheduled.end;  // the first scan known to be too late, in `place`
  if (look(place, lost) != WayOn::Is::closed) return std::nullopt;
  const auto closed = [&](std::optional<std::int64_t> open) {
    Closed found;
    found.play = along.until(lost);
    found.state = along.state(place, lost);
    found.whole = along.until(scheduled.end);
    found.at_end = along.state(along.places() - 1, scheduled.end);
    if (!open || !on) return found;
    LastMoment last;
    last.at_ms = scheduled.at_ms(*open);
    last.way_on = along.until(*open);
    last.way_on.happenings.insert(last.way_on.happenings.end(), on->happenings.begin(), on->happenings.end());
    last.way_on.until_ms = std::max(last.way_on.until_ms, on->until_ms);
    found.last = std::move(last);
    return found;
  };
  for (;;) {
    if (lost != along.entry(place)) {
      // Time alone may have closed it.
      switch (look(place, along.entry(place))) {
        case WayOn::Is::unknown:
          return closed(std::nullopt);
        case WayOn::Is::closed:
          break;
        case WayOn::Is::open: {
          std::int64_t open = along.entry(place);
          while (lost - open > 1) {
            const std::int64_t middle = open + (lost - open) / 2;
            const WayOn::Is is = look(place, middle);
            if (is == WayOn::Is::unknown) return closed(std::nullopt);
            (is == WayOn::Is::open ? open : lost) = middle;
          }
          look(place, open);
          return closed(open);
        }
      }
      lost = along.entry(place);
    }
    if (place == 0) {
      Closed found = closed(std::nullopt);
      found.from_start = true;
      return found;
    }
    // Just before the step by which the place was entered; then, were it too late, when the one before was.
    const std::int64_t before = along.entry(place) - 1;
    switch (look(place - 1, before)) {
      case WayOn::Is::open:
        return closed(before);
      case WayOn::Is::unknown:
        return closed(std::nullopt);
      case WayOn::Is::closed:
        break;
    }
    --place;
    lost = before;
  }
}

}  // namespace lw::explore
