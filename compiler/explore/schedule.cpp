// See schedule.hpp.
#include "explore/schedule.hpp"

#include <algorithm>
#include <map>
#include <optional>

namespace lw::explore {

namespace {

/// Unknown ticks, and what is known of their differences.
class Times {
 public:
  explicit Times(std::int64_t round) : round_(round) {}
  /// `rest`: of its division by the round; -1 any.
  std::size_t add(std::int64_t rest = -1) {
    earliest_.push_back(0);
    rests_.push_back(rest < 0 ? -1 : rest % round_);
    return earliest_.size() - 1;
  }
  void at_least(std::size_t later, std::size_t earlier, std::int64_t by) {
    bounds_.push_back({later, earlier, by});
  }
  std::size_t bounds() const { return bounds_.size(); }
  void forget_from(std::size_t bound) { bounds_.resize(bound); }
  /// The least solution; false when there is none.
  bool solve() {
    std::fill(earliest_.begin(), earliest_.end(), 0);
    for (std::size_t round = 0; round <= earliest_.size() + 1; ++round) {
      bool changed = false;
      for (const Bound& bound : bounds_) {
        std::int64_t need = earliest_[bound.earlier] + bound.by;
        const std::int64_t rest = rests_[bound.later];
        if (rest >= 0) need += ((rest - need) % round_ + round_) % round_;
        if (earliest_[bound.later] >= need) continue;
        if (bound.later == 0) return false;  // before power came
        earliest_[bound.later] = need;
        changed = true;
      }
      if (!changed) return true;
    }
    return false;
  }
  std::int64_t operator[](std::size_t n) const { return earliest_[n]; }

 private:
  struct Bound {
    std::size_t later = 0, earlier = 0;
    std::int64_t by = 0;
  };
  std::int64_t round_;
  std::vector<std::int64_t> earliest_, rests_;
  std::vector<Bound> bounds_;
};

struct Known {  // a clock: its value after the scan `since`
  std::size_t since = 0;
  Count value = 0;
};

/// An input as it stands, and the scan in which it last changed.
struct Standing {
  std::uint8_t choice = kUnread;
  std::size_t since = 0;
  bool changed = false;
};

class Scheduling {
 public:
  using Picks = std::map<std::pair<LocationId, std::size_t>, std::vector<Pick>>;

  /// `waits`: a bit for each location, in order, in which to wait takes other inputs than those that led to
  /// it: whether to. `ahead`: inputs are chosen by what comes after them too.
  Scheduling(Space& space, Picks& picks, std::uint32_t waits, bool ahead)
      : space_(space), picks_(picks), waits_(waits), ahead_(ahead), times_(space.slice().round_ticks()) {
    for (std::size_t c = 0; c < space.slice().parts.size(); ++c)
      for (std::size_t n = 0; n < space.sources(c).size(); ++n) seats_.emplace_back(c, n);
    standing_.resize(seats_.size());
  }

  /// How many such locations the way has.
  std::uint32_t choices() const { return choices_; }

  /// The change that made the last run fail, where one did by itself.
  const std::optional<TooFast>& too_fast() const { return too_fast_; }

