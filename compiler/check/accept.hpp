// What `accept CODE "reason"` silences.
//
// Never silenced are an exit lock, a broken promise, a failed rehearsal and what is not decided, since people
// could be held or nothing is known; nor a mistake that leaves the room without a meaning, since nothing
// could be built from it. An `accept` that silences nothing is a finding only where what it names was looked
// for. Tests: tests/cases/accept.
#pragma once

#include <vector>

#include "model/model.hpp"
#include "text/finding.hpp"

namespace lw {

/// How far the room was looked at.
enum class Looked : std::uint8_t {
  names,   // it has errors that leave it without a meaning: no check was run
  checks,  // all checks, but that a sound file could not be read
  all,
  some_proofs,  // after the checks: some questions to the explorer are open
  proofs,       // all of them are answered
};

/// An `accept`, and whether it has silenced anything yet.
struct Accepting {
  model::Accept accept;
  bool used = false;
};
using Accepts = std::vector<Accepting>;

/// Moves what an `accept` at its place silences to `accepted`, each with the one that stands nearest, and
/// says which of them silence nothing, once all that finds their code has looked.
void take_out_accepted(Accepts& accepts, Looked looked, Findings& findings, Findings& accepted);

}  // namespace lw
