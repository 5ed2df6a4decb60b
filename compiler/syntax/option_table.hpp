// grammar/options.def as a table: which word begins which option, and which statement takes it.
//
// Tests: tests/unit/syntax/words_test.cpp.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "syntax/ast.hpp"
#include "syntax/scan.hpp"

namespace lw::syntax {

/// The option that begins with this word.
std::optional<ast::OptionKind> option_of(Token first_word);
/// True if the statement that begins with `statement` takes the option.
bool takes(Token statement, ast::OptionKind option);
/// The first words of the options of the statement, in the order of options.def.
std::vector<std::string_view> option_words_of(Token statement);
/// A unit that the option's quantity may have, to show where one is missing.
std::string_view unit_for(ast::OptionKind option);

}  // namespace lw::syntax
