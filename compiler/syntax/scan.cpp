// Text to tokens by the rules of grammar::written: see scan.hpp. What is not of the language goes to
// foreign.cpp.
#include "syntax/scan.hpp"

#include <algorithm>
#include <cassert>
#include <optional>

#include "grammar/latch.hpp"
#include "syntax/foreign.hpp"
#include "text/quantity.hpp"
#include "text/utf8.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;
using Input = tao::pegtl::memory_input<tao::pegtl::tracking_mode::lazy, tao::pegtl::eol::lf, const char*>;

// Bytes that are no text, a finding a line. Where there are many the file is something else than a room.
constexpr std::size_t kBadLines = 20;

const char* fault_phrase(TextFault fault) {
  switch (fault) {
    case TextFault::not_utf8:
      return "bytes that are not UTF-8";
    case TextFault::nul:
      return "a zero byte";
    case TextFault::byte_order_mark:
      return "a byte order mark";
    case TextFault::control:
      return "a control code";
  }
  return "";
}

// The first thing from `offset` on that is no text; plain bytes are passed over without a look at their
// meaning.
std::optional<BadText> next_bad(std::string_view text, std::size_t offset) {
  while (offset < text.size()) {
    const char c = text[offset];
    if ((c >= ' ' && c < 0x7F) || c == '\n' || c == '\t') {
      ++offset;
      continue;
    }
    std::optional<BadText> bad = find_bad_text(text.substr(offset, 4));
    if (bad && bad->offset == 0) {
      bad->offset = offset;
      return bad;
    }
    offset += code_point_at(text, offset).size;
  }
  return std::nullopt;
}

void check_text(Tokens& tokens, Mistakes& mistakes) {
  struct Bad {
    Extent extent;
    TextFault fault;
  };
  std::vector<Bad> lines;
  std::size_t more = 0;
  std::size_t line_end = 0;
  const std::string_view text = tokens.text;
  std::size_t offset = 0;
  for (;;) {
    const std::optional<BadText> bad = next_bad(text, offset);
    if (!bad) break;
    offset = bad->offset + bad->size;
    const Extent extent{static_cast<std::uint32_t>(bad->offset),
                        static_cast<std::uint32_t>(bad->offset + bad->size)};
    if (bad->fault == TextFault::byte_order_mark && bad->offset == 0) {
      mistakes.say({tokens.file, extent.begin, extent.end}, byte_order_mark());
    } else if (!lines.empty() && lines.back().extent.end == extent.begin &&
               lines.back().fault == bad->fault) {
      lines.back().extent.end = extent.end;
    } else if (!lines.empty() && bad->offset < line_end) {
      continue;
    } else if (lines.size() == kBadLines) {
      ++more;
      line_end = std::min(text.find('\n', bad->offset), text.size());
      offset = line_end;
    } else {
      lines.push_back({extent, bad->fault});
      line_end = std::min(text.find('\n', bad->offset), text.size());
    }
  }
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const bool last = i + 1 == lines.size();
    mistakes.say({tokens.file, lines[i].extent.begin, lines[i].extent.end},
                 no_text(fault_phrase(lines[i].fault), last ? more : 0));
  }
  tokens.readable = more == 0;
}

class Scanner {
 public:
  Scanner(Tokens& tokens, Mistakes& mistakes)
      : tokens_(tokens),
        foreign_(tokens, mistakes),
        in_(tokens.text.data(), tokens.text.data() + tokens.text.size(), "") {}

  void run() {
    while (skip_blanks()) scan_token();
  }

 private:
  template <typename Rule>
  bool match() {
    return tao::pegtl::normal<Rule>::template match<tao::pegtl::apply_mode::nothing,
                                                    tao::pegtl::rewind_mode::required, tao::pegtl::nothing,
                                                    tao::pegtl::normal>(in_);
  }
  std::uint32_t here() const { return static_cast<std::uint32_t>(in_.byte()); }
  char peek(std::size_t ahead = 0) const { return ahead < in_.size() ? in_.peek_char(ahead) : '\0'; }
  std::string_view since(std::uint32_t begin) const { return tokens_.text.substr(begin, here() - begin); }
  void move_to(std::uint32_t offset) { in_.iterator() = in_.begin() + offset; }

  // Blanks and comments; false at the end.
  bool skip_blanks() {
    for (;;) {
      const char c = peek();
      if (c == '\n') {
        flag_ |= Tokens::kFirstOnLine;
        in_.bump(1);
      } else if (c == ' ' || c == '\t' || (c == '\r' && peek(1) == '\n')) {
        in_.bump(1);
      } else if (!match<written::comment>()) {
        return !in_.empty();
      }
    }
  }

