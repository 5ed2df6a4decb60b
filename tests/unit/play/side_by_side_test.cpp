// Jobs on several threads: each done once, none lost where one throws.
#include "play/side_by_side.hpp"

#include <doctest/doctest.h>

#include <atomic>
#include <stdexcept>
#include <string>
#include <vector>

using namespace lw;

TEST_CASE("each job is done once, on a thread of those that there are") {
  for (const std::size_t threads : {0u, 1u, 2u, 7u, 300u}) {
    std::vector<std::atomic<int>> done(200);
    std::atomic<bool> is_one_of_them{true};
    side_by_side(threads, done.size(), [&](std::size_t job, std::size_t thread) {
      ++done[job];
      if (thread >= std::max<std::size_t>(threads, 1)) is_one_of_them = false;
    });
    for (const std::atomic<int>& one : done) CHECK(one == 1);
    CHECK(is_one_of_them);
  }
  side_by_side(4, 0, [](std::size_t, std::size_t) { FAIL("there is none"); });
}

TEST_CASE("several threads work at once") {
  // Each waits for the other; alone neither would end.
  std::atomic<int> there{0};
  side_by_side(2, 2, [&](std::size_t, std::size_t) {
    ++there;
    while (there < 2) {
    }
  });
  CHECK(there == 2);
}

TEST_CASE("what a job throws comes out when all are done, the first by number") {
  std::atomic<int> done{0};
  const auto run = [&] {
    side_by_side(3, 50, [&](std::size_t job, std::size_t) {
      ++done;
      if (job % 7 == 5) throw std::runtime_error(std::to_string(job));
    });
  };
  CHECK_THROWS_WITH_AS(run(), "5", std::runtime_error);
  CHECK(done == 50);
}
