// What became of a promise: a verdict is data, as a finding is, and names how far it reaches.
//
// A promise that is not decided is neither a finding nor a proof, so it has a list of its own and is never
// left out of a report. Tests: tests/cases/promises, tests/reports.py.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "text/source.hpp"

namespace lw {

enum class Decision : std::uint8_t {
  undecided,  // asked, and neither proved nor refuted
  not_asked,  // proofs were not wanted (`lint --static`)
};

struct Verdict {
  std::string promise;  // its title
  Span span;            // of the promise
  Decision decision{};
  std::string bound;  // how far it was looked, or why it was not: a clause, no full stop
};
using Verdicts = std::vector<Verdict>;

}  // namespace lw
