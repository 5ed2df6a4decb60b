// What to do at a mistake: see recover.hpp. What is said of it: recover_wording.cpp.
#include "syntax/recover.hpp"

#include <algorithm>
#include <array>
#include <cassert>

#include "syntax/option_table.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

constexpr std::size_t kLevels = 8;
using Beginnings = std::array<std::array<bool, token_count>, kLevels>;
constexpr Beginnings make_beginnings() {
  Beginnings table{};
  for (const Form& form : kForms) {
    table[static_cast<std::size_t>(form.level)][form.word] = true;
    // What a prop declares, a state may declare too.
    const bool shared = form.word == w_let || form.word == w_window || form.word == w_timer ||
                        form.word == w_counter || form.word == w_sequence;
    if (form.level == Level::part && shared) table[static_cast<std::size_t>(Level::inside)][form.word] = true;
  }
  for (const Level level : {Level::part, Level::inside, Level::line}) {
    table[static_cast<std::size_t>(level)][w_accept] = true;
  }
  return table;
}
constexpr Beginnings kBeginnings = make_beginnings();

bool is_list_of_names(Level level) { return level == Level::way || level == Level::given; }

}  // namespace

bool Recovery::begins(Level level, Token token) const {
  if (level == Level::option) return option_of(token).has_value();
  return kBeginnings[static_cast<std::size_t>(level)][token];
}

bool Recovery::begins_any(Token token) const {
  return begins(Level::statement, token) || begins(Level::part, token) || begins(Level::inside, token);
}

// A word that nearly begins an item here: so a misspelt line is not swallowed with the mistake before it.
bool Recovery::nearly_begins(Level level, std::size_t at) const {
  if (!is_name(tokens_.kind(at))) return false;
  std::vector<std::string_view> words;
  for (const Form& form : kForms) {
    if (begins(level, form.word)) words.push_back(written(form.word));
  }
  return !nearest(tokens_.written(at), words).empty();
}

bool Recovery::at_end(Level level, std::size_t at) const {
  const Token token = tokens_.kind(at);
  return token == end_of_file || (token == close_brace && level != Level::statement);
}

bool Recovery::ends_item(std::size_t at) const {
  const Level level = items_.back().level;
  const Token token = tokens_.kind(at);
  return at_end(level, at) || token == comma_ || tokens_.has(at, Tokens::kFirstOnLine) ||
         begins(level, token) || is_list_of_names(level);
}

Token Recovery::word_of_item() const {
  std::size_t at = items_.back().begin;
  while (tokens_.kind(at) == w_accept) at += 3;
  return tokens_.kind(at);
}

Token Recovery::owner_of_options() const {
  if (items_.size() < 2) return end_of_file;
  std::size_t at = items_[items_.size() - 2].begin;
  while (tokens_.kind(at) == w_accept) at += 3;
  return tokens_.kind(at);
}

Recovery::Next Recovery::skip(std::size_t at) const {
  const Level level = items_.back().level;
  const std::size_t begin = items_.back().begin;
  std::size_t depth = 0;
  for (std::size_t pos = at;; ++pos) {
    const Token token = tokens_.kind(pos);
    if (token == end_of_file) return {false, false, Block::none, pos};
    if (depth == 0 && pos > begin && stops(level, pos, at)) return {false, false, Block::none, pos};
    if (token == open_brace) {
      const Token first = tokens_.kind(pos + 1);
      const bool may_hold_blocks =
          level == Level::statement || level == Level::part || level == Level::inside;
      if (depth == 0 && may_hold_blocks) {
        const bool parts = begins(Level::part, first) && !begins(Level::inside, first);
        const bool insides = begins(Level::inside, first) && !begins(Level::part, first) &&
                             !begins(Level::action, first) && !begins(Level::line, first);
        if (parts && level != Level::inside) return {false, false, Block::parts, pos};
        if (insides) return {false, false, Block::insides, pos};
      }
      ++depth;
    } else if (token == close_brace && depth > 0) {
      --depth;
    }
  }
}

bool Recovery::stops(Level level, std::size_t pos, std::size_t mistake) const {
  const Token token = tokens_.kind(pos);
  if (token == close_brace) return level != Level::statement;
  const bool line = tokens_.has(pos, Tokens::kFirstOnLine);
  const Token before = tokens_.kind(pos - 1);
  const bool apart = line || before == comma_;
  if (is_list_of_names(level)) return apart && token != comma_ && token != arrow_;
  if (level == Level::option) return begins(level, token) || (apart && is_word(token));
  if (begins(level, token) && (apart || before == close_brace || pos == mistake)) return true;
  return line && (begins_any(token) || nearly_begins(level, pos));
}

Recovery::Next Recovery::mend(const Stray& stray) {
  if (stray.kind == Stray::Kind::reported) return skip(stray.at);
  if (stray.kind == Stray::Kind::again || mend_token(stray)) {
    return {true, false, Block::none, items_.back().begin};
  }
  say(stray);
  return skip(stray.at);
}

