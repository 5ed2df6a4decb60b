// What is said of a mistake at its place: see recover.hpp.
#include <fmt/format.h>

#include <algorithm>
#include <cassert>

#include "syntax/option_table.hpp"
#include "syntax/recover.hpp"
#include "text/utf8.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

}  // namespace

void add_words_of_language(std::string_view form, bool quoted_only, std::vector<std::string_view>& words) {
  bool quoted = false;
  for (std::size_t at = 0; at < form.size();) {
    if (form[at] == '`') quoted = !quoted;
    if (form[at] < 'a' || form[at] > 'z') {
      ++at;
      continue;
    }
    std::size_t end = at;
    while (end < form.size() && ((form[end] >= 'a' && form[end] <= 'z') || form[end] == '-')) ++end;
    const std::string_view word = form.substr(at, end - at);
    if ((quoted || !quoted_only) && token_of(word) != plain_name) words.push_back(word);
    at = end;
  }
}

namespace {

std::string phrase_of(const Wanted& wanted) {
  if (wanted.phrase != nullptr) return wanted.phrase;
  assert(wanted.count > 0);
  std::string phrase;
  for (std::size_t i = 0; i < wanted.count; ++i) {
    phrase += fmt::format("{}`{}`",
                          i == 0                  ? ""
                          : i + 1 == wanted.count ? " or "
                                                  : ", ",
                          written(wanted.words[i]));
  }
  return phrase;
}

}  // namespace

// The token in back quotes, cut where it is long.
std::string Recovery::shown(std::size_t at) const {
  constexpr std::size_t kMost = 40;
  std::string_view text = tokens_.written(at);
  if (text.size() <= kMost) return fmt::format("`{}`", shown_safely(text));
  std::size_t end = kMost;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
  return fmt::format("`{}…`", shown_safely(text.substr(0, end)));
}

std::vector<std::string_view> Recovery::candidates(const Stray& stray) const {
  std::vector<std::string_view> words;
  const Item& item = items_.back();
  if (stray.kind == Stray::Kind::begins) {
    if (is_reserved(tokens_.kind(stray.at))) return words;
    if (item.level == Level::option) return option_words_of(owner_of_options());
    return beginnings_of(item.level);
  }
  if (stray.kind == Stray::Kind::left && item.level == Level::option) {
    words = option_words_of(owner_of_options());
  }
  for (std::size_t i = 0; i < stray.wanted.count; ++i) words.push_back(written(stray.wanted.words[i]));
  if (stray.wanted.phrase != nullptr) add_words_of_language(stray.wanted.phrase, true, words);
  // A word of the language is taken for another one only where just that one is wanted.
  if (is_reserved(tokens_.kind(stray.at))) return words;
  if (const Form* form = form_of(item.level, word_of_item(stray.at)))
    add_words_of_language(form->form, false, words);
  if (item.level == Level::option) {
    if (const auto option = option_of(word_of_item(stray.at)))
      add_words_of_language(ast::option_words(*option), false, words);
  }
  // What stands just before it was not meant once more: after `0 to` a number is missing, not another `to`.
  if (stray.at > 0)
    words.erase(std::remove(words.begin(), words.end(), tokens_.written(stray.at - 1)), words.end());
  return words;
}

void Recovery::say_misspelt(const Stray& stray, std::size_t at, std::string_view meant) {
  const Form* form =
      stray.kind == Stray::Kind::begins ? nullptr : form_of(items_.back().level, word_of_item(stray.at));
  mistakes_.say(tokens_.span(at), misspelt(tokens_.written(at), meant, form));
}

