// Who hears whom, and what each controller tells the others (section 9).
//
// A controller tells its raw facts that another one's conditions read, each once, whoever reads it: bits
// about inputs first, then states, then solved props. What is made of them is worked out where it is read.
// Internal to table/lower*. Tests: tests/unit/lower/link_test.cpp.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "table/lower_facts.hpp"
#include "table/lower_plan.hpp"

namespace lw::lowering {

struct Hearing {
  std::size_t controller = 0;      // the one that is heard
  std::int64_t lost_after_ms = 0;  // the smallest of the links that join the two
  Span span;                       // of that link
};

struct Bit {
  rows::RawFact fact;
  Words words;
};

struct Links {
  std::vector<std::vector<Hearing>> heard;         // by hearer, rising; a Hearing's place is its peer row
  std::vector<std::vector<Bit>> bits;              // by sender, in the order of its message
  std::vector<std::array<std::size_t, 3>> counts;  // by sender: of inputs, states, solved

  std::optional<std::uint8_t> peer(std::size_t hearer, std::size_t sender) const;
  /// The place in the sender's message of a fact that crosses.
  std::uint8_t bit(std::size_t sender, const rows::RawFact& fact) const;
};

/// Reports what is read between controllers that share no link, and controllers that do not hear the first.
Links make_links(const Plan& plan, Report& report);

}  // namespace lw::lowering
