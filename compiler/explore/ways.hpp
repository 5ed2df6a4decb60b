// The ways on to a goal, from sets of clock values.
//
// A path between sets says that some of their points have one, not all. With all inputs left as they rest a
// room runs on by itself, until it rests too, or comes again to a point (all clocks known) where it was:
// there inputs have stood for as long as need be. So every set must come to such points, and from each of
// them the goal must be found in a search in which inputs are held back, which is no larger than the room.
// Tests: tests/explore.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "explore/search.hpp"

namespace lw::explore {

class Ways {
 public:
  /// Whether an outcome of a location is what is looked for.
  using Done = std::function<bool(const Location&, const Outcome&)>;
  /// `held` is the same part with inputs held back, nothing lost and no operator. Both must outlive it.
  Ways(Space& space, Space& held, std::uint64_t most_nodes, Done done)
      : space_(space), held_(held), most_(most_nodes), done_(std::move(done)) {}

  enum class Result : std::uint8_t { all, stuck, unsettled, full };
  /// Whether all points of the zone have a way on.
  Result lead_on(LocationId location, const Zone& zone) { return settle(location, zone, 0); }
  /// Stored on the way.
  std::uint64_t states() const { return states_; }

 private:
  int idle_outcome(LocationId id);
  Result settle(LocationId id, const Zone& zone, std::size_t depth);
  Result reach(LocationId id, const Zone& zone);

  Space& space_;
  Space& held_;
  std::uint64_t most_;
  Done done_;
  std::uint64_t states_ = 0;
  std::unordered_map<std::string, bool> seen_;  // whether all is settled from there
  std::unordered_set<std::string> tried_;
};

}  // namespace lw::explore
