// See naive.hpp.
#include "naive.hpp"

#include <algorithm>
#include <deque>

namespace lw::naive {

Naive::Naive(const model::Room& room, const RoomTables& tables, Freedom freedom, std::uint64_t most_steps)
    : room_(room), instants_(room, tables, freedom) {
  explore(most_steps);
  if (!whole_) return;
  time_sessions();
  for (std::size_t n = 1; n < nodes_.size(); ++n) {
    const auto [at, is_new] = visible_.try_emplace(instants_.visible(*nodes_[n]), since_start_[n]);
    std::optional<int>& fewest = at->second;
    if (!is_new && since_start_[n] && (!fewest || *since_start_[n] < *fewest)) fewest = since_start_[n];
  }
}

void Naive::explore(std::uint64_t most_steps) {
  const auto node_of = [&](const Instants::Bytes& bytes) {
    const auto [at, is_new] = known_.try_emplace(bytes, static_cast<Node>(nodes_.size()));
    if (is_new) nodes_.push_back(&at->first);
    return at->second;
  };
  before_ = instants_.power_up();  // not among the known: a scan may leave the same bytes, and is seen
  nodes_.push_back(&before_);
  std::vector<Edge> ways;
  for (Node from = 0; from < nodes_.size(); ++from) {
    if (instants_.steps() > most_steps) {
      whole_ = false;
      return;
    }
    ways.clear();
    instants_.each_next(*nodes_[from], [&](const Instants::Bytes& bytes, const Instants::Next& next) {
      std::uint64_t undischarged = 0;
      for (std::size_t n = 0; n < room_.promises.size() && !next.discharges; ++n)
        if (std::none_of(next.failed.begin(), next.failed.end(),
                         [&](std::size_t c) { return instants_.speaks_of(n, c); }))
          undischarged |= std::uint64_t{1} << n;
      ways.push_back(Edge{node_of(bytes), next.plain, undischarged});
    });
    left_out_.push_back(instants_.left_out());
    std::sort(ways.begin(), ways.end(), [](const Edge& a, const Edge& b) { return a.to < b.to; });
    std::vector<Edge> different;
    for (const Edge& way : ways) {
      if (different.empty() || different.back().to != way.to) different.push_back(Edge{way.to, false, 0});
      different.back().plain = different.back().plain || way.plain;
      different.back().undischarged |= way.undischarged;
    }
    edges_.push_back(std::move(different));
  }
}

/// 10.2: counted from the session's start, whose scan is 0.
void Naive::time_sessions() {
  since_start_.assign(nodes_.size(), std::nullopt);
  std::deque<Node> next;
  for (Node from = 0; from < nodes_.size(); ++from) {
    if (instants_.in_session(*nodes_[from])) continue;
    for (const Edge& edge : edges_[from])
      if (instants_.in_session(*nodes_[edge.to]) && !since_start_[edge.to]) {
        since_start_[edge.to] = 0;
        next.push_back(edge.to);
      }
  }
  for (; !next.empty(); next.pop_front()) {
    const Node from = next.front();
    for (const Edge& edge : edges_[from])
      if (instants_.in_session(*nodes_[edge.to]) && !since_start_[edge.to]) {
        since_start_[edge.to] = *since_start_[from] + 1;
        next.push_back(edge.to);
      }
  }
}

Naive::Verdict Naive::broken_at(const std::vector<bool>& at) const {
  Verdict verdict{true, std::nullopt};
  for (Node n = 1; n < nodes_.size(); ++n) {
    if (!at[n]) continue;
    verdict.kept = false;
    if (since_start_[n] && (!verdict.scans || *since_start_[n] < *verdict.scans))
      verdict.scans = since_start_[n];
  }
  return verdict;
}

Naive::Verdict Naive::promise(std::size_t which) const {
  const model::Promise& promise = room_.promises[which];
  const int scans = instants_.ticks(which, promise.time_ms);
  std::vector<bool> bad(nodes_.size());
  switch (promise.kind) {
    case model::PromiseKind::never:
      for (Node n = 1; n < nodes_.size(); ++n) bad[n] = instants_.condition(*nodes_[n], which);
      break;
    case model::PromiseKind::can_always_reach:
      bad = stuck(which);
      break;
    case model::PromiseKind::then_within: {
      const std::vector<int> waits = waiting(which, scans);
      for (Node n = 1; n < nodes_.size(); ++n) bad[n] = waits[n] >= scans;
      break;
    }
    case model::PromiseKind::finish_not_before:
      for (Node n = 1; n < nodes_.size(); ++n)
        bad[n] = since_start_[n] && *since_start_[n] < scans && instants_.condition(*nodes_[n], which);
      break;
  }
  return broken_at(bad);
}

/// From where no way leads to the condition in which nobody resets, ends or overrides and nothing more is
/// lost.
std::vector<bool> Naive::stuck(std::size_t which) const {
  std::vector<std::vector<Node>> back(nodes_.size());
  for (Node from = 0; from < nodes_.size(); ++from)
    for (const Edge& edge : edges_[from])
      if (edge.plain) back[edge.to].push_back(from);
  std::vector<bool> stuck(nodes_.size(), true);
  std::deque<Node> next;
  // What was left out may have led there.
  for (Node n = 1; n < nodes_.size(); ++n)
    if (instants_.condition(*nodes_[n], which) || left_out_[n]) {
      stuck[n] = false;
      next.push_back(n);
    }
  for (; !next.empty(); next.pop_front())
    for (const Node from : back[next.front()])
      if (stuck[from]) {
        stuck[from] = false;
        next.push_back(from);
      }
  return stuck;
}

std::optional<int> Naive::soonest(std::size_t which) const {
  std::optional<int> fewest;
  for (Node n = 1; n < nodes_.size(); ++n)
    if (since_start_[n] && instants_.condition(*nodes_[n], which) && (!fewest || *since_start_[n] < *fewest))
      fewest = since_start_[n];
  return fewest;
}

std::optional<int> Naive::slowest(std::size_t which) const {
  bool comes = false;
  for (Node n = 1; n < nodes_.size(); ++n) comes = comes || instants_.condition(*nodes_[n], which);
  if (!comes) return std::nullopt;
  const std::vector<int> waits = waiting(which, instants_.ticks(which, room_.promises[which].time_ms));
  // What is not answered yet is in the scan after the last in which it was not.
  return *std::max_element(waits.begin(), waits.end()) + 1;
}

std::int64_t Naive::largest(const std::map<std::size_t, std::int64_t>& weights) const {
  std::int64_t most = 0;
  for (Node n = 1; n < nodes_.size(); ++n) {
    std::int64_t sum = 0;
    for (const auto& [which, weight] : weights)
      if (instants_.condition(*nodes_[n], which)) sum += weight;
    most = std::max(most, sum);
  }
  return most;
}

/// For each node the longest that some C may have been waiting since it became true, without D and without a
/// reset, as far as so many scans; -1 where none does.
std::vector<int> Naive::waiting(std::size_t which, int scans) const {
  std::vector<int> longest(nodes_.size(), -1);
  std::deque<Node> next;
  const auto waits = [&](Node n, int since) {
    if (instants_.answer(*nodes_[n], which) || since <= longest[n]) return;
    longest[n] = since;
    if (since < scans) next.push_back(n);
  };
  // A moment is true in its own scan alone: each is one that becomes true.
  const bool moment = model::is_edge(room_.promises[which].condition);
  for (Node from = 0; from < nodes_.size(); ++from)
    for (const Edge& edge : edges_[from])
      if (instants_.condition(*nodes_[edge.to], which) &&
          (moment || from == 0 || !instants_.condition(*nodes_[from], which)))
        waits(edge.to, 0);
  for (; !next.empty(); next.pop_front()) {
    const Node from = next.front();
    for (const Edge& edge : edges_[from])
      if (edge.undischarged >> which & 1) waits(edge.to, longest[from] + 1);
  }
  return longest;
}

}  // namespace lw::naive
