// Why something that was expected is not so: what is seen instead, and what it would have taken.
//
// A reason is a clause in the past tense: "assay was still weighing: balance read 605 g, and `fair` begins at
// 610 g". It says only what the rows and the visible state say; where more than one thing is missing, the
// first in text order. Tests: tests/unit/play/reasons_test.cpp.
#pragma once

#include <cstdint>
#include <string>

#include "play/firings.hpp"
#include "play/room_run.hpp"
#include "play/words.hpp"

namespace lw {

class Reasons {
 public:
  /// A state that a prop has been in since before `since_ms` is one that it is still in.
  Reasons(const RoomRun& run, const Firings& firings, std::int64_t since_ms)
      : run_(run), firings_(firings), words_(run), since_ms_(since_ms) {}

  /// For a question whose answer is no. `as_written` is what a range is called that no rule of the room
  /// speaks of.
  std::string why_not(const Question& question, const std::string& as_written);
  /// For a literal of a controller that did not hold in its last scan's snapshot.
  std::string why_not(std::size_t controller, rows::Literal literal) {
    as_written_.clear();
    return of(controller, literal, true, kDeep);
  }

 private:
  // How many props a reason may go through: a chain of three is as much as anyone reads.
  static constexpr int kDeep = 3;
  struct Node;

  std::string of(const Node& node, bool wanted) const;
  std::string of(std::size_t controller, rows::Literal literal, bool wanted, int depth) const;
  std::string of(std::size_t controller, const rows::RawFact& fact, bool wanted, int depth) const;
  std::string of_derived(std::size_t controller, const rows::DerivedFact& fact, bool wanted, int depth) const;
  std::string stands(std::size_t controller, std::size_t sequence) const;
  std::string of_sequence(std::size_t controller, std::uint32_t own_fact, bool wanted) const;
  std::string of_input(std::size_t controller, const rows::RawFact& fact, bool wanted) const;
  std::string of_scale(std::size_t controller, const rows::RawFact& fact, bool wanted) const;
  std::string of_prop(std::size_t controller, std::size_t prop, std::uint8_t low, std::uint8_t high,
                      bool wanted, int depth) const;
  std::string of_solved(std::size_t controller, std::size_t prop, bool wanted, int depth) const;
  std::string of_output(std::size_t controller, std::size_t output, std::uint8_t test, bool wanted,
                        int depth) const;
  std::string of_timer(std::size_t controller, std::size_t timer) const;
  std::string of_session(const rows::RawFact& fact, std::size_t controller) const;
  std::string of_peer(std::size_t controller, const rows::RawFact& fact, bool wanted, int depth) const;

  /// What keeps the prop from coming nearer to a state for which `is_it` is true; may be empty.
  template <class IsIt>
  std::string way_to(std::size_t controller, std::size_t prop, IsIt is_it, int depth) const;
  std::string not_due(std::size_t controller, std::size_t prop, RuleSeat rule, int depth) const;
  std::string unasked(std::size_t controller, std::size_t output, std::uint8_t test, int depth) const;
  static const char* colon(int depth);
  std::string still(std::size_t controller, std::size_t prop) const;

  const RoomRun& run_;
  const Firings& firings_;
  Words words_;
  std::int64_t since_ms_;
  std::string as_written_;
};

}  // namespace lw
