// What people write that the language does not know: curly quotes, `;`, capitals in a name, a decimal comma.
//
// Each is reported once and read as what was meant, so that the rest of the line still makes sense.
// Invariant: reading always gets on by a byte at least. Tests: tests/unit/syntax/scan_test.cpp.
#pragma once

#include <cstdint>

#include "syntax/mistakes.hpp"
#include "syntax/scan.hpp"

namespace lw::syntax {

class Foreign {
 public:
  Foreign(Tokens& tokens, Mistakes& mistakes) : tokens_(tokens), mistakes_(mistakes) {}

  /// What stands for the bytes up to `end`; end_of_file: nothing does.
  struct Reading {
    Token token = grammar::end_of_file;
    std::uint32_t end = 0;
    bool harmless = false;  // what stands behind it reads as if it were not there
  };
  /// What no rule of grammar::written takes, at `offset`.
  Reading read(std::uint32_t offset);

  /// True if a word that ends here goes on with what no word has: a capital, a hyphen, a letter beyond z.
  bool goes_on(std::uint32_t offset) const;
  /// A number went on with comma and digits; reports it and gives its end. Its mended text has the point.
  std::uint32_t decimal_comma(std::uint32_t begin, std::uint32_t comma);
  /// The end of an exponent that begins at `offset`, which it reports, else `offset`.
  std::uint32_t exponent(std::uint32_t begin, std::uint32_t offset);
  /// True if the unknown word after a number was meant as its unit rather than as a word of the language.
  bool is_meant_as_unit(std::string_view word) const;
  /// True, and reported, if a thing is counted as in `2 nugget`, where `2 x nugget` is meant.
  bool counts_without_x(std::uint32_t number_end, std::uint32_t begin, std::uint32_t end);
  void unknown_unit(std::uint32_t begin, std::uint32_t end);
  /// True, and reported, if a space of another kind stands here; its bytes in `size`.
  bool odd_space(std::uint32_t offset, std::uint32_t& size);

 private:
  Reading read_word(std::uint32_t offset);
  Reading read_terminal(std::uint32_t offset, std::uint32_t end);
  Reading read_open_text(std::uint32_t offset);
  Reading read_curly(std::uint32_t offset, std::uint32_t first_size);
  Reading read_dash(std::uint32_t offset, std::uint32_t size);
  Reading read_mark(std::uint32_t offset);
  Reading read_unknown(std::uint32_t offset);
  std::uint32_t end_of_line(std::uint32_t offset);
  void say(std::uint32_t begin, std::uint32_t end, Wording wording);

  Tokens& tokens_;
  Mistakes& mistakes_;
  std::uint32_t line_end_ = 0;  // of the last line asked for, so that a long line is searched once
};

}  // namespace lw::syntax
