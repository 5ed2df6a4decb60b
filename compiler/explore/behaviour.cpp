// See behaviour.hpp.
#include "explore/behaviour.hpp"

#include <algorithm>
#include <functional>
#include <map>
#include <optional>

#include "explore/courses.hpp"
#include "explore/detours.hpp"
#include "explore/explored.hpp"
#include "explore/lead.hpp"
#include "explore/measures.hpp"
#include "explore/search.hpp"

namespace lw {

using explore::Incident;
using explore::Props;

namespace {

// Ways to a conflict that are tried in each part, the shortest first.
constexpr std::size_t kTries = 4;
// What comes sooner or later by so many scans needs no chance to meet.
constexpr std::int64_t kScansOff = 3;
constexpr std::int64_t kScansApart = 10;

/// The instants at which something is done, rising.
std::vector<std::int64_t> instants(const Script& script) {
  std::vector<std::int64_t> found;
  for (const model::Deed& deed : script.deeds)
    if (found.empty() || found.back() != deed.time_ms) found.push_back(deed.time_ms);
  return found;
}

/// The script with its deeds at other times.
template <class At>
Script moved(const Script& script, At&& at) {
  Script other = script;
  std::int64_t latest_ms = 0;
  for (std::size_t n = 0; n < other.deeds.size(); ++n) {
    other.deeds[n].time_ms = std::max<std::int64_t>(0, at(n, script.deeds[n].time_ms));
    latest_ms = std::max(latest_ms, other.deeds[n].time_ms - script.deeds[n].time_ms);
  }
  std::stable_sort(other.deeds.begin(), other.deeds.end(),
                   [](const model::Deed& a, const model::Deed& b) { return a.time_ms < b.time_ms; });
  other.until_ms += latest_ms;
  return other;
}

/// Ways to do the same with more time between, and with what comes last done before what comes before it: a
/// thing may lie there long before anybody looks.
std::vector<Script> at_leisure(const Script& script, std::int64_t scan_ms) {
  const std::vector<std::int64_t> at = instants(script);
  const auto place = [&](std::int64_t time_ms) {
    return std::lower_bound(at.begin(), at.end(), time_ms) - at.begin();
  };
  std::vector<Script> ways{script};
  ways.push_back(moved(script, [&](std::size_t, std::int64_t time_ms) {
    return time_ms + kScansApart * scan_ms * place(time_ms);
  }));
  for (std::size_t last = 1; last <= 2 && last < at.size(); ++last)
    ways.push_back(moved(script, [&](std::size_t, std::int64_t time_ms) {
      const auto n = static_cast<std::size_t>(place(time_ms));
      const std::size_t first = at.size() - last;
      const std::int64_t spread_ms = kScansApart * scan_ms;
      if (n < first) return time_ms + spread_ms * static_cast<std::int64_t>(n);
      return at[first - 1] + spread_ms * static_cast<std::int64_t>(first - 1) - spread_ms / 2;
    }));
  return ways;
}

/// Whether it is how a device stands as power comes, which is as good as left so long before.
bool stands_so(const model::Deed& deed) {
  switch (deed.kind) {
    case model::DeedKind::place:
    case model::DeedKind::take:
    case model::DeedKind::load:
    case model::DeedKind::place_tag:
    case model::DeedKind::take_tag:
    case model::DeedKind::set:
    case model::DeedKind::turn:
      return deed.time_ms == 0;
    default:
      return false;
  }
}

/// Looks for what happens to some props, in parts of the room from them outwards.
class Looking {
 public:
  Looking(Courses& courses, Freedoms freedoms, const Budget& budget, Coverage& seen)
      : courses_(courses),
        room_(courses.room()),
        tables_(courses.tables()),
        freedoms_(freedoms),
        budget_(budget),
        left_(budget),
        seen_(seen) {}

