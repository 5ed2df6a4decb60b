// What one fact of the language is in the rows of the controller that knows it first hand.
//
// The same answer serves that controller's own facts, the bits that it tells others, and the questions of
// rehearsals and promises, so these can never mean different things. Internal to table/lower*. Tests:
// tests/unit/lower/facts_test.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "table/lower_plan.hpp"
#include "text/source.hpp"

namespace lw::lowering {

struct Meaning {
  enum class Kind : std::uint8_t {
    constant,  // `truth`, always
    any_of,    // true when one of the raw facts is
    sequence,  // an own fact of a sequence; its place is in the visible state `any` as well
  };
  Kind kind = Kind::constant;
  bool truth = false;
  std::size_t owner = 0;           // the controller
  std::vector<rows::RawFact> any;  // until the owner is numbered, sequence_in speaks of the text order
  std::size_t sequence = 0;        // its place in the owner's text order
  std::uint8_t low = 0, high = 0;
};

/// `reader` is the controller that asks: it counts session time, and hears signals, itself. Not for `finish`
/// and `controller_lost`, which are several facts or none of any one controller. `span` is where a time
/// stands.
Meaning meaning(const Plan& plan, const model::Fact& fact, Span span, std::size_t reader);

/// Whether the fact is a level, which the visible state shows and which may cross a link (9.1).
bool is_level(const Meaning& meaning);

/// The fact as people say it: "fair", "assay weighing", "fuse past 3 min". `with_prop` puts the prop's name
/// before what is declared in it: "assay.fair".
std::string words(const model::Room& room, const model::Fact& fact, bool with_prop);

}  // namespace lw::lowering
