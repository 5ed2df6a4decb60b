// The naive explorer: breadth first over whole instants of a room, scan by scan, in plain maps.
//
// Slow and obvious: every instant that can be reached is kept as its bytes, with every way on from it; what
// docs/meaning.md 10.2 says of a promise is then asked of that graph as it stands. No zones, no slices, no
// inclusion. What it cannot hold it says, and decides nothing. Tests: tests/explore/naive_test.cpp.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <unordered_map>
#include <vector>

#include "instants.hpp"

namespace lw::naive {

class Naive {
 public:
  /// Explores at once. All must outlive it. `most_steps` is the number of scans of controllers after which it
  /// gives up.
  Naive(const model::Room& room, const RoomTables& tables, Freedom freedom, std::uint64_t most_steps);

  /// Whether the whole room was seen; else nothing below but `steps` means anything.
  bool whole() const { return whole_; }

  using Visible = std::vector<std::uint8_t>;
  /// Every visible state; with the fewest scans from the session's start (whose scan is 0) to it, where it is
  /// met in a session.
  const std::map<Visible, std::optional<int>>& visible() const { return visible_; }

  struct Verdict {
    bool kept = false;
    std::optional<int> scans;  // broken: the fewest scans from the session's start to where that is seen
  };
  Verdict promise(std::size_t which) const;

  /// The fewest scans from a session's start to a visible state in which the condition of that promise holds.
  std::optional<int> soonest(std::size_t which) const;
  /// Of a promise `C then D within T` that is kept: the most scans from C to D; nothing where C never comes.
  std::optional<int> slowest(std::size_t which) const;
  /// The largest sum of the weights of those promises whose conditions hold in one visible state.
  std::int64_t largest(const std::map<std::size_t, std::int64_t>& weights) const;

  const Met& met() const { return instants_.met(); }
  std::size_t states() const { return nodes_.size() - 1; }
  std::uint64_t steps() const { return instants_.steps(); }

 private:
  using Node = std::uint32_t;
  struct Edge {
    Node to = 0;
    bool plain = false;              // some way there is plain
    std::uint64_t undischarged = 0;  // by promise, whether some way there does not discharge it
  };

  void explore(std::uint64_t most_steps);
  void time_sessions();
  Verdict broken_at(const std::vector<bool>& at) const;
  std::vector<bool> stuck(std::size_t which) const;
  std::vector<int> waiting(std::size_t which, int scans) const;

  const model::Room& room_;
  Instants instants_;
  bool whole_ = true;
  Instants::Bytes before_;
  std::vector<const Instants::Bytes*> nodes_;  // 0: before the first scan, which nobody sees
  std::vector<std::vector<Edge>> edges_;
  std::vector<bool> left_out_;                   // by node, whether some instants after it are left out
  std::vector<std::optional<int>> since_start_;  // by node
  std::map<Visible, std::optional<int>> visible_;
  std::unordered_map<Instants::Bytes, Node> known_;
};

}  // namespace lw::naive