  Behaviour of_prop(Seat prop) {
    prop_ = prop;
    also_.emplace(prop.controller, prop.row);
    const rows::Table& rows = tables_.controllers[prop.controller].rows;
    std::set<std::uint16_t> bodies;
    for (std::size_t s = 0; s < rows.props[prop.row].states.size(); ++s) {
      states_.insert(static_cast<std::uint8_t>(s + 1));
      bodies.insert(rows.props[prop.row].states[s].bodies.begin(),
                    rows.props[prop.row].states[s].bodies.end());
    }
    for (const std::uint16_t body : bodies)
      for (std::size_t r = 0; r < rows.bodies[body].rules.size(); ++r)
        rules_.emplace(body, static_cast<std::uint16_t>(r));
    for (const Incident& one : explore::may_happen(room_, tables_, prop.controller, prop.row))
      acts_.insert(one);
    forget_seen();
    look();
    if (found_.is_open()) lead_up();
    return std::move(found_);
  }

  Behaviour of_output(Seat output) {
    prop_ = output;
    output_ = true;
    questions_ = {powered(output)};
    look();
    if (found_.is_open()) lead_up();
    return std::move(found_);
  }

 private:
  using At = explore::Met;
  enum class Inputs : std::uint8_t { loose, kind, free, at_leisure, held_back, followed };

  void look();
  bool look_at(const explore::Slice& part, Inputs inputs);
  void play(explore::Space& space, const explore::Search& search);
  bool settle(const Incident& incident, const Claim& claim, std::pair<Playthrough, Replayed> played);
  void lead_up();
  /// A way to what is looked for as the runtime shows it. The first that the room does not show is kept.
  template <class Item>
  std::optional<std::pair<Playthrough, Replayed>> play_one(
      explore::Space& space, const explore::Search& search, At at,
      const std::function<bool(const explore::Outcome&)>& shows, const Claim& claim, const Item& item,
      std::map<Item, explore::Found>& kept) {
    return explore::way_shown(space, search, budget_.states, at, shows, [&](const explore::Scheduled& way) {
      Replayed replayed = replay(courses_, way.play, claim, &seen_);
      if (!replayed.shown && kept.count(item) == 0) kept.emplace(item, found_in(space, way));
      return replayed;
    });
  }
  bool needs_no_chance(const Claim& claim, const std::vector<Script>& ways, Replayed& replayed) const;
  void make_plain(const Claim& claim, Replayed& replayed) const;
  Claim claim_of(const Incident& incident) const;
  bool is_conflict(const Incident& incident) const;
  bool all_known() const { return states_.empty() && rules_.empty() && acts_.empty() && unsettled_.empty(); }
  RuleSeat seat_of(RuleNumber rule) const { return {prop_.controller, rule.first, rule.second}; }

  bool only_conflicts_left() const {
    return states_.empty() && rules_.empty() && acts_.empty() && possible_ && !no_conflict_left();
  }
  bool no_conflict_left() const {
    return possible_ && std::all_of(possible_->begin(), possible_->end(),
                                    [&](const Incident& conflict) { return settled_.count(conflict) != 0; });
  }
  /// What was seen meanwhile is wanted no more.
  void forget_seen() {
    for (auto at = states_.begin(); at != states_.end();)
      at = seen_.was_entered(prop_.controller, prop_.row, *at) ? states_.erase(at) : std::next(at);
    for (auto at = rules_.begin(); at != rules_.end();)
      at = seen_.was_taken(seat_of(*at)) ? rules_.erase(at) : std::next(at);
  }
  void leave_open(std::string bound) {
    found_.open_states = states_;
    found_.open_rules = rules_;
    found_.open_acts = acts_;
    found_.conflicts_open = !no_conflict_left();
    found_.bound = std::move(bound);
  }

