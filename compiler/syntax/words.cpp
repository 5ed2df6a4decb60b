// The words of the language, looked up by one hash of a table that the compiler builds: see scan.hpp.
#include <array>

#include "syntax/scan.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

constexpr std::array<std::string_view, token_count> make_spellings() {
  std::array<std::string_view, token_count> spellings{};
  spellings[open_brace] = "{";
  spellings[close_brace] = "}";
  spellings[open_bracket] = "(";
  spellings[close_bracket] = ")";
  spellings[comma_] = ",";
  spellings[colon_] = ":";
  spellings[dot_] = ".";
  spellings[plus_] = "+";
  spellings[plus_minus] = "±";
  spellings[times_] = "x";
  spellings[arrow_] = "->";
  spellings[fail_safe_] = "fail-safe";
  spellings[fail_secure_] = "fail-secure";
#define LW_WORD(word) spellings[w_##word] = #word;
#include "grammar/words.def"
#define LW_FREE(word) spellings[w_##word] = #word;
  LW_FREE_WORDS(LW_FREE)
#undef LW_FREE
  return spellings;
}
constexpr auto kSpellings = make_spellings();

constexpr std::size_t kSlots = 1024;
constexpr std::size_t slot_of(std::string_view word) {
  std::size_t hash = word.size();
  for (const char letter : word) hash = hash * 31 + static_cast<unsigned char>(letter);
  return hash % kSlots;
}
constexpr std::array<std::uint8_t, kSlots> make_table() {
  std::array<std::uint8_t, kSlots> table{};
  for (std::size_t token = kFirstReserved; token < plain_name; ++token) {
    std::size_t slot = slot_of(kSpellings[token]);
    while (table[slot] != 0) slot = (slot + 1) % kSlots;
    table[slot] = static_cast<std::uint8_t>(token);
  }
  return table;
}
constexpr auto kTable = make_table();

}  // namespace

Token token_of(std::string_view word) {
  for (std::size_t slot = slot_of(word); kTable[slot] != 0; slot = (slot + 1) % kSlots) {
    if (kSpellings[kTable[slot]] == word) return static_cast<Token>(kTable[slot]);
  }
  return plain_name;
}

std::string_view written(Token token) { return kSpellings[token]; }

}  // namespace lw::syntax