  std::optional<Scheduled> run(const Way& way) {
    times_.add();
    // The scan in which the way begins; all of it counts from power-up.
    const std::size_t start = way.scans == 0 ? 0 : times_.add();
    times_.at_least(start, 0, way.scans);
    times_.at_least(0, start, -way.scans);
    start_ = start;
    known_.assign(space_.clocks(), {start, 0});
    const Location& first = space_.at(way.from);
    for (std::size_t clock = 0; clock < space_.clocks(); ++clock)
      known_[clock].value = space_.value(first.state, clock);
    for (std::size_t k = 0; k < first.clocks.size(); ++k) known_[first.clocks[k]].value = way.values[k];
    begins_ = way.stands;
    for (std::size_t seat = 0; seat < way.stands.size(); ++seat)
      standing_[seat].choice = way.stands[seat].choice;
    std::size_t before = start;  // the scan by which the present location was entered
    std::vector<std::size_t> scans;
    for (std::size_t n = 0; n < way.steps.size(); ++n) {
      const Way::Step& step = way.steps[n];
      step_ = n;
      scans.push_back(before = this->step(step.location, step.outcome, before,
                                          n + 1 < way.steps.size() ? &way.steps[n + 1] : nullptr));
    }
    if (way.to) arrive(space_.at(*way.to), before);
    if (way.ends) {
      // Exactly at these values.
      const Location& last = space_.at(*way.to);
      for (std::size_t k = 0; k < last.clocks.size(); ++k) {
        const Known& known = known_[last.clocks[k]];
        if (known.since == before) continue;
        times_.at_least(before, known.since, (*way.ends)[k] - known.value);
        times_.at_least(known.since, before, known.value - (*way.ends)[k]);
      }
    }
    if (nobody_does_) return std::nullopt;
    const std::size_t bounds = times_.bounds();
    for (std::size_t k = 0; k < changes_.size(); ++k) dwell(k);
    if (!times_.solve()) {
      times_.forget_from(bounds);
      if (!times_.solve()) return std::nullopt;
      for (std::size_t k = 0; k < changes_.size() && !too_fast_; ++k) {
        dwell(k);
        if (!times_.solve()) too_fast_ = TooFast{changes_[k].step, changes_[k].seat, changes_[k].choice};
      }
      return std::nullopt;
    }
    // What is heard of inputs elsewhere changes no faster than they do, where the way leaves room for that.
    const std::size_t own = times_.bounds();
    for (std::size_t k = 0; k < changes_.size(); ++k) dwell_elsewhere(k);
    if (times_.bounds() != own && !times_.solve()) {
      times_.forget_from(own);
      times_.solve();
    }
    Scheduled done;
    done.play = told(before);
    for (const std::size_t scan : scans) done.scans.push_back(times_[scan]);
    done.end = times_[before];
    for (const Change& change : changes_)
      done.changes.push_back(
          {times_[change.scan], change.seat, change.momentary ? std::uint8_t{0} : change.choice});
    std::stable_sort(done.changes.begin(), done.changes.end(),
                     [](const Scheduled::Change& a, const Scheduled::Change& b) { return a.scan < b.scan; });
    done.scan_ms = space_.slice().unit_ms();
    return done;
  }

 private:
  struct Change {
    std::size_t scan = 0;
    std::size_t seat = 0;
    std::uint8_t choice = 0;
    bool momentary = false;
    std::size_t step = 0;                // of the way
    std::optional<std::size_t> heard{};  // the scan in which a session was last heard to begin
  };
  struct Asked {
    std::size_t scan = 0;
    Happening happening;
    std::int64_t later = 0;  // ticks after the scan
  };

  const Source& source(std::size_t seat) const {
    return space_.sources(seats_[seat].first)[seats_[seat].second];
  }
  const Choice& choice(std::size_t seat, std::uint8_t k) const { return source(seat).choices[k]; }
  bool momentary(std::size_t seat, std::uint8_t k) const {
    return source(seat).prop < 0 && (choice(seat, k).pressed || !choice(seat, k).keys.empty());
  }

  std::int64_t difference(const Pick& pick) const {
    std::int64_t sum = 0;
    for (std::size_t seat = 0; seat < seats_.size(); ++seat) {
      const std::uint8_t k = pick.choices[seat];
      if (k == kUnread || k == kUnknown) continue;
      const std::uint8_t stands = standing_[seat].choice;
      if (momentary(seat, k)) {
        sum += 2;
      } else if (k != stands) {
        if (choice(seat, k).lost) sum += 20;
        sum += stands == kUnread ? (k == 0 ? 0 : 1) : 2;
      }
    }
    return sum;
  }