  Courses& courses_;
  const model::Room& room_;
  const RoomTables& tables_;
  Freedoms freedoms_;
  const Budget& budget_;
  explore::Effort left_;
  Coverage& seen_;
  Seat prop_;            // or output
  bool output_ = false;  // it is one
  Props also_;
  std::vector<Question> questions_;
  Behaviour found_;
  std::set<std::uint8_t> states_;  // neither seen nor excluded
  std::set<RuleNumber> rules_;
  std::set<Incident> acts_;                     // of its drives and counters
  std::set<Incident> settled_;                  // conflicts that are told, or that only chance brings about
  std::set<Incident> unsettled_;                // of the last part
  std::optional<std::set<Incident>> possible_;  // no others are, as a part that was looked at whole shows
  // Of the part that is looked at.
  std::map<std::uint8_t, std::vector<At>> state_at_;
  std::map<Incident, std::vector<At>> incident_at_;
  // Of the parts so far.
  std::map<std::uint8_t, explore::Found> state_found_;
  std::map<Incident, explore::Found> incident_found_;
};

void Looking::look() {
  if (freedoms_.cut || freedoms_.restart) return leave_open(explore::kOnlyPromises);
  Props members;
  for (Inputs inputs = Inputs::loose;;) {
    Props frontier;
    explore::Slice part = explore::slice_of(room_, tables_, questions_, also_, freedoms_, members, frontier);
    const bool exact = part.exact || frontier.empty();
    if (exact && inputs != Inputs::loose)
      part =
          explore::slice_of(room_, tables_, questions_, also_, freedoms_, false, inputs == Inputs::followed);
    // Ways on which nobody loses, ends or overrides anything are those that can most often be gone.
    if (inputs == Inputs::kind)
      part.freedoms.losses = part.freedoms.operator_ = part.freedoms.override_ = false;
    if (part.round_ticks() == 0) return leave_open(explore::of_several_periods().bound);
    part.loose = inputs == Inputs::loose;
    // Ways of scales that move no sooner than they need can be gone by hand.
    part.at_leisure = inputs == Inputs::at_leisure;
    if (look_at(part, inputs)) return;
    switch (inputs) {
      case Inputs::loose:
        inputs = Inputs::kind;
        continue;
      case Inputs::kind:
        inputs = Inputs::free;
        continue;
      case Inputs::free:
        if (!exact && members.empty() && only_conflicts_left()) {
          lead_up();
          if (no_conflict_left()) return;
        }
        if (exact) {
          inputs = explore::moves_are_read(part) ? Inputs::at_leisure : Inputs::held_back;
          continue;
        }
        break;
      case Inputs::at_leisure:
        inputs = Inputs::held_back;
        continue;
      case Inputs::held_back:
        if (explore::inputs_are_sent(part)) {
          inputs = Inputs::followed;
          continue;
        }
        [[fallthrough]];
      case Inputs::followed:
        return leave_open(
            "a playthrough was found, but not the times at which each of its inputs can change");
    }
    inputs = Inputs::loose;
    members = grown(part, std::move(members), frontier);
  }
}

/// Whether nothing is left to look for, or to hope for.
bool Looking::look_at(const explore::Slice& part, Inputs inputs) {
  explore::Space space(part, questions_, nullptr,
                       inputs == Inputs::at_leisure || inputs >= Inputs::held_back);
  space.tell(also_);
  space.limit(budget_);
  explore::Search search(space, budget_.states);
  state_at_.clear();
  incident_at_.clear();
  const auto end = search.run({}, [&](std::uint32_t node, std::uint32_t k) {
    const explore::Outcome& outcome = space.at(search.nodes()[node].location).outcomes[k];
    for (const std::uint16_t number : outcome.incidents) {
      std::vector<At>& ways = incident_at_[space.incident(number)];
      // Ways of other inputs lead to other nodes; where one needs an input to be too fast another may not.
      if (ways.size() < kTries && (ways.empty() || ways.back().node != node)) ways.push_back({node, k});
    }
    if (!output_) {
      std::vector<At>& ways = state_at_[space.prop_state(outcome.post, prop_.controller, prop_.row)];
      if (ways.size() < kTries && (ways.empty() || ways.back().node != node)) ways.push_back({node, k});
    }
    return false;
  });
  const bool whole = end == explore::Search::End::complete && !space.overflowed();
  unsettled_.clear();
  for (const auto& [incident, ways] : incident_at_)
    if (is_conflict(incident) && settled_.count(incident) == 0) unsettled_.insert(incident);
  const bool all = inputs != Inputs::kind && inputs != Inputs::at_leisure;  // that the part can do
  if (whole && all) {
    found_.held_back = found_.held_back || inputs >= Inputs::held_back;
    for (auto at = states_.begin(); at != states_.end();) {
      if (state_at_.count(*at) == 0) found_.never_entered.insert(*at);
      at = state_at_.count(*at) == 0 ? states_.erase(at) : std::next(at);
    }
    std::set<RuleNumber> taken;
    for (const auto& [incident, ways] : incident_at_)
      if (incident.kind == Incident::Kind::taken) taken.emplace(incident.body, incident.rule);
    for (auto at = rules_.begin(); at != rules_.end();) {
      if (taken.count(*at) == 0) found_.never_taken.insert(*at);
      at = taken.count(*at) == 0 ? rules_.erase(at) : std::next(at);
    }
    for (auto at = acts_.begin(); at != acts_.end();)
      at = incident_at_.count(*at) == 0 ? acts_.erase(at) : std::next(at);
  }
  const auto note_conflicts = [&] {
    if (!whole || !all) return;
    // What an earlier part excludes a later one does not bring back.
    std::set<Incident> left;
    for (const Incident& conflict : unsettled_)
      if (!possible_ || possible_->count(conflict) != 0) left.insert(conflict);
    possible_ = std::move(left);
  };
  note_conflicts();
  if (whole && all && all_known()) return true;
  if (inputs == Inputs::loose) return false;
  play(space, search);
  note_conflicts();
  if (whole && all && all_known()) return true;
  if (whole || !all) return false;
  // A larger part takes no less.
  leave_open(explore::ended(search, part, space).bound);
  return true;
}

/// Has the runtime play what was found.
void Looking::play(explore::Space& space, const explore::Search& search) {
  for (const auto& [state, ways] : state_at_) {
    if (states_.count(state) == 0) continue;
    const std::uint8_t wanted = state;
    const Claim claim = in_state(prop_.controller, prop_.row, state);
    const auto shows = [&](const explore::Outcome& outcome) {
      return space.prop_state(outcome.post, prop_.controller, prop_.row) == wanted;
    };
    for (const At& at : ways)
      if (play_one(space, search, at, shows, claim, wanted, state_found_)) break;
    forget_seen();
  }
  for (const auto& [incident, ways] : incident_at_) {
    const bool wanted =
        incident.kind == Incident::Kind::taken && rules_.count({incident.body, incident.rule}) != 0;
    const bool conflict = unsettled_.count(incident) != 0;
    if (!wanted && !conflict && acts_.count(incident) == 0) continue;
    const Incident sought = incident;
    const auto shows = [&](const explore::Outcome& outcome) {
      return std::any_of(outcome.incidents.begin(), outcome.incidents.end(),
                         [&](std::uint16_t number) { return space.incident(number) == sought; });
    };
    const Claim claim = claim_of(incident);
    for (const At& at : ways) {
      auto played = play_one(space, search, at, shows, claim, incident, incident_found_);
      if (played && settle(incident, claim, std::move(*played))) break;
    }
    forget_seen();
  }
}

/// What the runtime has shown is told, unless only chance brings it about: false, other ways to it may not.
bool Looking::settle(const Incident& incident, const Claim& claim, std::pair<Playthrough, Replayed> played) {
  if (acts_.erase(incident) != 0) {
    make_plain(claim, played.second);
    found_.conflicts.push_back({incident, claim, std::move(played.first), std::move(played.second)});
    return true;
  }
  if (!is_conflict(incident)) return true;
  unsettled_.erase(incident);
  settled_.insert(incident);
  // One prop takes over from another a scan after it sees it move.
  Claim lasting = claim;
  const std::int64_t scan_ms = slowest_scan_ms(tables_);
  if (output_) lasting.time_ms = kScansOff * scan_ms;
  if (!needs_no_chance(lasting, at_leisure(played.second.script, scan_ms), played.second)) return false;
  found_.conflicts.push_back({incident, lasting, std::move(played.first), std::move(played.second)});
  return true;
}

/// Too much to be looked at as it is: what was found in the parts is led up to in the room.
void Looking::lead_up() {
  const auto led = [&](const explore::Found& found, const Claim& claim) {
    return courses_.leads().up_to(courses_, freedoms_, left_, found, claim, &seen_);
  };
  for (const auto& [state, found] : state_found_) {
    if (states_.count(state) == 0) continue;
    led(found, in_state(prop_.controller, prop_.row, state));
    forget_seen();
  }
  for (const auto& [incident, found] : incident_found_) {
    const bool wanted =
        incident.kind == Incident::Kind::taken && rules_.count({incident.body, incident.rule}) != 0;
    const bool conflict = possible_ && possible_->count(incident) != 0 && settled_.count(incident) == 0;
    if (!wanted && !conflict && acts_.count(incident) == 0) continue;
    const Claim claim = claim_of(incident);
    if (auto played = led(found, claim)) settle(incident, claim, std::move(*played));
    forget_seen();
  }
  found_.open_states = states_;
  found_.open_rules = rules_;
  found_.open_acts = acts_;
  if (no_conflict_left()) found_.conflicts_open = false;
}

/// Whether it shows, done in one of these ways, however each deed by itself is off by a little.
bool Looking::needs_no_chance(const Claim& claim, const std::vector<Script>& ways, Replayed& replayed) const {
  const std::int64_t scan_ms = slowest_scan_ms(tables_);
  for (const Script& script : ways) {
    Replayed done = courses_.play(script, replayed.messages, claim);
    if (!done.shown) continue;
    bool always = true;
    for (std::size_t n = 0; n < script.deeds.size() && always; ++n) {
      if (stands_so(script.deeds[n])) continue;
      for (const std::int64_t off_ms : {-kScansOff * scan_ms, kScansOff * scan_ms}) {
        const Script other = moved(
            script, [&](std::size_t k, std::int64_t time_ms) { return k == n ? time_ms + off_ms : time_ms; });
        always = always && courses_.play(other, replayed.messages, claim).shown;
      }
    }
    if (!always) continue;
    replayed = std::move(done);
    return true;
  }
  return false;
}

/// The same as people would try it, where that shows it too: without deeds that make no difference, at
/// leisure, and with what comes in one scan one after the other.
void Looking::make_plain(const Claim& claim, Replayed& replayed) const {
  for (std::size_t n = replayed.script.deeds.size(); n-- > 0;) {
    if (n >= replayed.script.deeds.size()) continue;
    Script less = replayed.script;
    less.deeds.erase(less.deeds.begin() + static_cast<std::ptrdiff_t>(n));
    Replayed done = courses_.play(less, replayed.messages, claim);
    if (done.shown) replayed = std::move(done);
  }
  const std::int64_t scan_ms = slowest_scan_ms(tables_);
  std::vector<Script> ways = at_leisure(replayed.script, scan_ms);
  for (std::size_t n = replayed.script.deeds.size(); n-- > 0;)
    ways.push_back(moved(replayed.script, [&](std::size_t k, std::int64_t time_ms) {
      return k == n ? time_ms + kScansApart * scan_ms : time_ms;
    }));
  needs_no_chance(claim, ways, replayed);
}

Claim Looking::claim_of(const Incident& incident) const {
  Claim claim;
  claim.controller = incident.controller;
  claim.prop = incident.prop;
  claim.rule = {incident.controller, incident.body, incident.rule};
  switch (incident.kind) {
    case Incident::Kind::taken:
      claim.kind = Claim::Kind::taken;
      break;
    case Incident::Kind::two_due:
      claim.kind = Claim::Kind::two_moves;
      claim.other = {incident.controller, incident.other_body, incident.other_rule};
      break;
    case Incident::Kind::at_odds:
      claim.kind = Claim::Kind::at_odds;
      claim.output = incident.prop;
      break;
    case Incident::Kind::driven:
    case Incident::Kind::drive_cut:
    case Incident::Kind::past_end:
      claim.kind = Claim::Kind::happens;
      claim.incident = incident;
      break;
  }
  return claim;
}

/// Two moves that do the same are none.
bool Looking::is_conflict(const Incident& incident) const {
  if (incident.controller != prop_.controller || incident.prop != prop_.row) return false;
  if (incident.kind == Incident::Kind::at_odds) return output_;
  if (incident.kind != Incident::Kind::two_due || output_) return false;
  const rows::Table& rows = tables_.controllers[incident.controller].rows;
  const rows::Rule& first = rows.bodies[incident.body].rules[incident.rule];
  const rows::Rule& second = rows.bodies[incident.other_body].rules[incident.other_rule];
  return first.target != second.target || first.actions != second.actions;
}

}  // namespace

Behaviour behaviour_of_prop(Courses& courses, Freedoms freedoms, const Budget& budget, Seat prop,
                            Coverage& seen) {
  return Looking(courses, freedoms, budget, seen).of_prop(prop);
}

Behaviour behaviour_of_output(Courses& courses, Freedoms freedoms, const Budget& budget, Seat output,
                              Coverage& seen) {
  return Looking(courses, freedoms, budget, seen).of_output(output);
}

}  // namespace lw
