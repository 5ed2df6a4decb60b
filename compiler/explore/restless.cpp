// See restless.hpp.
#include "explore/restless.hpp"

#include <algorithm>
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/strong_components.hpp>
#include <map>
#include <set>
#include <utility>
#include <vector>

#include "explore/detours.hpp"
#include "explore/lead.hpp"
#include "explore/search.hpp"

namespace lw {

using namespace explore;

namespace {

// Ways into rounds that are played in each part, the shortest first.
constexpr std::size_t kRoundsTried = 8;
// How long it goes round, at least: what stops sooner by itself is no harm that anybody would see.
constexpr std::int64_t kLastsScans = 100;
// How long a round is waited for: three times through more states than props have, and as long as it lasts.
constexpr std::int64_t kTailScans = 96 + kLastsScans;
// Scans of ways round that are followed through a part to see how long they last.
constexpr std::size_t kMostFollowed = 100'000;

struct Edge {
  LocationId from = 0, to = 0;
  Met met;
};

/// Those that lie in a ring, in their order.
std::vector<Edge> in_rings(const std::vector<Edge>& edges, std::size_t locations) {
  boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS> graph(locations);
  for (const Edge& edge : edges) boost::add_edge(edge.from, edge.to, graph);
  std::vector<std::size_t> component(locations);
  if (locations != 0) boost::strong_components(graph, component.data());
  std::vector<Edge> found;
  for (const Edge& edge : edges)
    if (component[edge.from] == component[edge.to]) found.push_back(edge);
  return found;
}

/// Whether some way goes on over these edges for kLastsScans; a round over a location in which a clock runs
/// to the end of its interval may not. Yes where that is too much to follow.
bool may_last(Space& space, Search& search, const std::vector<Edge>& edges) {
  struct Place {
    LocationId location = 0;
    Zone zone;
  };
  std::map<LocationId, std::set<std::uint32_t>> outcomes;
  std::vector<Place> now;
  std::set<std::uint32_t> nodes;
  for (const Edge& edge : edges) {
    outcomes[edge.from].insert(edge.met.outcome);
    if (nodes.insert(edge.met.node).second) now.push_back({edge.from, search.nodes()[edge.met.node].zone});
  }
  std::size_t followed = 0;
  for (std::int64_t scan = 0; scan < kLastsScans && !now.empty(); ++scan) {
    std::vector<Place> next;
    std::map<LocationId, Apart> apart;
    std::vector<std::uint32_t> covered;
    for (const Place& place : now)
      for (const std::uint32_t outcome : outcomes[place.location]) {
        if (++followed > kMostFollowed) return true;
        search.follow(place.location, place.zone, outcome, [&](LocationId to, Zone&& zone) {
          if (outcomes.count(to) == 0) return;
          if (const auto later = space.may_be_later(space.at(to)))
            zone.let_be_later(*later, space.at(to).intervals[*later].high);
          if (apart[to].take(zone, static_cast<std::uint32_t>(next.size()), covered))
            next.push_back({to, std::move(zone)});
        });
      }
    now = std::move(next);
  }
  return !now.empty();
}

class Going {
 public:
  Going(Courses& courses, Freedoms freedoms, const Budget& budget, const Ring& ring)
      : courses_(courses),
        room_(courses.room()),
        tables_(courses.tables()),
        freedoms_(freedoms),
        budget_(budget),
        ring_(ring) {
    for (const std::uint8_t prop : ring.props) props_.emplace(ring.controller, prop);
  }

  Restless look();

 private:
  enum class Inputs : std::uint8_t { loose, free, held_back };

  /// Where it goes round in a part, the room is led up to that; else it is an open question.
  Restless open(std::string bound) {
    Restless result;
    result.bound = std::move(bound);
    if (!found_) return result;
    Effort left(budget_);
    if (auto led = courses_.leads().up_to(courses_, freedoms_, left, *found_, goes_round())) {
      result.answer = Answer::refuted;
      result.replayed = std::move(led->second);
    }
    return result;
  }
  Claim goes_round() const {
    Claim claim;
    claim.kind = Claim::Kind::goes_round;
    claim.controller = ring_.controller;
    claim.props = ring_.props;
    claim.moves = ring_.moves;
    claim.time_ms = kLastsScans * slowest_scan_ms(tables_);
    claim.tail_ms = kTailScans * slowest_scan_ms(tables_);
    return claim;
  }
  bool is_move(const Incident& incident) const {
    return incident.kind == Incident::Kind::taken &&
           ring_.moves.count({incident.controller, incident.body, incident.rule}) != 0;
  }
  std::optional<Restless> look_at(const Slice& part, Inputs inputs);
  std::optional<Replayed> play(Space& space, const Search& search, const std::vector<Edge>& rounds);

