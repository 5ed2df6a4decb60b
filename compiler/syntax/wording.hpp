// The sentences of every mistake of syntax: code, fact, reason, remedy. Places are added by who finds them.
//
// What a rule expects and how a form is written comes from grammar/messages.hpp. Nothing else in the compiler
// words mistakes of syntax. Tests: tests/unit/syntax/words_test.cpp and the tests of each mistake.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "grammar/messages.hpp"
#include "syntax/ast.hpp"
#include "text/finding.hpp"

namespace lw::syntax {

using grammar::Form;
using grammar::Level;
using grammar::Token;

/// The form that this word begins at this level; a declaration may stand in a state too. nullptr if none
/// does.
const Form* form_of(Level level, Token word);

struct Wording {
  Code code = Code::syntax;
  std::string message;
  std::string note;
  std::string reason;
  std::vector<std::string> remedies;
};

/// What was found where something else is expected.
struct Found {
  enum class Kind : std::uint8_t { token, end_of_line, end_of_braces, end_of_file };
  Kind kind = Kind::token;
  std::string text;  // of a token its own, else of the one before
};

// Of the grammar.
Wording unexpected(const Found& found, std::string_view phrase, const Form* form);
Wording left_over(const Found& found, const Form* form);
Wording misspelt(std::string_view word, std::string_view meant, const Form* form);
Wording twice_written(std::string_view word);
/// `begins`: the second is the word that the item begins with.
Wording wrong_way_round(std::string_view first, std::string_view second, bool begins);
/// The word that begins the next line stands in this one, and what ends this one in the next.
Wording slipped(std::string_view begins, std::string_view ends);
/// What a word of other languages or of the trade is here, a remedy; nothing where it is none that is known.
const char* brought_along(std::string_view word);
Wording begins_nothing(std::string_view word, Level level);
Wording misplaced(std::string_view word, Level level, Level belongs);
/// What stands among options and is no word at all; `of` is the statement, `known` its options.
Wording begins_no_option(std::string_view found, std::string_view of,
                         const std::vector<std::string_view>& known);
/// The same behind a comma after a board's terminal.
Wording listed_terminal(std::string_view found);
Wording no_such_option(std::string_view word, std::string_view of,
                       const std::vector<std::string_view>& known);
/// The wording of what is missing in an option, with how that option is written.
Wording in_option(Wording wording, ast::OptionKind option);
Wording option_twice(std::string_view word, std::string_view of);
Wording small_terminal(std::string_view written, std::string_view meant);
Wording too_deep(std::size_t most);
Wording lone_comma();

// Of braces.
Wording missing_close(std::size_t count, std::string_view of);
Wording missing_open(std::string_view before);
/// The options of `of` stand in the lines behind it, without braces.
Wording bare_options(std::string_view before, std::string_view of);
Wording spare_close(std::size_t count);
Wording spare_open();

// Of the forms in `wrong`.
Wording reserved_name(std::string_view word);
Wording no_unit(std::string_view number, std::string_view unit);
Wording not_whole(std::string_view written);
Wording negative(std::string_view written);
Wording mixed(std::string_view first, std::string_view second);
Wording comma_with_or(std::string_view first, std::string_view second);
Wording open_for(std::string_view cond, std::string_view last, std::string_view time, bool is_or);
Wording said_with_is(std::string_view subject, std::string_view word);
Wording late_not(std::string_view subject, std::string_view word);
Wording late_word(std::string_view subject, std::string_view number, std::string_view word, bool counts);
Wording out_of_order(std::string_view ordered);
Wording clause_twice(std::string_view clause);
Wording again_with_move(std::string_view without);
Wording no_actions(std::string_view remedy);
Wording bare_action(std::string_view action);
Wording timed_keep(std::string_view keep);
/// `when fair, flap shut`.
Wording comma_in_rule();
Wording lasting_step();  // `for` on a step of a sequence
Wording lone_gap();      // a gap that does not stand between two steps
Wording wordless(std::string_view name, std::string_view word);
Wording no_language();
Wording late_language();
Wording unknown_language(std::string_view version);
Wording backslash(std::string_view path);
Wording bad_path(std::string_view message, std::string_view reason);
Wording bad_quantity(Code code, std::string_view written, std::string_view reason);
Wording outside_design();

// Of characters.
Wording no_text(std::string_view what, std::size_t more_lines);
Wording byte_order_mark();
Wording open_text();
Wording curly_quotes(std::string_view straight);
Wording decimal_comma(std::string_view fixed);
Wording number_with_exponent();
Wording capitals(std::string_view word, std::string_view meant);
Wording odd_name(std::string_view word, std::string_view meant);
Wording unquoted_terminal(std::string_view word);
Wording foreign_mark(std::string_view mark, std::string_view remedy);
Wording invisible_space();
Wording unknown_unit(std::string_view unit, std::string_view meant);
Wording counts_without_x(std::string_view number, std::string_view thing);
Wording range_dash(std::string_view dash);
Wording more_mistakes(std::size_t most);

// Of files.
/// `files` in the order of their uses; the last uses the first.
Wording use_loop(const std::vector<std::string>& files);
/// `spelt` is the path as the folders spell it, if it differs in its capitals alone.
Wording unreadable(std::string_view path, std::string_view reason, std::string_view spelt);

}  // namespace lw::syntax