  void push(Token token, std::uint32_t begin) {
    tokens_.push(token, {begin, here()}, flag_);
    flag_ = 0;
  }
  void push_sign(Token token, std::size_t bytes) {
    const std::uint32_t begin = here();
    in_.bump(bytes);
    push(token, begin);
  }

  void scan_token() {
    const char c = peek();
    switch (c) {
      case '{':
        return push_sign(open_brace, 1);
      case '}':
        return push_sign(close_brace, 1);
      case '(':
        return push_sign(open_bracket, 1);
      case ')':
        return push_sign(close_bracket, 1);
      case ',':
        return push_sign(comma_, 1);
      case ':':
        return push_sign(colon_, 1);
      case '.':
        return push_sign(dot_, 1);
      case '"':
        return scan_text();
      case '-':
        return scan_minus();
      default:
        break;
    }
    if (c == 'x' && tokens_.size() > 0 && tokens_.kind(tokens_.size() - 1) == number &&
        match<written::times>()) {
      return push(times_, here() - 1);
    }
    if (c >= 'a' && c <= 'z') return scan_word();
    if (c >= 'A' && c <= 'Z') return scan_terminal();
    if (c >= '0' && c <= '9') return scan_number(here());
    const std::uint32_t begin = here();
    if (match<written::plus_minus>()) return push(plus_minus, begin);
    if (match<written::arrow>()) return push(arrow_, begin);
    if (c == '+') return push_sign(plus_, 1);
    if (match<written::times>()) return push(times_, begin);
    scan_foreign();
  }

  void scan_foreign() {
    const Foreign::Reading found = foreign_.read(here());
    const std::uint32_t begin = here();
    assert(found.end > begin);
    move_to(found.end);
    if (found.token == end_of_file) {
      if (!found.harmless) flag_ |= Tokens::kBehindReported;
      return;
    }
    flag_ |= Tokens::kReported;
    push(found.token, begin);
  }

  void scan_word() {
    const std::uint32_t begin = here();
    if (peek() == 'f') {
      if (match<written::fail_safe>()) return push(fail_safe_, begin);
      if (match<written::fail_secure>()) return push(fail_secure_, begin);
    }
    const bool is_name = match<written::name>();
    assert(is_name);
    (void)is_name;
    if (foreign_.goes_on(here())) {
      move_to(begin);
      return scan_foreign();
    }
    push(token_of(since(begin)), begin);
  }

  void scan_terminal() {
    const std::uint32_t begin = here();
    const bool is_terminal = match<written::terminal>();
    assert(is_terminal);
    (void)is_terminal;
    if (foreign_.goes_on(here())) {
      move_to(begin);
      return scan_foreign();
    }
    push(terminal_, begin);
  }

  void scan_text() {
    const std::uint32_t begin = here();
    if (match<written::text>()) return push(text_, begin);
    scan_foreign();
  }

  // `->`, or the sign of a number.
  void scan_minus() {
    const std::uint32_t begin = here();
    if (match<written::arrow>()) return push(arrow_, begin);
    std::uint32_t at = 1;
    while (peek(at) == ' ' || peek(at) == '\t') ++at;
    const bool signs_number = peek(at) >= '0' && peek(at) <= '9';
    const bool between_numbers = tokens_.size() > 0 && tokens_.kind(tokens_.size() - 1) >= number &&
                                 tokens_.kind(tokens_.size() - 1) <= percent_ && flag_ == 0;
    if (!signs_number || between_numbers) return scan_foreign();
    in_.bump(at);
    scan_number(begin);
  }

  void scan_number(std::uint32_t begin) {
    (void)match<written::digits>();
    bool whole = !match<written::fraction>();
    if (peek() == ',' && peek(1) >= '0' && peek(1) <= '9') {
      move_to(foreign_.decimal_comma(begin, here()));
      whole = false;
      flag_ |= Tokens::kReported;
    }
    if (const std::uint32_t end = foreign_.exponent(begin, here()); end != here()) {
      move_to(end);
      flag_ |= Tokens::kReported;
    }
    const std::uint32_t end_of_number = here();
    skip_gap();
    if (match<written::percent>()) return push(percent_, begin);
    const std::uint32_t unit_begin = here();
    if (!take_unit(end_of_number)) {
      move_to(end_of_number);
      push(whole ? number : decimal, begin);
      if (counts_without_x_) {
        flag_ |= Tokens::kReported;
        push(times_, end_of_number);
      }
      return;
    }
    const bool joins = finish_unit(unit_begin);
    std::uint32_t end = here();
    // Parts of h, min, s, ms or of lb, oz stand for one quantity.
    if (joins) {
      while (next_part()) end = here();
    }
    move_to(end);
    push(quantity_, begin);
  }

