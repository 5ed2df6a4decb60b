// What to do at a mistake: see recover.hpp. What is said of it: recover_wording.cpp.
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

// Takes the token at the mistake for what was meant; then the item is read again.
bool Recovery::mend_token(const Stray& stray) {
  const Item& item = items_.back();
  const bool mended = tokens_.has(stray.at, Tokens::kReported) || (item.mends > 0 && stray.at <= item.mended);
  if (item.mends == kMends || mended) return false;
  return mend_swapped(stray) || mend_word(stray) || mend_terminal(stray) || mend_doubled(stray) ||
         mend_word_before(stray);
}

void Recovery::count_mend(std::size_t at) {
  ++items_.back().mends;
  items_.back().mended = at;
}

bool Recovery::mend_word(const Stray& stray) {
  const Token found = tokens_.kind(stray.at);
  const bool next_item = tokens_.has(stray.at, Tokens::kFirstOnLine) && begins_any(found);
  if (!is_word(found) || next_item) return false;
  const std::string_view word = tokens_.written(stray.at);
  const std::string_view meant = nearest(word, candidates(stray));
  if (meant.empty() || meant == word) return false;
  say_misspelt(stray, stray.at, meant);
  take_word_for(stray.at, meant);
  return true;
}

void Recovery::take_word_for(std::size_t at, std::string_view meant) {
  const Token token = meant == "fail-safe"     ? fail_safe_
                      : meant == "fail-secure" ? fail_secure_
                                               : token_of(meant);
  tokens_.kinds[at] = static_cast<char>(token);
  tokens_.flags[at] |= Tokens::kReported;
  count_mend(at);
}

// `nevr blue on`: the misspelt word was read as a name, and what went wrong is what stands behind it.
bool Recovery::mend_word_before(const Stray& stray) {
  if (stray.kind == Stray::Kind::begins) return false;
  const Form* form = form_of(items_.back().level, word_of_item(stray.at));
  if (form == nullptr) return false;
  std::vector<std::string_view> words;
  add_words_of_language(form->form, false, words);
  for (std::size_t back = 1; back <= 2 && stray.at > items_.back().begin + back; ++back) {
    const std::size_t at = stray.at - back;
    const std::string_view word = tokens_.written(at);
    if (tokens_.kind(at) != plain_name || word.size() < 4 || tokens_.has(at, Tokens::kReported)) continue;
    const std::string_view meant = nearest(word, words);
    if (meant.empty()) continue;
    say_misspelt(stray, at, meant);
    take_word_for(at, meant);
    return true;
  }
  return false;
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

// Another finding here would be a cascade.
bool Recovery::is_reported(const Stray& stray) const {
  const Item& item = items_.back();
  return tokens_.has(stray.at, Tokens::kReported | Tokens::kBehindReported) ||
         (item.mends > 0 && stray.at <= item.mended);
}

}  // namespace lw::syntax
