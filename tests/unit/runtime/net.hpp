// Controllers that hear each other, for tests: in each instant they scan in the order of the file, and a
// message is taken in by the first scan at or after its delay.
#pragma once

#include <deque>
#include <memory>

#include "bench.hpp"

namespace lw::bench {

/// Numbers the drafts as one room's controllers, each hearing all others; a third of `lost_after` between
/// messages.
inline void join(const std::vector<Draft*>& drafts, std::uint32_t lost_after) {
  for (std::size_t n = 0; n < drafts.size(); ++n) {
    Draft& d = *drafts[n];
    d.controller = static_cast<std::uint8_t>(n);
    d.controllers = static_cast<std::uint8_t>(drafts.size());
    d.link.send_every = lost_after / 3;
    if (n != 0) d.session.starts = rows::StartKind::hears;
    for (std::size_t k = 0; k < drafts.size(); ++k)
      if (k != n) d.link.peers.push_back({static_cast<std::uint8_t>(k), lost_after, 0, 0, 0});
  }
}

class Net {
 public:
  Net(const std::vector<const Draft*>& drafts, int delay) : delay_(delay), silent(drafts.size()) {
    for (const Draft* draft : drafts) runs_.push_back(std::make_unique<Run>(*draft));
  }
  Run& operator[](std::size_t n) { return *runs_[n]; }

  void scan(int count = 1) {
    for (; count > 0; --count) {
      for (std::size_t n = 0; n < runs_.size(); ++n) {
        for (auto at = flights_.begin(); at != flights_.end();) {
          if (at->to != n || at->arrives > now_) {
            ++at;
            continue;
          }
          if (!silent[n]) runs_[n]->hear(at->message);
          at = flights_.erase(at);
        }
        runs_[n]->scan();
        deliver_from(n);
      }
      ++now_;
    }
  }
  /// Sends what is due at a controller that scanned outside of scan(), at the present instant.
  void deliver_from(std::size_t n) {
    const auto message = runs_[n]->say();
    if (message.empty() || cut || silent[n]) return;
    for (std::size_t to = 0; to < runs_.size(); ++to)
      if (to != n) flights_.push_back({now_ + delay_, to, message});
  }

 private:
  struct Flight {
    int arrives;
    std::size_t to;
    std::vector<std::uint8_t> message;
  };
  std::vector<std::unique_ptr<Run>> runs_;
  std::deque<Flight> flights_;
  int delay_ = 0, now_ = 0;

 public:
  bool cut = false;          // all links
  std::vector<bool> silent;  // a controller that neither sends nor hears
};

}  // namespace lw::bench
