// What a playthrough may make use of (docs/meaning.md 10.3), and how much may be spent on looking.
#pragma once

#include <cstdint>
#include <functional>

namespace lw {

struct Freedoms {
  bool hands = true;      // every input may take any value at any time
  bool losses = true;     // devices are lost and found
  bool late = true;       // links take up to their delay
  bool cut = false;       // links are lost and come back
  bool operator_ = true;  // reset, start, end at any time
  bool override_ = false;
  bool restart = false;  // a controller loses power and comes back
  bool apart = true;     // controllers do not scan at the same instants (1.3)
};

/// What a question has taken so far.
struct Spent {
  std::uint64_t scans = 1'000'000;  // of the runtime, tried
  std::uint64_t states = 0;         // locations stored
};

struct Budget {
  std::uint64_t states = 100'000;                   // stored
  std::uint64_t bytes = std::uint64_t{1} << 28;     // of what is stored
  std::uint64_t scans = 1'000'000;                  // of the runtime, tried
  std::function<bool(const Spent& spent)> goes_on;  // asked now and then; false ends the question
};

}  // namespace lw
