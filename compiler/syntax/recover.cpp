// What to do at a mistake: see recover.hpp. What is taken for what was meant: recover_mend.cpp; what is said:
// recover_wording.cpp.
#include "syntax/recover.hpp"

#include <algorithm>
#include <array>
#include <cassert>

#include "syntax/option_table.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

constexpr std::size_t kLevels = 9;
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

// What stands behind it belongs to it, on whatever line.
bool goes_on(Token token) { return token == comma_ || token == colon_ || token == w_and || token == w_or; }

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
  return !nearest(tokens_.written(at), beginnings_of(level)).empty();
}

const std::vector<std::string_view>& Recovery::beginnings_of(Level level) {
  static const auto words = [] {
    std::array<std::vector<std::string_view>, kLevels> lists;
    for (std::size_t i = 0; i < kLevels; ++i) {
      for (const Form& form : kForms) {
        if (kBeginnings[i][form.word]) lists[i].push_back(written(form.word));
      }
    }
    return lists;
  }();
  return words[static_cast<std::size_t>(level)];
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

Token Recovery::word_of_item(std::size_t mistake) const {
  std::size_t at = items_.back().begin;
  while (tokens_.kind(at) == w_accept) at += 3;
  const Token word = tokens_.kind(at);
  const bool moment = word == w_at || word == w_after || word == w_within;
  const bool in_deed = items_.back().level == Level::line && moment && mistake > at + 2;
  return in_deed && begins(Level::line, tokens_.kind(at + 2)) ? tokens_.kind(at + 2) : word;
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
  // A statement among options: their `}` is missing, and what follows is no option either.
  const bool to_the_end = level == Level::option && (begins(Level::statement, tokens_.kind(begin)) ||
                                                     begins(Level::statement, tokens_.kind(at)));
  for (std::size_t pos = at;; ++pos) {
    const Token token = tokens_.kind(pos);
    if (token == end_of_file) return {false, false, Block::none, pos};
    const bool may_stop = depth == 0 && pos > begin && (!to_the_end || token == close_brace);
    if (may_stop && stops(level, pos, at)) return {false, false, Block::none, pos};
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
  if (level == Level::way && tokens_.kind(mistake) == comma_ && !line) return false;  // `a, b -> c`
  if (is_list_of_names(level)) return apart && token != comma_ && token != arrow_;
  if (level == Level::option) return begins(level, token) || (apart && is_word(token));
  if (begins(level, token) && (apart || before == close_brace || pos == mistake)) return true;
  if (!line) return false;
  // A line that goes on with the one before stands deeper, or behind a comma.
  const std::size_t item = items_.back().begin;
  const bool new_line = is_name(token) && !goes_on(before) && tokens_.has(item, Tokens::kFirstOnLine) &&
                        tokens_.indent(pos) <= tokens_.indent(item);
  return new_line || begins_any(token) || nearly_begins(level, pos);
}

void Recovery::leave() {
  const Item& item = items_.back();
  if (item.level == Level::statement && begins(Level::statement, tokens_.kind(item.begin)))
    last_statement_ = item.begin;
  items_.pop_back();
}

// An option of the statement before, whose braces are missing altogether: the first one says so.
bool Recovery::is_bare_option(const Stray& stray) {
  const bool statement = items_.size() == 1 && stray.kind == Stray::Kind::begins && stray.at > 0;
  if (!statement || !tokens_.has(stray.at, Tokens::kFirstOnLine)) return false;
  const std::optional<ast::OptionKind> option = option_of(tokens_.kind(stray.at));
  if (!option || !takes(tokens_.kind(last_statement_), *option)) return false;
  if (bare_options_of_ == last_statement_) return true;
  for (std::size_t at = last_statement_; at < stray.at; ++at) {
    if (tokens_.kind(at) == open_brace) return false;
  }
  bare_options_of_ = last_statement_;
  mistakes_.say(tokens_.span(stray.at - 1),
                bare_options(shown(stray.at - 1), written(tokens_.kind(last_statement_))));
  return true;
}

Recovery::Next Recovery::mend(const Stray& stray) {
  if (stray.kind == Stray::Kind::reported || is_bare_option(stray)) return skip(stray.at);
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
  items_.back().head_failed = true;
  for (std::size_t pos = stray.at;; ++pos) {
    const Token token = tokens_.kind(pos);
    const bool found = token == open_brace || (level == Level::inside && token == arrow_);
    if (found) return {false, true, Block::none, pos};
    const Token before = pos > 0 ? tokens_.kind(pos - 1) : end_of_file;
    const bool next_line = tokens_.has(pos, Tokens::kFirstOnLine) && pos > stray.at && !goes_on(before);
    const bool next_item = tokens_.has(pos, Tokens::kFirstOnLine) && begins_any(token);
    if (token == end_of_file || token == close_brace || next_line || next_item) {
      return {false, false, Block::none, pos};
    }
  }
}

// Another finding here would be a cascade.
bool Recovery::is_reported(const Stray& stray) const {
  const Item& item = items_.back();
  if (tokens_.has(stray.at, Tokens::kReported | Tokens::kBehindReported)) return true;
  if (item.mends == 0) return false;
  // What begins the item was taken for a word that does not go on so: it was another one, and is reported.
  const bool guessed = item.mended == item.begin && stray.at == item.begin + 1;
  return guessed || stray.at <= item.mended;
}

}  // namespace lw::syntax