  // Between a number and its unit. A comment ends the quantity.
  void skip_gap() {
    std::uint32_t size = 0;
    while (match<written::blank>() ||
           (static_cast<unsigned char>(peek()) >= 0x80 && foreign_.odd_space(here(), size))) {
      in_.bump(size);
      size = 0;
    }
  }

  // Takes a unit, or a word that can only be meant as one. Words of the language are none, and no word is
  // that begins another line.
  bool take_unit(std::uint32_t end_of_number) {
    const std::uint32_t begin = here();
    if (!match<written::unit>()) return false;
    const std::string_view word = since(begin);
    const bool same_line =
        tokens_.text.substr(end_of_number, begin - end_of_number).find('\n') == std::string_view::npos;
    counts_without_x_ = !unit_named(word) && same_line && token_of(word) == plain_name && word != "x" &&
                        foreign_.counts_without_x(end_of_number, begin, here());
    if (counts_without_x_) return false;
    const bool unit =
        unit_named(word).has_value() || (same_line && word != "x" && peek() != '_' && peek() != '-' &&
                                         token_of(word) == plain_name && foreign_.is_meant_as_unit(word));
    if (!unit) move_to(begin);
    return unit;
  }

  // The unit that ends here; reports one that is unknown. True if it may be one of several parts.
  bool finish_unit(std::uint32_t begin) {
    const std::string_view word = since(begin);
    if (!unit_named(word)) {
      foreign_.unknown_unit(begin, here());
      flag_ |= Tokens::kReported;
    }
    return is_joining(word);
  }
  static bool is_joining(std::string_view unit) {
    return unit == "s" || unit == "ms" || unit == "min" || unit == "h" || unit == "lb" || unit == "oz";
  }

  bool next_part() {
    (void)match<written::blank>();
    if (!match<written::digits>()) return false;
    (void)match<written::fraction>();
    (void)match<written::blank>();
    const std::uint32_t begin = here();
    return match<written::unit>() && is_joining(since(begin));
  }

  Tokens& tokens_;
  Foreign foreign_;
  Input in_;
  std::uint8_t flag_ = Tokens::kFirstOnLine;
  bool counts_without_x_ = false;  // `2 nugget`
};

}  // namespace

std::string_view Tokens::meant(std::size_t at) const {
  if (has(at, kReported)) {
    const auto found = mended.find(places[at].begin);
    if (found != mended.end()) return found->second;
  }
  return written(at);
}

Span Tokens::span(std::size_t at) const {
  if (at < places.size()) return {file, places[at].begin, places[at].end};
  const auto end = static_cast<std::uint32_t>(text.size());
  return {file, end, end};
}

std::uint32_t Tokens::indent(std::size_t at) const {
  std::uint32_t begin = places[at].begin;
  while (begin > 0 && text[begin - 1] != '\n') --begin;
  std::uint32_t column = 0;
  for (; text[begin] == ' ' || text[begin] == '\t'; ++begin) {
    column = text[begin] == '\t' ? (column / 8 + 1) * 8 : column + 1;
  }
  return column;
}

void Tokens::push(Token token, Extent extent, std::uint8_t flag) {
  kinds.push_back(static_cast<char>(token));
  places.push_back(extent);
  flags.push_back(flag);
}

void Tokens::mend(std::uint32_t begin, std::string meant) {
  mended_text->push_back(std::move(meant));
  mended[begin] = mended_text->back();
}

Tokens scan(const SourceSet& sources, FileId file, Mistakes& mistakes) {
  Tokens tokens;
  tokens.file = file;
  tokens.text = sources.text(file);
  tokens.mended_text = std::make_shared<std::deque<std::string>>();
  check_text(tokens, mistakes);
  if (!tokens.readable) return tokens;
  // Rooms have a token about every five bytes.
  tokens.kinds.reserve(tokens.text.size() / 4 + 16);
  tokens.places.reserve(tokens.text.size() / 4 + 16);
  tokens.flags.reserve(tokens.text.size() / 4 + 16);
  Scanner(tokens, mistakes).run();
  return tokens;
}

}  // namespace lw::syntax
