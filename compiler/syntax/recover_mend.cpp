// What is taken for what was meant, so that the item can be read again: see recover.hpp.
//
// Each try looks at a few tokens around the mistake. It says what it took for what, once, and marks the
// tokens so that nothing that follows from them is said again.
#include <algorithm>
#include <set>
#include <string>

#include "syntax/option_table.hpp"
#include "syntax/recover.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

bool is_number(Token token) { return token >= number && token <= percent_; }

}  // namespace

// Takes the token at the mistake for what was meant; then the item is read again.
bool Recovery::mend_token(const Stray& stray) {
  const Item& item = items_.back();
  const bool mended = tokens_.has(stray.at, Tokens::kReported) || (item.mends > 0 && stray.at <= item.mended);
  if (item.mends == kMends || mended) return false;
  return mend_declared(stray) || mend_swapped(stray) || mend_late_word(stray) || mend_word(stray) ||
         mend_terminal(stray) || mend_doubled(stray) || mend_word_before(stray) || mend_small_word(stray);
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
  if (meant.empty() || meant == word || is_rather_name(stray, meant)) return false;
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

// `knock button at …`, `means open lifted`: the word that it begins with stands second.
bool Recovery::mend_swapped(const Stray& stray) {
  const std::size_t at = stray.at;
  if (stray.kind != Stray::Kind::begins || !is_name(tokens_.kind(at))) return false;
  if (items_.back().level == Level::option) {
    const std::optional<ast::OptionKind> option = option_of(tokens_.kind(at + 1));
    const std::string_view words = option ? ast::option_words(*option) : "";
    const std::size_t blank = words.find(' ');
    if (blank != std::string_view::npos && words.substr(blank + 1) == tokens_.written(at)) {
      say_swapped(at, at + 1);
      return true;
    }
  }
  if (!tokens_.has(at, Tokens::kFirstOnLine) || tokens_.has(at + 1, Tokens::kFirstOnLine)) return false;
  if (!begins(items_.back().level, tokens_.kind(at + 1))) return false;
  say_swapped(at, at + 1);
  return true;
}

// Moves the tokens [at + 1, last] before the one at `at`, and says so.
void Recovery::say_swapped(std::size_t at, std::size_t last) {
  const std::string_view words = tokens_.text.substr(tokens_.places[at + 1].begin,
                                                     tokens_.places[last].end - tokens_.places[at + 1].begin);
  const std::string_view first = tokens_.written(at);
  const bool over_lines = tokens_.has(at + 1, Tokens::kFirstOnLine);
  mistakes_.say(
      tokens_.span(at, over_lines ? at + 1 : last + 1),
      over_lines ? slipped(first, words) : wrong_way_round(first, words, at == items_.back().begin));
  const auto rotate = [at, last](auto& row) {
    const auto begin = row.begin() + static_cast<std::ptrdiff_t>(at);
    std::rotate(begin, begin + 1, row.begin() + static_cast<std::ptrdiff_t>(last) + 1);
  };
  rotate(tokens_.kinds);
  rotate(tokens_.places);
  for (std::size_t i = at; i <= last; ++i) tokens_.flags[i] |= Tokens::kReported;
  count_mend(last);
}

// `repeats 2 g within`, `delay 200 ms up to`: the small words stand behind what they belong before. And
// `expect misses is after`, `1 1 s expect …` in the next line: what begins a line slipped into the one
// before.
bool Recovery::mend_late_word(const Stray& stray) {
  const std::size_t at = stray.at;
  const Token found = tokens_.kind(at);
  if (stray.kind != Stray::Kind::wanted || at == items_.back().begin) return false;
  if (begins(items_.back().level, found) && !tokens_.has(at, Tokens::kFirstOnLine)) {
    const Token next = tokens_.kind(at + 1);
    const Level level = items_.back().level;
    const bool slipped = (level == Level::line || level == Level::inside) &&
                         tokens_.has(at + 1, Tokens::kFirstOnLine) && stray.wanted.count == 0 &&
                         (next == number || next == quantity_) && is_number(tokens_.kind(at + 2));
    if (slipped) say_swapped(at, at + 1);
    return slipped;
  }
  const bool value =
      is_number(found) || found == text_ || (found == plain_name && items_.back().level == Level::option);
  if (stray.wanted.count != 1 || !is_word(stray.wanted.words[0]) || !value) return false;
  std::size_t last = at + 1;
  if (tokens_.kind(last) != stray.wanted.words[0] || tokens_.has(last, Tokens::kFirstOnLine)) return false;
  const bool two = tokens_.kind(last) == w_up && tokens_.kind(last + 1) == w_to;
  if (two && !tokens_.has(last + 1, Tokens::kFirstOnLine)) ++last;
  say_swapped(at, last);
  return true;
}

// `load 600 g at balance`: one of the small words for another.
bool Recovery::mend_small_word(const Stray& stray) {
  const auto small = [](Token token) {
    return token == w_on || token == w_off || token == w_at || token == w_to || token == w_by ||
           token == w_of || token == w_over || token == w_from || token == w_in || token == w_for;
  };
  const std::size_t at = stray.at;
  const Token found = tokens_.kind(at);
  if (stray.kind != Stray::Kind::wanted || stray.wanted.count != 1 || at == items_.back().begin) return false;
  if (!small(stray.wanted.words[0]) || !small(found) || tokens_.has(at, Tokens::kFirstOnLine)) return false;
  // Before a time `at` begins the next line; before a name it does not.
  const bool begins_line = begins(items_.back().level, found) && is_number(tokens_.kind(at + 1));
  if (begins_line || tokens_.has(at + 1, Tokens::kFirstOnLine)) return false;
  say(stray);
  take_word_for(at, written(stray.wanted.words[0]));
  return true;
}

// A word of the language that is declared as a name is reported there, once. Where it might as well be the
// next word of its statement, the grammar does not take it as such a name, and it is reported here.
bool Recovery::mend_declared(const Stray& stray) {
  const Token found = tokens_.kind(stray.at);
  const bool named = stray.wanted.name || stray.wanted.cond;
  if (stray.kind != Stray::Kind::wanted || !named || !is_reserved(found)) return false;
  if (!declared_words().count(found)) return false;
  if (stray.at > 0 && declares_word(stray.at - 1))
    mistakes_.say(tokens_.span(stray.at), reserved_name(tokens_.written(stray.at)));
  tokens_.kinds[stray.at] = static_cast<char>(plain_name);
  tokens_.flags[stray.at] |= Tokens::kReported;
  count_mend(stray.at);
  return true;
}

// Whether a word of the language stands behind this one as the name that it declares.
bool Recovery::declares_word(std::size_t at) const {
  if (at + 2 >= tokens_.size()) return false;
  const Token word = tokens_.kind(at);
  const bool declares =
      (begins(Level::statement, word) && word != w_use && word != w_room && word != w_language &&
       word != w_chain && word != w_promise && word != w_rehearsal && word != w_accept) ||
      word == w_window || word == w_timer || word == w_counter || word == w_sequence || word == w_state;
  const Token name = tokens_.kind(at + 1);
  const bool mark = name == w_on || name == w_at || name == w_to || name == w_start || name == w_goal;
  if (!declares || !is_reserved(name) || mark) return false;
  const Token after = tokens_.kind(at + 2);
  return after == w_is || after == w_on || after == w_at || after == w_by || after == w_over ||
         after == w_to || after == w_be || after == w_joins || after == w_each || after == w_start ||
         after == w_goal || after == colon_ || after == open_brace || after == quantity_ || after == text_;
}

// The reserved words that stand where a statement or a part declares a name.
const std::set<Token>& Recovery::declared_words() {
  if (declared_words_) return *declared_words_;
  declared_words_.emplace();
  for (std::size_t at = 0; at < tokens_.size(); ++at)
    if (declares_word(at)) declared_words_->insert(tokens_.kind(at + 1));
  return *declared_words_;
}

// A short name is near many words. It is none of them where it is declared in this file, or where what
// follows does not go on as after that word.
bool Recovery::is_rather_name(const Stray& stray, std::string_view meant) {
  if (stray.kind != Stray::Kind::begins || tokens_.written(stray.at).size() > 4) return false;
  if (meant == "let") return tokens_.kind(stray.at + 2) != w_be;
  const std::string_view word = tokens_.written(stray.at);
  for (std::size_t at = 0; at + 1 < tokens_.size(); ++at) {
    const Token before = tokens_.kind(at);
    const bool declares = begins(Level::statement, before) || begins(Level::part, before);
    if (declares && tokens_.written(at + 1) == word && at + 1 != stray.at) return true;
  }
  return false;
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

}  // namespace lw::syntax
