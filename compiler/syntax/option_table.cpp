// grammar/options.def as a table: see option_table.hpp.
#include "syntax/option_table.hpp"

#include <array>

namespace lw::syntax {
namespace {

using ast::OptionKind;

constexpr const char* kWritten[] = {
#define LW_OPTION(kind, written, shape) written,
#include "grammar/options.def"
};
constexpr std::size_t kOptionCount = std::size(kWritten);

std::string_view first_word(OptionKind kind) {
  const std::string_view written = kWritten[static_cast<std::size_t>(kind)];
  return written.substr(0, written.find(' '));
}

struct Takes {
  Token of;
  OptionKind kind;
};
constexpr Takes kTakes[] = {
#define LW_TAKES(of, kind, need) {grammar::w_##of, OptionKind::kind},
#include "grammar/options.def"
};

using ByToken = std::array<std::optional<OptionKind>, grammar::token_count>;
ByToken make_by_token() {
  ByToken table;
  for (std::size_t i = 0; i < kOptionCount; ++i) {
    const auto kind = static_cast<OptionKind>(i);
    const std::string_view word = first_word(kind);
    const Token token = word == "fail-safe"     ? grammar::fail_safe_
                        : word == "fail-secure" ? grammar::fail_secure_
                                                : token_of(word);
    table[token] = kind;
  }
  return table;
}

}  // namespace

std::optional<OptionKind> option_of(Token first_word) {
  static const ByToken table = make_by_token();
  return table[first_word];
}

bool takes(Token statement, OptionKind option) {
  for (const Takes& row : kTakes) {
    if (row.of == statement && row.kind == option) return true;
  }
  return false;
}

std::vector<std::string_view> option_words_of(Token statement) {
  std::vector<std::string_view> words;
  for (const Takes& row : kTakes) {
    if (row.of == statement) words.push_back(first_word(row.kind));
  }
  return words;
}

std::string_view unit_for(OptionKind option) {
  switch (option) {
    case OptionKind::table:
    case OptionKind::memory:
      return "KiB";
    case OptionKind::inputs:
    case OptionKind::outputs:
    case OptionKind::scales:
    case OptionKind::readers:
    case OptionKind::keypads:
    case OptionKind::gauges:
    case OptionKind::voices:
    case OptionKind::links:
    case OptionKind::total:
      return "A";
    case OptionKind::draws:
      return "mA";
    case OptionKind::supply:
      return "V";
    case OptionKind::run:
      return "m";
    case OptionKind::capacity:
    case OptionKind::division:
    case OptionKind::empty:
    case OptionKind::drift:
    case OptionKind::repeats:
    case OptionKind::rests:
      return "g";
    case OptionKind::from:
      return "deg";
    case OptionKind::session:
      return "min";
    case OptionKind::scan:
    case OptionKind::delay:
    case OptionKind::settle:
    case OptionKind::debounce:
      return "ms";
    default:
      return "s";
  }
}

}  // namespace lw::syntax

namespace lw::ast {

const char* option_words(OptionKind kind) { return syntax::kWritten[static_cast<std::size_t>(kind)]; }

}  // namespace lw::ast
