// Text to tokens: each name, number and mark of a file once, its word looked up once.
//
// Invariant: tokens stand in text order, do not overlap, and their number is at most that of the bytes. What
// the language does not know (curly quotes, a decimal comma, capitals in a name) is reported here and read as
// what was meant, so that the grammar sees an ordinary token. Tests: tests/unit/syntax/scan_test.cpp.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "grammar/tokens.hpp"
#include "text/source.hpp"

namespace lw::syntax {

using grammar::Token;

struct Extent {
  std::uint32_t begin = 0;
  std::uint32_t end = 0;
};

class Tokens {
 public:
  /// First on its line.
  static constexpr std::uint8_t kFirstOnLine = 1;
  /// A mistake in this token is already reported: another would be a cascade.
  static constexpr std::uint8_t kReported = 2;
  /// The same of what stood right before it and was left out.
  static constexpr std::uint8_t kBehindReported = 4;

  FileId file{};
  std::string_view text;       // of the file
  std::string kinds;           // one Token a byte, what the grammar reads
  std::vector<Extent> places;  // beside it
  std::vector<std::uint8_t> flags;
  /// What a token that was mended should have been, by where it begins; the strings never move.
  std::unordered_map<std::uint32_t, std::string_view> mended;
  std::shared_ptr<std::deque<std::string>> mended_text;
  bool readable = true;  // false: so much of the file is no text that reading it would say nothing

  std::size_t size() const { return kinds.size(); }
  Token kind(std::size_t at) const {
    return at < kinds.size() ? static_cast<Token>(static_cast<unsigned char>(kinds[at]))
                             : grammar::end_of_file;
  }
  bool has(std::size_t at, std::uint8_t flag) const { return at < flags.size() && (flags[at] & flag) != 0; }
  /// As written; of the end of the file empty.
  std::string_view written(std::size_t at) const {
    return at < places.size() ? text.substr(places[at].begin, places[at].end - places[at].begin)
                              : std::string_view();
  }
  /// As meant: the mended text, or as written.
  std::string_view meant(std::size_t at) const;
  /// Of the tokens [begin, end), of which there is one at least.
  Span span(std::size_t begin, std::size_t end) const {
    return {file, places[begin].begin, places[end - 1].end};
  }
  /// The empty span at the end of the text for the end of the file.
  Span span(std::size_t at) const;

  /// Columns before the first token of a line; a tab goes to the next multiple of eight.
  std::uint32_t indent(std::size_t at) const;

  void push(Token token, Extent extent, std::uint8_t flag);
  void mend(std::uint32_t begin, std::string meant);
};

class Mistakes;
Tokens scan(const SourceSet& sources, FileId file, Mistakes& mistakes);

/// The word's token; of a word that the language does not know `plain_name`.
Token token_of(std::string_view word);
/// How the token is written in a room: "keep", "{", "±".
std::string_view written(Token token);

}  // namespace lw::syntax