void Recovery::say(const Stray& stray) {
  if (is_reported(stray)) return;
  const Item& item = items_.back();
  if (stray.kind == Stray::Kind::begins) {
    // Braces behind a broken head may hold something else than options.
    const bool doubtful =
        item.level == Level::option && items_.size() > 1 && items_[items_.size() - 2].head_failed;
    if (doubtful) return;
    mistakes_.say(tokens_.span(stray.at), wording_of_beginning(stray.at));
    return;
  }
  const Form* form = form_of(item.level, word_of_item(stray.at));
  if (item.level == Level::way) form = form_of(Level::statement, w_chain);
  const bool rule =
      stray.wanted.phrase != nullptr && stray.wanted.phrase == std::string_view(expected<effects>);
  if (rule && word_of_item(stray.at) == w_when && tokens_.kind(stray.at) == comma_) {
    mistakes_.say(tokens_.span(stray.at), comma_in_rule());
    return;
  }
  const bool left = stray.kind == Stray::Kind::left;
  if (left && item.level == Level::option && is_word(tokens_.kind(stray.at))) {
    mistakes_.say(tokens_.span(stray.at), wording_of_beginning(stray.at));
    return;
  }
  if (left) {
    mistakes_.say(tokens_.span(stray.at), left_over({Found::Kind::token, shown(stray.at)}, form));
    return;
  }
  Found found{Found::Kind::token, shown(stray.at)};
  Span span = tokens_.span(stray.at);
  const Token token = tokens_.kind(stray.at);
  // What is missing at the end of a line is shown there, not at what begins the next one.
  const bool behind =
      token == end_of_file || token == close_brace || tokens_.has(stray.at, Tokens::kFirstOnLine);
  if (behind && stray.at > item.begin) {
    found.kind = token == end_of_file   ? Found::Kind::end_of_file
                 : token == close_brace ? Found::Kind::end_of_braces
                                        : Found::Kind::end_of_line;
    found.text = shown(stray.at - 1);
    span = tokens_.span(stray.at - 1);
  }
  if (const Form* fact = form_of_fact(stray.at)) form = fact;
  Wording wording = unexpected(found, phrase_of(stray.wanted), form);
  if (item.level == Level::option && form == nullptr) {
    if (const auto option = option_of(word_of_item(stray.at)))
      wording = in_option(std::move(wording), *option);
  }
  if (stray.wanted.name && found.kind == Found::Kind::token && is_reserved(token)) {
    wording.reason = fmt::format("{} is a word of the language and never a name.{}{}", found.text,
                                 wording.reason.empty() ? "" : " ", wording.reason);
  }
  mistakes_.say(span, std::move(wording));
}

// A mistake right behind the word of a fact is one in the fact.
const Form* Recovery::form_of_fact(std::size_t mistake) const {
  for (std::size_t back = 1; back <= 3 && mistake > items_.back().begin + back; ++back) {
    if (const Form* form = form_of(Level::fact, tokens_.kind(mistake - back))) return form;
  }
  return nullptr;
}

Wording Recovery::wording_of_beginning(std::size_t at) const {
  const Level level = items_.back().level;
  const Token token = tokens_.kind(at);
  if (token == comma_) return lone_comma();
  if (token == open_brace) return spare_open();
  if (token == close_brace) return spare_close(1);
  if (level == Level::option && is_word(token)) {
    const Token owner = owner_of_options();
    return no_such_option(tokens_.written(at), written(owner), option_words_of(owner));
  }
  if (level == Level::option) {
    const bool terminals = (token == text_ || token == terminal_) && tokens_.kind(at - 1) == comma_ &&
                           (tokens_.kind(at - 2) == text_ || tokens_.kind(at - 2) == terminal_) &&
                           owner_of_options() == w_board;
    if (terminals) return listed_terminal(shown(at));
    return begins_no_option(shown(at), written(owner_of_options()), option_words_of(owner_of_options()));
  }
  for (const Level other : {Level::statement, Level::part, Level::inside, Level::action, Level::line}) {
    if (other != level && begins(other, token)) return misplaced(written(token), level, other);
  }
  return begins_nothing(shown(at), level);
}

void Recovery::say_too_deep(std::size_t at) { mistakes_.say(tokens_.span(at), too_deep(kDeepest)); }

}  // namespace lw::syntax
