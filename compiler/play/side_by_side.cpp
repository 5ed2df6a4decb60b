// See side_by_side.hpp.
#include "play/side_by_side.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <thread>
#include <vector>

namespace lw {

void side_by_side(std::size_t threads, std::size_t jobs,
                  const std::function<void(std::size_t job, std::size_t thread)>& job) {
  std::vector<std::exception_ptr> thrown(jobs);
  std::atomic<std::size_t> next{0};
  const auto work = [&](std::size_t thread) {
    for (std::size_t n = next++; n < jobs; n = next++) {
      try {
        job(n, thread);
      } catch (...) {
        thrown[n] = std::current_exception();
      }
    }
  };
  std::vector<std::thread> others;
  for (std::size_t n = 1; n < std::min(threads, jobs); ++n) others.emplace_back(work, n);
  work(0);
  for (std::thread& other : others) other.join();
  for (const std::exception_ptr& one : thrown)
    if (one) std::rethrow_exception(one);
}

std::size_t all_threads() { return std::max(1u, std::thread::hardware_concurrency()); }

}  // namespace lw
