// Jobs that do not depend on each other, done on several threads.
//
// Each job has its own place to put what it finds, so what comes of all does not depend on how many threads
// there are, nor on which is done first. Tests: tests/unit/play/side_by_side_test.cpp.
#pragma once

#include <cstddef>
#include <functional>

namespace lw {

/// Does `jobs` jobs, each once, those of lower numbers begun first, on up to `threads` threads (0 is 1). A
/// job is told its number and, from 0, that of its thread: what is dear to make and may be used again is kept
/// a thread. Returns once all are done; then what a job threw is thrown, of several the first by number.
void side_by_side(std::size_t threads, std::size_t jobs,
                  const std::function<void(std::size_t job, std::size_t thread)>& job);

/// As many threads as the machine does at once.
std::size_t all_threads();

}  // namespace lw
