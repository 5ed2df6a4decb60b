// Names and what they stand for: one space for the room, one for each prop, and the nearest known name to a
// slip.
//
// Invariant: a symbol is `silent` once a mistake in its declaration was reported; what depends on it then
// says nothing, so that one mistake is one finding. Internal to model/. Tests:
// tests/unit/model/names_test.cpp.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/model.hpp"

namespace lw::model {

enum class NameKind : std::uint8_t {
  board,
  controller,
  link,
  thing,
  input,
  output,
  clip,
  cue,
  let,
  design,
  prop,
  window,
  timer,
  counter,
  sequence,
  state,
};

struct Symbol {
  NameKind kind{};
  std::uint16_t index =
      0;      // of the room's or the prop's vector of that kind; of Workspace's lets and designs
  Span span;  // where it is declared
  bool silent = false;
  std::optional<BodyId> body;  // declared in a state or an `in` block, and known there alone
  mutable bool used = false;   // looked up by what counts as a use
};

/// A space of names. Sorted, so that whatever goes through all of them does so in one order.
using Names = std::map<std::string, Symbol, std::less<>>;

/// As lw::nearest, for names that are kept as strings.
std::string nearest_name(std::string_view word, const std::vector<std::string>& known);

/// `a` and `b` in a sentence: "`a`, `b` or `c`".
std::string list_of(const std::vector<std::string>& words, const char* last_joint);
/// In back quotes.
std::string quoted(std::string_view word);

/// What a device is called where people speak of it: "a scale", "an operator's button".
const char* kind_phrase(InputKind kind);
const char* kind_phrase(OutputKind kind);

}  // namespace lw::model