  Courses& courses_;
  const model::Room& room_;
  const RoomTables& tables_;
  Freedoms freedoms_;
  const Budget& budget_;
  const Ring& ring_;
  Props props_;                 // of the ring
  std::optional<Found> found_;  // the first way into a round that the room did not show
};

Restless Going::look() {
  if (freedoms_.cut || freedoms_.restart) return open(kOnlyPromises);
  Props members;
  for (Inputs inputs = Inputs::loose;;) {
    Props frontier;
    Slice part = slice_of(room_, tables_, {}, props_, freedoms_, members, frontier);
    const bool exact = part.exact || frontier.empty();
    if (exact && inputs != Inputs::loose) part = slice_of(room_, tables_, {}, props_, freedoms_, false);
    if (part.round_ticks() == 0) return open(of_several_periods().bound);
    part.loose = inputs == Inputs::loose;
    if (auto result = look_at(part, inputs)) return *result;
    if (inputs == Inputs::loose) {
      inputs = Inputs::free;
      continue;
    }
    if (exact && inputs == Inputs::free) {
      inputs = Inputs::held_back;
      continue;
    }
    if (exact) return open("it goes round in what was looked at, but not in any playthrough that was tried");
    inputs = Inputs::loose;
    members = grown(part, std::move(members), frontier);
  }
}

/// Nothing where more must be looked at.
std::optional<Restless> Going::look_at(const Slice& part, Inputs inputs) {
  const std::vector<Question> questions;
  Space space(part, questions, nullptr, inputs == Inputs::held_back);
  space.tell(props_);
  space.limit(budget_);
  Search search(space, budget_.states);
  std::vector<Met> met;
  const auto end = search.run({}, [&](std::uint32_t node, std::uint32_t k) {
    const Outcome& outcome = space.at(search.nodes()[node].location).outcomes[k];
    const bool moves = std::any_of(outcome.incidents.begin(), outcome.incidents.end(),
                                   [&](std::uint16_t number) { return is_move(space.incident(number)); });
    if (moves) met.push_back({node, k});
    return false;
  });
  std::vector<Edge> edges;
  for (const Met& one : met) {
    const Node& node = search.nodes()[one.node];
    search.follow(node.location, node.zone, one.outcome, [&](LocationId to, Zone&&) {
      edges.push_back({node.location, to, one});
    });
  }
  const std::vector<Edge> rounds = in_rings(edges, space.locations());
  const bool whole = end == Search::End::complete && !space.overflowed();
  if (whole && (rounds.empty() || !may_last(space, search, rounds))) {
    Restless result;
    result.answer = Answer::proved;
    result.bound = looked_at(search, part);
    return result;
  }
  if (inputs == Inputs::loose) return std::nullopt;
  if (auto replayed = play(space, search, rounds)) {
    Restless result;
    result.answer = Answer::refuted;
    result.replayed = std::move(replayed);
    return result;
  }
  // A larger part takes no less.
  if (!whole) return open(ended(search, part, space).bound);
  return std::nullopt;
}

std::optional<Replayed> Going::play(Space& space, const Search& search, const std::vector<Edge>& rounds) {
  const Claim claim = goes_round();
  for (std::size_t n = 0; n < rounds.size() && n < kRoundsTried; ++n) {
    const Met met = rounds[n].met;
    std::vector<Incident> sought;
    for (const std::uint16_t number :
         space.at(search.nodes()[met.node].location).outcomes[met.outcome].incidents)
      if (is_move(space.incident(number))) sought.push_back(space.incident(number));
    const auto shows = [&](const Outcome& outcome) {
      return std::any_of(outcome.incidents.begin(), outcome.incidents.end(), [&](std::uint16_t number) {
        return std::find(sought.begin(), sought.end(), space.incident(number)) != sought.end();
      });
    };
    auto shown = way_shown(space, search, budget_.states, met, shows, [&](const Scheduled& way) {
      Replayed replayed = replay(courses_, way.play, claim);
      if (!replayed.shown && !found_) found_ = found_in(space, way);
      return replayed;
    });
    if (shown) return std::move(shown->second);
  }
  return std::nullopt;
}

}  // namespace

Restless restless(Courses& courses, Freedoms freedoms, const Budget& budget, const Ring& ring) {
  return Going(courses, freedoms, budget, ring).look();
}

}  // namespace lw
