// Every location and every set of clock values that playthroughs lead to, and the way to each.
//
// A node is a location with a zone: the clock values with which it can be visible. Time passes inside a
// location while an outcome of it changes nothing but clocks; every other outcome leads on. A node whose zone
// lies in that of another is dropped, since whatever it leads to the other leads to as well; so the set is
// right for what can be reached, and for nothing else: what must happen is asked from single points
// (reaching.cpp). Nodes are taken in the order in which they were found: fewest steps first. Tests:
// tests/explore.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "explore/space.hpp"
#include "explore/zone.hpp"

namespace lw::explore {

struct Node {
  LocationId location = 0;
  std::uint32_t parent = 0;   // the first node's is itself
  std::uint32_t outcome = 0;  // of the parent's location, by which it came
  Zone zone;                  // as it was entered and while time passed
  bool point = false;         // entered with one value a clock
  bool covered = false;
};

/// Zones of one location, none of which lies in another, with their bounds in one row: most of a search's
/// time is comparing a new one with them. What lies in another has the smaller sum of bounds, so each pair is
/// compared in one direction only.
class Apart {
 public:
  /// Takes the node's zone in, unless one of them includes it; those that it includes go, and are added to
  /// `covered`.
  bool take(const Zone& zone, std::uint32_t node, std::vector<std::uint32_t>& covered);

 private:
  std::vector<std::uint32_t> nodes_;
  std::vector<std::int64_t> sums_;
  std::vector<Zone::Bound> bounds_;
};

class Search {
 public:
  struct Start {
    LocationId location = 0;
    Zone zone;
  };
  /// Whether an outcome may be used at all.
  using Allows = std::function<bool(const Location&, const Outcome&)>;
  /// Told each outcome of each node once; true ends the search.
  using Sees = std::function<bool(std::uint32_t node, std::uint32_t outcome)>;

  Search(Space& space, std::uint64_t most_nodes) : space_(space), most_(most_nodes) {}

  /// A place to begin at: a whole state, all clocks with one value.
  Start start_of(const std::string& state);
  enum class End : std::uint8_t { complete, stopped, full };
  End run(const Start& start, const Allows& allows, const Sees& sees);
  /// From every start of the space.
  End run(const Allows& allows, const Sees& sees);

  const std::vector<Node>& nodes() const { return nodes_; }
  std::uint64_t stored() const { return stored_; }
  std::uint64_t visited() const { return visited_; }
  /// Nodes from the first to this one.
  std::vector<std::uint32_t> way_to(std::uint32_t node) const;

  /// What an outcome leads to from a zone of its location. `found` is called with each.
  void follow(LocationId location, const Zone& zone, std::size_t outcome,
              const std::function<void(LocationId, Zone&&)>& found);

 private:
  End go_on(const Allows& allows, const Sees& sees);
  void enter(LocationId location, Zone zone, std::uint32_t parent, std::uint32_t outcome);

  Space& space_;
  std::uint64_t most_;
  std::vector<Node> nodes_;
  std::vector<Apart> at_;  // by location: nodes not covered
  std::uint64_t stored_ = 0, visited_ = 0;
};

}  // namespace lw::explore
