// What came out of a question to the explorer, and how far it looked. Tests: tests/explore,
// tests/cases/proofs.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "explore/playthrough.hpp"
#include "explore/search.hpp"
#include "explore/slice.hpp"

namespace lw {

enum class Answer : std::uint8_t { proved, refuted, undecided };

struct Explored {
  Answer answer = Answer::undecided;
  std::string bound;                       // a clause: what was looked at, or why it is not decided
  std::optional<Playthrough> playthrough;  // of what is refuted
  std::uint64_t states = 0;                // stored
};

namespace explore {

/// "120 states of 3 props".
std::string looked_at(const Search& search, const Slice& slice);
/// Not decided: the controllers of the slice scan at several periods.
Explored of_several_periods();
/// Not decided: what ended the search.
Explored ended(const Search& search, const Slice& slice, const Space& space);

}  // namespace explore
}  // namespace lw
