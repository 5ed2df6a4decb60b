// The ways on to a goal, from sets of clock values.
//
// A path between sets says that some of their points have one, not all. With all inputs left as they rest a
// room runs on by itself, until it rests too, or comes again to a point (all clocks known) where it was:
// there inputs have stood for as long as need be. So every set must come to such points, and from each of
// them the goal must be found in a search in which inputs are held back, which is no larger than the room.
// Tests: tests/explore, tests/ways_on.py.
#pragma once

#include <cstdint>
#include <string>
#include <unordered_map>
#include <unordered_set>
#include <utility>
#include <vector>

#include "explore/way_on.hpp"

namespace lw::explore {

class Ways {
 public:
  /// As WayOn; the spaces must outlive it.
  Ways(Space& space, Space& held, Space* wider, std::uint64_t most_nodes, WayOn::Done done)
      : space_(space), way_on_(space, held, wider, most_nodes, std::move(done)) {}

  enum class Result : std::uint8_t { all, stuck, unsettled, full };
  /// Whether all points of the zone have a way on.
  Result lead_on(LocationId location, const Zone& zone) {
    trail_.clear();
    return settle(location, zone);
  }
  /// The last zone was found stuck: how it runs on from there, and the point in which it then is.
  const std::vector<Way::Step>& trail() const { return trail_; }
  const Search::Start& stuck_at() const { return stuck_at_; }
  /// From there on by itself to where it stays as it is for more than a scan, if it soon does; the way goes
  /// on so.
  Search::Start stays_stuck(Way& way);
  /// Stored on the way.
  std::uint64_t states() const { return way_on_.states(); }
  WayOn& way_on() { return way_on_; }

 private:
  int idle_outcome(LocationId id);
  Result settle(LocationId id, const Zone& zone);
  Result reach(LocationId id, const Zone& zone);

  Space& space_;
  WayOn way_on_;
  std::unordered_map<std::string, bool> seen_;  // whether all is settled from there
  std::unordered_set<std::string> tried_;
  std::vector<Way::Step> trail_;
  Search::Start stuck_at_;
};

}  // namespace lw::explore