Recovery::Next Recovery::mend_head(const Stray& stray) {
  const Level level = items_.back().level;
  if (stray.kind != Stray::Kind::reported) {
    if (mend_token(stray)) return {true, false, Block::none, items_.back().begin};
    // What begins a line without being the braces is no part of this item: it speaks for itself.
    if (stray.wanted.ending && tokens_.has(stray.at, Tokens::kFirstOnLine)) {
      return {false, true, Block::none, stray.at};
    }
    say(stray);
  }
  for (std::size_t pos = stray.at;; ++pos) {
    const Token token = tokens_.kind(pos);
    const bool found = token == open_brace || (level == Level::inside && token == arrow_);
    if (found) return {false, true, Block::none, pos};
    const Token before = pos > 0 ? tokens_.kind(pos - 1) : end_of_file;
    const bool goes_on = before == comma_ || before == colon_ || before == w_and || before == w_or;
    const bool next_line = tokens_.has(pos, Tokens::kFirstOnLine) && pos > stray.at && !goes_on;
    const bool next_item = tokens_.has(pos, Tokens::kFirstOnLine) && begins_any(token);
    if (token == end_of_file || token == close_brace || next_line || next_item) {
      return {false, false, Block::none, pos};
    }
  }
}

// Takes the token at the mistake for what was meant; then the item is read again.
bool Recovery::mend_token(const Stray& stray) {
  if (items_.back().mends == kMends || is_reported(stray)) return false;
  return mend_swapped(stray) || mend_word(stray) || mend_terminal(stray) || mend_doubled(stray);
}

void Recovery::count_mend(std::size_t at) {
  ++items_.back().mends;
  items_.back().mended = at + 1;
}

bool Recovery::mend_word(const Stray& stray) {
  const Token found = tokens_.kind(stray.at);
  const bool next_item = tokens_.has(stray.at, Tokens::kFirstOnLine) && begins_any(found);
  if (!is_word(found) || next_item) return false;
  const std::string_view word = tokens_.written(stray.at);
  const std::string_view meant = nearest(word, candidates(stray));
  if (meant.empty() || meant == word) return false;
  say_misspelt(stray, meant);
  const Token token = meant == "fail-safe"     ? fail_safe_
                      : meant == "fail-secure" ? fail_secure_
                                               : token_of(meant);
  tokens_.kinds[stray.at] = static_cast<char>(token);
  tokens_.flags[stray.at] |= Tokens::kReported;
  count_mend(stray.at);
  return true;
}

bool Recovery::mend_terminal(const Stray& stray) {
  const bool small = is_name(tokens_.kind(stray.at)) && !tokens_.has(stray.at, Tokens::kFirstOnLine);
  if (!stray.wanted.terminal || !small) return false;
  const std::string_view word = tokens_.written(stray.at);
  std::string meant(word);
  for (char& c : meant) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  }
  mistakes_.say(tokens_.span(stray.at), small_terminal(word, meant));
  tokens_.kinds[stray.at] = static_cast<char>(terminal_);
  tokens_.flags[stray.at] |= Tokens::kReported;
  tokens_.mend(tokens_.places[stray.at].begin, std::move(meant));
  count_mend(stray.at);
  return true;
}

// `knock button at …`: the word that says what it is stands behind the name.
bool Recovery::mend_swapped(const Stray& stray) {
  const std::size_t at = stray.at;
  if (stray.kind != Stray::Kind::begins || !is_name(tokens_.kind(at))) return false;
  if (!tokens_.has(at, Tokens::kFirstOnLine) || tokens_.has(at + 1, Tokens::kFirstOnLine)) return false;
  if (!begins(items_.back().level, tokens_.kind(at + 1))) return false;
  mistakes_.say(tokens_.span(at, at + 2), wrong_way_round(tokens_.written(at), tokens_.written(at + 1)));
  std::swap(tokens_.kinds[at], tokens_.kinds[at + 1]);
  std::swap(tokens_.places[at], tokens_.places[at + 1]);
  tokens_.flags[at] |= Tokens::kReported;
  count_mend(at);
  return true;
}

// A token that stands twice is taken out: those of the item before it move up by one.
bool Recovery::mend_doubled(const Stray& stray) {
  std::size_t at = stray.at;
  std::size_t& begin = items_.back().begin;
  const auto same = [this](std::size_t a, std::size_t b) {
    return tokens_.kind(a) == tokens_.kind(b) && tokens_.kind(a) != end_of_file &&
           tokens_.kind(a) != open_brace && tokens_.kind(a) != close_brace &&
           tokens_.written(a) == tokens_.written(b);
  };
  if (at <= begin || !same(at - 1, at)) {
    const bool mark = tokens_.kind(at) >= comma_ && tokens_.kind(at) <= arrow_;
    if (at == begin || !mark || !same(at, at + 1)) return false;
    ++at;
  }
  mistakes_.say(tokens_.span(at), twice_written(shown(at)));
  for (std::size_t i = at; i > begin; --i) {
    tokens_.kinds[i] = tokens_.kinds[i - 1];
    tokens_.places[i] = tokens_.places[i - 1];
    tokens_.flags[i] = tokens_.flags[i - 1];
  }
  ++begin;
  tokens_.flags[at] |= Tokens::kReported;
  count_mend(at);
  return true;
}

// Another finding here would be a cascade: the token was mended, or stands right behind one that was.
bool Recovery::is_reported(const Stray& stray) const {
  const Item& item = items_.back();
  return tokens_.has(stray.at, Tokens::kReported) || (item.mends > 0 && stray.at <= item.mended);
}

}  // namespace lw::syntax
