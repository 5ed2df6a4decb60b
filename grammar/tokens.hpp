// What the grammar is written over: a room as a row of tokens, one byte a token.
//
// The scanner (compiler/syntax/scan.hpp) turns text into this row once, so that a word is looked up once and
// the grammar of latch.hpp tells every form by comparing single bytes. Reserved words come first, then the
// free words that the grammar knows by their place, which are names everywhere else, then names without a
// meaning. Rejected: a grammar over characters, where each place tries its words letter by letter. Tests:
// tests/unit/syntax/scan_test.cpp.
#pragma once

#include <cstdint>

namespace lw::grammar {

/// Words that mean something at one place and are names at all others.
// clang-format off
#define LW_FREE_WORDS(X) \
  X(starts) X(inputs) X(outputs) X(scales) X(readers) X(keypads) X(gauges) X(voices) X(links) X(table) \
  X(memory) X(scan) X(total) X(up) X(sounds) X(supply) X(run) X(lost) X(tag) X(count) X(home) X(spread) \
  X(capacity) X(division) X(class) X(empty) X(settle) X(drift) X(repeats) X(rests) X(from) X(wraps) \
  X(closed) X(means) X(open) X(debounce) X(gap) X(draws) X(rest) X(longest) X(exit) X(wrong) X(ignored) \
  X(joins) X(reads) X(nothing) X(anything) X(but) X(enters) X(blinking) X(past) X(has) X(left) X(released) \
  X(secured) X(playing) X(always) X(reach) X(before) X(each) X(end) X(reset) X(override) X(time) X(mass)
// clang-format on

enum Token : std::uint8_t {
  end_of_file,
  number,     // a whole number without a unit
  decimal,    // a number with a decimal point, without a unit
  quantity_,  // a number and its unit, or several parts: `2 min 30 s`
  percent_,   // a number and %
  text_,      // "…"
  terminal_,  // capitals and digits: I1
  open_brace,
  close_brace,
  open_bracket,
  close_bracket,
  comma_,
  colon_,
  dot_,
  plus_,
  plus_minus,  // ± or +-
  times_,      // x or × after a number
  arrow_,      // → or ->
  fail_safe_,
  fail_secure_,
#define LW_WORD(word) w_##word,
#include "grammar/words.def"
// From here on every token is a name.
#define LW_FREE(word) w_##word,
  LW_FREE_WORDS(LW_FREE)
#undef LW_FREE
      plain_name,
  token_count,
};
static_assert(token_count <= 256, "a token is one byte");

inline constexpr Token kFirstReserved = w_language;
inline constexpr Token kFirstName = w_starts;

inline constexpr bool is_reserved(Token token) { return token >= kFirstReserved && token < kFirstName; }
inline constexpr bool is_name(Token token) { return token >= kFirstName; }
inline constexpr bool is_word(Token token) { return token >= fail_safe_; }

}  // namespace lw::grammar