  const std::vector<Pick>& picks(LocationId id, std::size_t outcome) {
    std::vector<Pick>& picks = picks_[{id, outcome}];
    if (picks.empty()) picks = space_.picks(id, outcome, 4'000);
    if (picks.empty()) picks.push_back(space_.worked_out(id).outcomes[outcome].pick);
    return picks;
  }

  /// How many inputs change from one to the other.
  std::int64_t difference(const Pick& from, const Pick& to) const {
    std::int64_t sum = 0;
    for (std::size_t seat = 0; seat < seats_.size(); ++seat) {
      const std::uint8_t a = from.choices[seat], b = to.choices[seat];
      if (a == kUnread || a == kUnknown || b == kUnread || b == kUnknown) continue;
      if (a != b || momentary(seat, a)) sum += 2;
    }
    return sum;
  }

  /// `next`: what follows, where that is looked at.
  Pick nearest(LocationId id, std::size_t outcome, const Way::Step* next) {
    constexpr std::size_t kMostPairs = 100'000;
    const std::vector<Pick>& all = picks(id, outcome);
    const std::vector<Pick>* later = nullptr;
    if (next && ahead_) {
      const int stay = space_.worked_out(next->location).stay;
      later = &picks(next->location, stay >= 0 ? static_cast<std::size_t>(stay) : next->outcome);
      if (later->size() * all.size() > kMostPairs) later = nullptr;
    }
    const Pick* best = nullptr;
    std::int64_t least = 0;
    for (const Pick& pick : all) {
      std::int64_t sum = difference(pick);
      if (later) {
        std::int64_t after = difference(pick, later->front());
        for (const Pick& one : *later) after = std::min(after, difference(pick, one));
        sum += after;
      }
      if (best && sum >= least) continue;
      best = &pick;
      least = sum;
    }
    return *best;
  }

  void use(const Pick& pick, std::size_t scan) {
    for (std::size_t c = 0; c < pick.commands.size(); ++c) {
      if (pick.commands[c] & (kRestart | kNoPower)) fails(c, pick.commands[c], scan);
      if (pick.commands[c] & kHeard) heard_[c] = scan;
    }
    for (std::size_t seat = 0; seat < seats_.size(); ++seat) {
      const std::uint8_t k = pick.choices[seat];
      if (k == kUnread || k == kUnknown) continue;
      Standing& standing = standing_[seat];
      // Where devices are not lost, a signal is with its link, and that a peer is with all of them.
      const Freedoms& freedoms = space_.slice().freedoms;
      if (choice(seat, k).lost && !(source(seat).silence ? freedoms.cut : freedoms.losses))
        nobody_does_ = true;
      if (momentary(seat, k)) {
        changes_.push_back({scan, seat, k, true, step_});
        standing.choice = 0;
      } else if (k != standing.choice) {
        changes_.push_back({scan, seat, k, false, step_});
        const auto heard = heard_.find(seats_[seat].first);
        if (heard != heard_.end()) changes_.back().heard = heard->second;
        standing.choice = k;
      }
    }
    for (std::size_t c = 0; c < pick.commands.size(); ++c) {
      const auto ask = [&](Happening::Kind kind, std::uint8_t prop) {
        Happening happening;
        happening.kind = kind;
        happening.controller =
            kind == Happening::Kind::start ? std::uint8_t{0} : static_cast<std::uint8_t>(c);
        happening.prop = prop;
        asked_.push_back({scan, happening});
      };
      const bool operator_ = space_.slice().freedoms.operator_;
      // A newer epoch is the operator's, or comes of the first controller's restart.
      if (pick.commands[c] & kResetHeard) {
        if (operator_)
          ask(Happening::Kind::reset, 0);
        else if (space_.slice().freedoms.restart && c != 0)
          fails(0, kRestart, scan);
        else
          nobody_does_ = true;
      }
      if (pick.commands[c] & (kReset | kResetHeard)) begun_ = false;
      // A session that is heard to start was started where it is kept; whoever was away hears of it once
      // more.
      const bool by_itself = space_.slice().parts[0].rows.session.starts == rows::StartKind::itself;
      const bool heard = (pick.commands[c] & kHeard) && !by_itself && !(space_.slice().parted && begun_);
      if ((pick.commands[c] & kStart) || heard) {
        ask(Happening::Kind::start, 0);
        begun_ = true;
      }
      // Of a part that leaves out what else ends the session, the operator's end stands for all of it.
      if ((pick.commands[c] & (kEnd | kEndHeard)) && !operator_) nobody_does_ = true;
      if (pick.commands[c] & (kEnd | kEndHeard)) ask(Happening::Kind::end, 0);
      if (pick.commands[c] & kReset) ask(Happening::Kind::reset, 0);
      if (pick.overrides[c])
        ask(Happening::Kind::override_, static_cast<std::uint8_t>(pick.overrides[c] - 1));
    }
  }

  /// A controller's power is gone; its inputs are known anew. Where it is still gone in the scan itself, it
  /// is so once more before the next.
  void fails(std::size_t c, std::uint8_t how, std::size_t scan) {
    Happening happening;
    happening.kind = Happening::Kind::restart;
    happening.controller = static_cast<std::uint8_t>(c);
    asked_.push_back({scan, happening});
    if (how & kNoPower) asked_.push_back({scan, happening, 1});
    if (c == 0) begun_ = false;
    for (std::size_t seat = 0; seat < seats_.size(); ++seat) {
      if (seats_[seat].first != c || is_elsewhere(seat) ||
          source(seat).kind == rows::InputKind::operator_button)
        continue;
      standing_[seat].choice = kUnknown;
      changes_.push_back({scan, seat, kUnknown, false, step_});
    }
  }

  /// Clocks that moved on into an interval of one value, or of no end, fix the scan.
  void arrive(const Location& location, std::size_t scan) {
    std::size_t wide = 0;
    for (std::size_t clock = 0; clock < space_.clocks(); ++clock) {
      Known& known = known_[clock];
      const bool open = wide < location.clocks.size() && location.clocks[wide] == clock;
      const Interval interval =
          open ? location.intervals[wide]
               : space_.interval(location.state, clock, space_.value(location.state, clock));
      if (open) ++wide;
      if (known.since == scan) continue;
      times_.at_least(scan, known.since, interval.low - known.value);
      if (open) continue;
      if (!interval.last && !space_.stands(location.state, clock))
        times_.at_least(known.since, scan, known.value - interval.high);
      known = {scan, interval.low};
    }
  }

  /// Which messages were sent in the scan, and which that were under way were taken in it.
  void pass_on(const std::string& before, const std::string& after, const Pick& pick, std::size_t scan) {
    const std::vector<std::size_t> from = space_.under_way(before), to = space_.under_way(after);
    for (std::size_t line = 0; line < from.size(); ++line) {
      const std::size_t taken = pick.taken[line];
      for (std::size_t n = from[line]; n < to[line] + taken; ++n)
        messages_.push_back({line, scan, std::nullopt});
      std::size_t left = taken;
      for (Message& message : messages_)
        if (left != 0 && message.line == line && !message.taken) {
          message.taken = scan;
          --left;
        }
    }
  }

  /// From a location by an outcome; gives the scan of it.
  std::size_t step(LocationId id, std::uint32_t k, std::size_t before, const Way::Step* next) {
    const Location& location = space_.worked_out(id);
    arrive(location, before);
    std::size_t waits = before;
    bool at_once = location.stay < 0;
    if (location.stay >= 0) {
      const Pick stay = nearest(id, static_cast<std::size_t>(location.stay), nullptr);
      if (difference(stay) != 0) {
        at_once = choices_ >= 32 || !((waits_ >> choices_) & 1);
        ++choices_;
        if (!at_once) {
          // Waiting takes other inputs than those that led here: a scan of its own, the very next one.
          waits = times_.add();
          times_.at_least(waits, before, 1);
          times_.at_least(before, waits, -1);
          use(stay, waits);
        }
      }
    }
    // The first scan is number 1, and the first tick of the first round.
    const std::size_t scan = times_.add(space_.tick(location.state) + 1);
    times_.at_least(scan, waits, 1);
    if (at_once) times_.at_least(before, scan, -1);
    for (std::size_t n = 0; n < location.clocks.size(); ++n) {
      const Known& known = known_[location.clocks[n]];
      const Interval& interval = location.intervals[n];
      times_.at_least(known.since, scan, known.value - 1 - interval.high);
    }
    const Outcome& outcome = location.outcomes[k];
    const Pick pick = nearest(id, k, next);
    use(pick, scan);
    pass_on(location.state, outcome.post, pick, scan);
    std::size_t moved = 0;
    for (std::size_t clock = 0; clock < space_.clocks(); ++clock) {
      if (moved < outcome.moved.size() && outcome.moved[moved] == clock) {
        ++moved;
        continue;
      }
      // Where a clock stopped is between its interval's ends; the replay shows whether it matters.
      known_[clock] = {scan, space_.value(outcome.post, clock)};
    }
    return scan;
  }

  /// What is heard of others: when an input there must change is told, but not what a prop there does; the
  /// replay, which then lacks that, says so.
  bool is_elsewhere(std::size_t seat) const { return source(seat).peer >= 0 || source(seat).prop >= 0; }

  /// An input takes a new value only when it has stood for its debounce or settle time (2.1, 2.6).
  void dwell(std::size_t k) {
    const Change& change = changes_[k];
    if (change.choice == kUnknown) return;
    if (source(change.seat).silence) return silence(change);
    if (is_elsewhere(change.seat)) return;
    const rows::Input& row =
        space_.slice().parts[seats_[change.seat].first].rows.inputs[source(change.seat).input];
    const Change* earlier = nullptr;
    for (std::size_t n = 0; n < k; ++n)
      if (changes_[n].seat == change.seat) earlier = &changes_[n];
    const Choice& now = choice(change.seat, change.choice);
    const Stands* const stood =
        !earlier && change.seat < begins_.size() && begins_[change.seat].choice != kUnread
            ? &begins_[change.seat]
            : nullptr;
    if (!earlier && !stood) return;
    std::int64_t scans = static_cast<std::int64_t>(row.steady) + 1;
    // A scale begins to move in any scan; at rest again it has settled.
    const std::uint8_t before = earlier ? earlier->choice : stood->choice;
    if (now.moving && before != kUnknown && moves_alone(choice(change.seat, before), now)) scans = 1;
    if (now.pressed) scans = !earlier || earlier->momentary ? 2 * scans : 1;  // up, and down again
    if (now.lost) scans = std::max<std::int64_t>(row.lost_after, 1);
    // Of the first scan with power the value counts too.
    if (earlier && earlier->choice == kUnknown) --scans;
    if (!now.keys.empty()) scans *= 2 * static_cast<std::int64_t>(now.keys.size());
    scans *= space_.slice().ticks(seats_[change.seat].first);
    if (earlier)
      times_.at_least(change.scan, earlier->scan, scans);
    else
      times_.at_least(change.scan, start_, scans - stood->scans);
  }

  void dwell_elsewhere(std::size_t k) {
    const Change& change = changes_[k];
    const FarInput* const far = far_of(change.seat);
    if (!far || far->says.kind != rows::FactKind::input_in) return;
    const Change* earlier = nullptr;
    for (std::size_t n = 0; n < k; ++n) {
      const FarInput* const other = far_of(changes_[n].seat);
      if (other && other->says.kind == rows::FactKind::input_in && other->controller == far->controller &&
          other->says.a == far->says.a && changes_[n].scan != change.scan)
        earlier = &changes_[n];
    }
    if (!earlier) return;
    const rows::Input& row = space_.slice().parts[far->controller].rows.inputs[far->says.a];
    times_.at_least(change.scan, earlier->scan,
                    (static_cast<std::int64_t>(row.steady) + 1) * space_.slice().ticks(far->controller));
  }

  /// A peer is lost only after its silence.
  void silence(const Change& change) {
    if (!choice(change.seat, change.choice).lost) return;
    const Change* found = nullptr;
    for (const Change& other : changes_)
      if (&other != &change && other.seat == change.seat && &other < &change) found = &other;
    const std::size_t c = seats_[change.seat].first;
    const rows::Peer& peer =
        space_.slice().parts[c].rows.link.peers[static_cast<std::size_t>(source(change.seat).peer)];
    const std::int64_t ticks = std::int64_t{peer.lost_after} * space_.slice().ticks(c);
    times_.at_least(change.scan, found ? found->scan : start_, ticks);
    if (change.heard && peer.controller == 0) times_.at_least(change.scan, *change.heard, ticks);
  }

  /// A scale or a gauge that moves: where it comes to rest in another cell it moves on the way there anyway,
  /// for its settle time; else it is moved to its neighbouring cell. Where that is not enough it is kept from
  /// settling. `until_ms`: the end of the playthrough.
  void tell_moving(const Change& change, std::int64_t at_ms, std::int64_t until_ms, Playthrough& play) const {
    const Choice& moves = choice(change.seat, change.choice);
    const Change* next = nullptr;
    for (const Change& other : changes_)
      if (other.seat == change.seat && times_[other.scan] > times_[change.scan] &&
          (!next || times_[other.scan] < times_[next->scan]))
        next = &other;
    const bool goes_on = next && (next->choice == kUnknown || choice(next->seat, next->choice).lost ||
                                  choice(next->seat, next->choice).value != moves.value);
    const auto c = static_cast<std::uint8_t>(seats_[change.seat].first);
    const rows::Table& rows = space_.slice().parts[c].rows;
    const rows::Input& row = rows.inputs[source(change.seat).input];
    Happening happening;
    happening.kind = Happening::Kind::input;
    happening.controller = c;
    happening.input = source(change.seat).input;
    const std::int64_t steady_ms = static_cast<std::int64_t>(row.steady) * rows.scan_ms;
    const std::int64_t ends_ms =
        next ? at_ms + (times_[next->scan] - times_[change.scan]) * space_.slice().unit_ms() - steady_ms
             : until_ms + rows.scan_ms;
    if ((next && !goes_on) || ends_ms > at_ms + (next ? 0 : steady_ms) || row.edges.empty()) {
      happening.kind = Happening::Kind::moves;
      happening.value = moves.value;
      happening.at_ms = at_ms;
      happening.takes_ms = std::max<std::int64_t>(ends_ms - at_ms, 0);
      play.happenings.push_back(std::move(happening));
      return;
    }
    if (goes_on) return;
    happening.value = static_cast<std::uint8_t>(moves.value < row.edges.size() ? moves.value + 1
                                                : moves.value > 0              ? moves.value - 1
                                                                               : 0);
    happening.at_ms = at_ms + steady_ms;
    play.happenings.push_back(std::move(happening));
  }

  /// What is heard of an input elsewhere is brought about there: early enough for its message to have come,
  /// by a value that goes with all that is heard of it.
  template <class At>
  void tell_elsewhere(const At& at_ms, Playthrough& play) const {
    std::vector<const Change*> heard;
    for (const Change& change : changes_)
      if (source(change.seat).peer >= 0 && !source(change.seat).silence) heard.push_back(&change);
    std::stable_sort(heard.begin(), heard.end(),
                     [&](const Change* a, const Change* b) { return times_[a->scan] < times_[b->scan]; });
    std::map<std::pair<std::uint8_t, std::uint32_t>, std::vector<std::pair<const FarInput*, bool>>> known;
    for (std::size_t n = 0; n < heard.size(); ++n) {
      const FarInput* const far = far_of(heard[n]->seat);
      if (!far ||
          (far->says.kind != rows::FactKind::input_in && far->says.kind != rows::FactKind::input_lost))
        continue;
      const bool holds = choice(heard[n]->seat, heard[n]->choice).value != 0;
      auto& facts = known[{far->controller, far->says.a}];
      const auto same =
          std::find_if(facts.begin(), facts.end(), [&](const auto& one) { return one.first == far; });
      if (same == facts.end())
        facts.emplace_back(far, holds);
      else
        same->second = holds;
      // What else is heard of it in this scan comes first.
      const bool more = std::any_of(heard.begin() + static_cast<std::ptrdiff_t>(n) + 1, heard.end(),
                                    [&](const Change* other) {
                                      const FarInput* const of = far_of(other->seat);
                                      return of && times_[other->scan] == times_[heard[n]->scan] &&
                                             of->controller == far->controller && of->says.a == far->says.a;
                                    });
      if (more) continue;
      const rows::Table& rows = space_.slice().parts[far->controller].rows;
      const rows::Input& row = rows.inputs[far->says.a];
      Happening happening;
      happening.kind = Happening::Kind::input;
      happening.controller = far->controller;
      happening.input = static_cast<std::uint8_t>(far->says.a);
      bool found = false;
      for (const auto& [one, is] : facts)
        if (one->says.kind == rows::FactKind::input_lost && is) {
          happening.kind = Happening::Kind::lost;
          found = true;
        }
      for (unsigned value = 0; value <= top_value(rows, row) && !found; ++value) {
        found = std::all_of(facts.begin(), facts.end(), [&](const auto& one) {
          return one.first->says.kind != rows::FactKind::input_in ||
                 one.second == (value >= one.first->says.b && value <= one.first->says.c);
        });
        happening.value = static_cast<std::uint8_t>(value);
      }
      if (!found) continue;
      const std::int64_t ahead_ms = far->delay_ms + rows.scan_ms;
      const std::int64_t heard_ms = at_ms(heard[n]->scan);
      happening.at_ms = times_[heard[n]->scan] <= 1 ? 0 : std::max<std::int64_t>(heard_ms - ahead_ms, 0);
      play.happenings.push_back(std::move(happening));
    }
  }
  const FarInput* far_of(std::size_t seat) const {
    const Source& source = this->source(seat);
    if (source.peer < 0 || source.silence) return nullptr;
    for (const FarInput& far : space_.slice().parts[seats_[seat].first].far)
      if (far.peer == source.peer && far.bit == source.bit) return &far;
    return nullptr;
  }

  Playthrough told(std::size_t until) const {
    const auto& parts = space_.slice().parts;
    const std::int64_t scan_ms = space_.slice().unit_ms();
    std::int64_t known = 1;  // ticks until every input has its first value
    for (std::size_t c = 0; c < parts.size(); ++c)
      for (const rows::Input& input : parts[c].rows.inputs)
        known = std::max(
            known,
            (static_cast<std::int64_t>(input.steady) * parts[c].rows.scan_ms + scan_ms - 1) / scan_ms + 1);
    const std::int64_t round = space_.slice().round_ticks();
    known = (known - 1 + round - 1) / round * round + 1;  // when all controllers scan together
    const auto at_ms = [&](std::size_t scan) { return (known + times_[scan] - 2) * scan_ms; };
    Playthrough play;
    play.known_ms = (known - 1) * scan_ms;
    std::map<std::size_t, bool> lost;  // peers, by seat
    for (const Change& change : changes_) {
      if (change.choice == kUnknown) continue;
      if (source(change.seat).silence) {
        bool& is_lost = lost[change.seat];
        if (is_lost == choice(change.seat, change.choice).lost) continue;
        is_lost = !is_lost;
        Happening happening;
        happening.kind = is_lost ? Happening::Kind::silent : Happening::Kind::heard;
        happening.controller = static_cast<std::uint8_t>(seats_[change.seat].first);
        happening.peer = static_cast<std::uint8_t>(source(change.seat).peer);
        happening.at_ms = at_ms(change.scan);
        play.happenings.push_back(std::move(happening));
        continue;
      }
      if (is_elsewhere(change.seat)) continue;
      const Choice& to = choice(change.seat, change.choice);
      if (to.moving) {
        tell_moving(change, at_ms(change.scan), at_ms(until), play);
        continue;
      }
      Happening happening;
      happening.kind = to.lost ? Happening::Kind::lost : Happening::Kind::input;
      happening.controller = static_cast<std::uint8_t>(seats_[change.seat].first);
      happening.input = source(change.seat).input;
      happening.value = to.pressed ? std::uint8_t{1} : to.value;
      happening.brief = change.momentary;
      happening.keys = to.keys;
      happening.at_ms = times_[change.scan] <= 1 && !change.momentary ? 0 : at_ms(change.scan);
      play.happenings.push_back(std::move(happening));
    }
    tell_elsewhere(at_ms, play);
    for (const Asked& asked : asked_) {
      Happening happening = asked.happening;
      happening.at_ms = at_ms(asked.scan) + asked.later * scan_ms;
      play.happenings.push_back(happening);
    }
    for (const Message& message : messages_) {
      const Line& line = space_.slice().lines[message.line];
      const std::vector<rows::Peer>& peers = parts[line.from].rows.link.peers;
      Happening happening;
      happening.kind = Happening::Kind::says;
      happening.controller = line.from;
      happening.peer = static_cast<std::uint8_t>(
          std::find_if(peers.begin(), peers.end(),
                       [&](const rows::Peer& peer) { return peer.controller == line.to; }) -
          peers.begin());
      happening.takes_ms =
          message.taken ? std::min(line.delay_ms, (times_[*message.taken] - times_[message.sent]) * scan_ms)
                        : line.delay_ms;
      happening.at_ms = times_[message.sent] <= 1 ? 0 : at_ms(message.sent);
      play.happenings.push_back(happening);
    }
    std::stable_sort(play.happenings.begin(), play.happenings.end(),
                     [](const Happening& a, const Happening& b) { return a.at_ms < b.at_ms; });
    play.until_ms = std::max<std::int64_t>(at_ms(until), 0);
    return play;
  }

  Space& space_;
  Picks& picks_;
  std::uint32_t waits_;
  bool ahead_;
  std::uint32_t choices_ = 0;
  std::vector<std::pair<std::size_t, std::size_t>> seats_;  // controller and source
  std::vector<Standing> standing_;
  std::vector<Known> known_;
  std::vector<Change> changes_;
  std::vector<Asked> asked_;
  std::map<std::size_t, std::size_t> heard_;  // by controller, the scan in which a session began there
  std::vector<Stands> begins_;
  std::size_t start_ = 0, step_ = 0;
  std::optional<TooFast> too_fast_;
  bool begun_ = false;        // a session was started
  bool nobody_does_ = false;  // it takes what the freedoms do not allow
  struct Message {
    std::size_t line = 0, sent = 0;    // of the slice; the scan
    std::optional<std::size_t> taken;  // the scan
  };
  std::vector<Message> messages_;
  Times times_;
};

}  // namespace

Way way_of(const Search& search, std::uint32_t node, std::optional<std::uint32_t> outcome) {
  const std::vector<std::uint32_t> nodes = search.way_to(node);
  Way way;
  const Node& first = search.nodes()[nodes[0]];
  way.from = first.location;
  for (std::size_t k = 0; k < first.zone.clocks(); ++k) way.values.push_back(first.zone.least(k));
  for (std::size_t n = 1; n < nodes.size(); ++n)
    way.steps.push_back({search.nodes()[nodes[n - 1]].location, search.nodes()[nodes[n]].outcome});
  if (outcome)
    way.steps.push_back({search.nodes()[node].location, *outcome});
  else
    way.to = search.nodes()[node].location;
  return way;
}

std::optional<Scheduled> schedule(Space& space, const Way& way, std::optional<TooFast>* why) {
  Scheduling::Picks picks;
  if (why) why->reset();
  for (const bool ahead : {false, true}) {
    // With the fewest waits first.
    Scheduling at_once(space, picks, 0, ahead);
    std::optional<Scheduled> done = at_once.run(way);
    if (why && !*why) *why = at_once.too_fast();
    const std::uint32_t most = std::uint32_t{1} << std::min<std::uint32_t>(at_once.choices(), 12);
    std::vector<std::uint32_t> masks;
    for (std::uint32_t mask = 1; mask < most; ++mask) masks.push_back(mask);
    std::stable_sort(masks.begin(), masks.end(), [](std::uint32_t a, std::uint32_t b) {
      return __builtin_popcount(a) < __builtin_popcount(b);
    });
    for (std::size_t n = 0; n < masks.size() && !done; ++n)
      done = Scheduling(space, picks, masks[n], ahead).run(way);
    if (!done && at_once.choices() > 0) done = Scheduling(space, picks, 0xFFFFFFFF, ahead).run(way);
    if (done) return done;
  }
  return std::nullopt;
}

std::optional<Playthrough> schedule(Space& space, const Search& search, std::uint32_t node,
                                    std::optional<std::uint32_t> outcome, std::optional<TooFast>* why) {
  auto done = schedule(space, way_of(search, node, outcome), why);
  if (!done) return std::nullopt;
  return std::move(done->play);
}

}  // namespace lw::explore
