// Text as bytes of UTF-8: one code point after the other, and what of it cannot be taken.
//
// Strict, as RFC 3629 says: no overlong forms, no surrogates, nothing above U+10FFFF. A byte that begins no
// code point is one of its own, so a reader always gets on. A library was not worth it for one function.
// Tests: tests/unit/text/utf8_test.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace lw {

inline bool is_digit(char c) { return c >= '0' && c <= '9'; }

struct CodePoint {
  char32_t value = 0;     // the byte itself where it is not valid
  std::uint8_t size = 1;  // bytes, 1 to 4
  bool valid = false;
};
/// The code point that begins at `offset`, which is below the text's size.
CodePoint code_point_at(std::string_view text, std::size_t offset);

/// Code points in text; a stray byte that continues none counts with the one before it.
std::size_t count_code_points(std::string_view text);

/// Columns that one code point takes on a terminal: 0, 1 or 2, by Unicode's East Asian width; 0 for a control
/// code.
int code_point_width(char32_t value);

enum class TextFault : std::uint8_t {
  not_utf8,
  nul,
  byte_order_mark,
  control,  // a control code other than tab and line end
};
struct BadText {
  TextFault fault{};
  std::size_t offset = 0;
  std::size_t size = 1;
};
/// The first thing from `offset` on that text of a room may not hold. Line ends are LF and CR LF; a CR alone
/// is none.
std::optional<BadText> find_bad_text(std::string_view text, std::size_t offset = 0);

/// The text with what would harm or hide on a terminal written out: `<1B>` for a control code or a byte that
/// is not UTF-8, `<U+202E>` for what turns the direction of writing or shows nothing. Tabs and line ends too.
std::string shown_safely(std::string_view text);
/// The same for the one code point given; nothing where it can be shown as it is.
std::string escape_of(CodePoint point);

}  // namespace lw
