// What became of a promise: a verdict is data, as a finding is, and names how far it reaches.
//
// A promise that is proved or not decided is no finding, so promises have a list of their own, and none is
// ever left out of a report; one that is refuted is a finding too. Tests: tests/cases/proofs,
// tests/reports.py.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

enum class Decision : std::uint8_t {
  proved,     // in every playthrough that the freedoms allow
  refuted,    // by a playthrough that the runtime was seen to play
  undecided,  // asked, and neither proved nor refuted
  not_asked,  // proofs were not wanted (`lint --static`)
};

struct Verdict {
  std::string promise;  // its title
  Span span;            // of the promise
  Decision decision{};
  std::string bound;                  // how far it was looked, or why it was not: a clause, no full stop
  std::vector<std::string> freedoms;  // their names (10.3); none when it was not asked
  std::vector<Event> playthrough;     // of what is refuted
};
using Verdicts = std::vector<Verdict>;

/// What was asked of the room beyond its promises, and was not decided.
struct OpenQuestion {
  std::string what;  // "whether `hatch` is ever powered for longer than 20 s"
  Span span;
  std::string bound;  // why not: a clause, no full stop
};
using OpenQuestions = std::vector<OpenQuestion>;

}  // namespace lw
