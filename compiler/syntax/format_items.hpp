// What the layout of a file is made of: items with at most one block each, and the comments between tokens.
//
// An item is a statement, a part, a line, an action or an option, with the comma behind it; a block is what
// stands in its braces. Invariant: the items of a block are all of its tokens. Tests:
// tests/unit/syntax/format_test.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "syntax/read.hpp"
#include "syntax/scan.hpp"

namespace lw::syntax {

/// Tokens [begin, end). `open` and `close` are its braces' tokens where it has a block, else both 0.
struct FormatItem {
  NodeKind kind{};
  std::size_t begin = 0;
  std::size_t end = 0;
  std::size_t open = 0;
  std::size_t close = 0;
  std::vector<FormatItem> inner;

  bool has_block() const { return close != 0; }
  /// Options and actions may fill a line; all others are a line each where a block is broken.
  bool fills() const;
};

/// The items of a file that reads without a mistake.
std::vector<FormatItem> format_items(const Tokens& tokens, const std::vector<Node>& nodes);

struct Comment {
  std::string_view text;        // from `#`, without blanks at its end
  std::size_t column = 0;       // that it begins in, from 0
  bool own_line = false;        // nothing but blanks before it on its line
  bool directly_below = false;  // on the line after the comment before it, in the same column
  bool blank_before = false;    // an empty line before it
};

/// What stands before a token.
struct Gap {
  std::vector<Comment> comments;
  bool new_line = false;      // a line ends in it
  bool blank_before = false;  // an empty line right before the token, or behind its last comment
};
Gap format_gap(const Tokens& tokens, std::size_t at);

/// Where columns of neighbouring lines may be brought below each other, as tokens; 0 where the item lacks
/// one.
struct Columns {
  static constexpr std::size_t kCount = 3;
  std::size_t at[kCount] = {};
};
Columns format_columns(const Tokens& tokens, const FormatItem& item);

}  // namespace lw::syntax
