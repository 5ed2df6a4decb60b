// What to do at a mistake: what to say of it, whether to read the item again, and where to go on.
//
// The half of reading (read.hpp) that knows nothing of PEGTL. Invariant: an item that is given up takes one
// token at least, so reading always ends; one that is read again has had a token mended, at most kMends
// times. Tests: tests/unit/syntax/recovery_test.cpp, mutation_test.cpp.
#pragma once

#include <cstddef>
#include <optional>
#include <set>
#include <vector>

#include "syntax/read.hpp"

namespace lw::syntax {

/// What the grammar wanted at a place: a phrase, or one of a few words.
struct Wanted {
  const char* phrase = nullptr;
  const Token* words = nullptr;
  std::size_t count = 0;
  bool name = false;
  bool cond = false;  // a condition, which may begin with a name
  bool terminal = false;
  bool ending = false;  // the braces, or the end of the item
};

/// Thrown by the grammar where it cannot go on; caught by the item that it belongs to.
struct Stray {
  enum class Kind : std::uint8_t {
    wanted,    // something else was wanted here
    begins,    // nothing that may stand here begins so
    left,      // the item is whole, and this does not belong to it
    reported,  // all is said already
    again,     // a token was mended: read the item once more
  };
  Kind kind = Kind::wanted;
  std::size_t at = 0;
  Wanted wanted;
};

/// The words of the language in a form or a phrase: those in small letters, of a phrase only those in back
/// quotes.
void add_words_of_language(std::string_view form, bool quoted_only, std::vector<std::string_view>& words);

class Recovery {
 public:
  static constexpr int kMends = 8;
  static constexpr std::size_t kDeepest = 64;

  Recovery(Tokens& tokens, Mistakes& mistakes) : tokens_(tokens), mistakes_(mistakes) {}

  /// An item that is being read, from its first token on.
  struct Item {
    Level level = Level::statement;
    std::size_t begin = 0;
    int mends = 0;
    std::size_t mended = 0;    // the last token mended
    bool head_failed = false;  // what stands before its braces could not be read
  };
  void enter(Level level, std::size_t begin) { items_.push_back({level, begin, 0, 0, false}); }
  void leave();
  std::size_t begin() const { return items_.back().begin; }

  /// Nothing more stands in this list.
  bool at_end(Level level, std::size_t at) const;
  /// What stands at `at` can stand behind a whole item.
  bool ends_item(std::size_t at) const;

  enum class Block : std::uint8_t { none, parts, insides };
  struct Next {
    bool again = false;         // read the item once more, from `at`
    bool found = false;         // of what stands before braces: they are at `at`
    Block block = Block::none;  // what opens at `at` reads like this block: read it for its own mistakes
    std::size_t at = 0;
  };
  /// Says what is wrong, and where the item goes on.
  Next mend(const Stray& stray);
  /// The same for what stands before braces.
  Next mend_head(const Stray& stray);
  /// Where reading goes on, from `at` on, when the item is given up.
  Next skip(std::size_t at) const;

  void say_too_deep(std::size_t at);

 private:
  /// The word that tells the form of the item: its first, or the deed's where the mistake is in the deed.
  Token word_of_item(std::size_t mistake) const;
  Token owner_of_options() const;
  bool begins(Level level, Token token) const;
  bool begins_any(Token token) const;
  static const std::vector<std::string_view>& beginnings_of(Level level);
  bool nearly_begins(Level level, std::size_t at) const;
  bool stops(Level level, std::size_t pos, std::size_t mistake) const;
  bool is_reported(const Stray& stray) const;
  void count_mend(std::size_t at);
  bool mend_word(const Stray& stray);
  bool mend_word_before(const Stray& stray);
  void take_word_for(std::size_t at, std::string_view meant);
  bool mend_terminal(const Stray& stray);
  bool mend_doubled(const Stray& stray);
  bool mend_swapped(const Stray& stray);
  bool mend_late_word(const Stray& stray);
  bool mend_small_word(const Stray& stray);
  bool mend_declared(const Stray& stray);
  bool mend_token(const Stray& stray);
  void say_swapped(std::size_t at, std::size_t last);
  bool is_rather_name(const Stray& stray, std::string_view meant);
  bool is_bare_option(const Stray& stray);
  const std::set<Token>& declared_words();
  bool declares_word(std::size_t at) const;
  void say(const Stray& stray);
  void say_misspelt(const Stray& stray, std::size_t at, std::string_view meant);
  Wording wording_of_beginning(std::size_t at) const;
  std::vector<std::string_view> candidates(const Stray& stray) const;
  const Form* form_of_fact(std::size_t mistake) const;
  std::string shown(std::size_t at) const;

  Tokens& tokens_;
  Mistakes& mistakes_;
  std::vector<Item> items_;
  std::size_t last_statement_ = 0;  // where the statement before begins
  std::optional<std::size_t> bare_options_of_;
  std::optional<std::set<Token>> declared_words_;  // filled at the first mistake that asks
};

}  // namespace lw::syntax
