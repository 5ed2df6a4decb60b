// Whether a condition can be true, worked out over everything that its devices, props and clocks can be.
//
// Exact about what a device, a prop, a counter or a lock can be one at a time: the cells of a scale, the
// words of a contact, what lies on a reader, the state of a prop, each with being lost or not yet known. All
// else (a press, a solved prop, a sequence) is taken to be true or false freely. So "it can never be" is
// certain, "it can be" is not. A question with more situations than can be gone through is not answered: the
// alternative, a solver, is not worth a tool that must stay small. Tests:
// tests/unit/check/situations_test.cpp, tests/cases/reach.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "model/model.hpp"

namespace lw {

class Situations {
 public:
  explicit Situations(const model::Room& room) : room_(room) {}

  /// A prop that is known to be in one of these states while the conditions are looked at.
  struct Within {
    model::PropId prop{};
    std::vector<model::StateId> states;
  };

  /// Whether some situation makes `wanted` true and all of `unwanted` false; nothing when that was not worked
  /// out.
  std::optional<bool> can_be(const model::Cond& wanted, const std::vector<const model::Cond*>& unwanted = {},
                             const Within* within = nullptr);

 private:
  const model::Room& room_;
  std::size_t left_ = std::size_t{1} << 20;  // situations to go through, for all questions together
};

}  // namespace lw
