// What stands at the place of each rule of latch.hpp, in the trade's words, and how each form is written.
//
// A rule of the grammar is never named to the user; `expected<Rule>` is what a finding says instead. The
// words of the language in these phrases and forms are also what a misspelt word is compared with. The
// sentences around them are in compiler/syntax/wording.cpp. Tests: tests/unit/syntax/forms_test.cpp.
#pragma once

#include <cstdint>
#include <string_view>

#include "grammar/latch.hpp"

namespace lw::grammar {

// ---- what a rule expects ----

/// Of a rule without a phrase nullptr: then it is one word, which speaks for itself.
template <typename Rule>
inline constexpr const char* expected = nullptr;

#define LW_EXPECTED(rule, phrase) \
  template <>                     \
  inline constexpr const char* expected<rule> = phrase

LW_EXPECTED(name, "a name");
LW_EXPECTED(text, "text in quotes");
LW_EXPECTED(terminal, "a terminal as it is printed on the board, `I1` or `\"IN-1\"`");
LW_EXPECTED(percent, "a percentage");
LW_EXPECTED(quantity, "a number with its unit");
LW_EXPECTED(whole, "a whole number");
LW_EXPECTED(time, "a time with its unit");
LW_EXPECTED(board_name, "the name of a board");
LW_EXPECTED(button_name, "the name of a button");
LW_EXPECTED(clip_name, "the name of a clip");
LW_EXPECTED(code_name, "the code of a finding");
LW_EXPECTED(controller_name, "the name of a controller");
LW_EXPECTED(counter_name, "the name of a counter");
LW_EXPECTED(cue_name, "the name of a cue");
LW_EXPECTED(design_name, "the name of a design");
LW_EXPECTED(device_name, "the name of a device");
LW_EXPECTED(gauge_name, "the name of a gauge");
LW_EXPECTED(keypad_name, "the name of a keypad");
LW_EXPECTED(link_name, "the name of a link");
LW_EXPECTED(place_name, "the name of a place of the design");
LW_EXPECTED(prop_name, "the name of a prop");
LW_EXPECTED(scale_name, "the name of a scale");
LW_EXPECTED(target, "the name of a state");
LW_EXPECTED(thing_name, "the name of a thing");
LW_EXPECTED(timer_name, "the name of a timer");
LW_EXPECTED(voice_name, "the name of a voice");
LW_EXPECTED(member, "the name of what is declared in the prop");
LW_EXPECTED(what_is_read, "a thing, `nothing` or `anything`");
LW_EXPECTED(keys, "the keys in quotes");
LW_EXPECTED(bound, "a number or a quantity");
LW_EXPECTED(cond, "a condition");
LW_EXPECTED(term, "a condition");
LW_EXPECTED(of_these, "`(` and the conditions");
LW_EXPECTED(held, "a condition");
LW_EXPECTED(level,
            "a level: `on`, `off`, `at` and a percentage, `blinking`, `released`, `secured` or `playing`");
LW_EXPECTED(outputs, "the name of an output");
LW_EXPECTED(effects, "actions in braces, or `->` and a state");
LW_EXPECTED(acts, "actions in braces");
LW_EXPECTED(opening, "`{`");
LW_EXPECTED(close, "`}`");
LW_EXPECTED(ending, "`{` or the end of the statement");
LW_EXPECTED(options, "options in braces");
LW_EXPECTED(terminals, "a terminal as it is printed on the board");
LW_EXPECTED(starts, "`by` operator, or `when` and a condition");
LW_EXPECTED(finishing, "the name of a prop");
LW_EXPECTED(free_word, "a word");
LW_EXPECTED(let_value, "a quantity or a condition");
LW_EXPECTED(edge, "a quantity, a window or `empty`");
LW_EXPECTED(addend, "a thing or a mass");
LW_EXPECTED(width, "a quantity or a percentage");
LW_EXPECTED(reach, "`±` and a tolerance, or `to` and the upper end");
LW_EXPECTED(range, "a target with its tolerance, a range, `above`, `below` or `between`");
LW_EXPECTED(gap_end, "`±` and a tolerance, or `to` and the longest time");
LW_EXPECTED(steps, "the first step");
LW_EXPECTED(list<place>, "the kind of thing that fills the place, `reader`, `thing` or `time` for instance");
LW_EXPECTED(list<cond>, "a condition");
LW_EXPECTED(these_states, "`every state` or the names of states");
LW_EXPECTED(insides, "the lines in braces");
LW_EXPECTED(parts, "the parts in braces");
LW_EXPECTED(inside_form, "a line after `accept`");
LW_EXPECTED(part_form, "a part after `accept`");
LW_EXPECTED(statement_form, "a statement after `accept`");
LW_EXPECTED(line_form, "a line of the rehearsal after `accept`");
LW_EXPECTED(
    deed,
    "what happens: `expect`, `place`, `take`, `load`, `press`, `set`, `turn`, `type`, `lose`, `restore`, "
    "`restart`, `delay`, `shift` or `operator`");
LW_EXPECTED(joined, "the names of the controllers");
LW_EXPECTED(device_names, "a name");
LW_EXPECTED(hangs, "where it hangs: `at` and a terminal, `by` operator, or `over` a link");
LW_EXPECTED(claim, "what is promised: `never`, `can` always reach, `finish` not before, or a condition");
LW_EXPECTED(set_word, "`on`, `off` or the contact's word");
LW_EXPECTED(placed, "the name of a thing, or `tag` and its text");
LW_EXPECTED(operator_act, "`start`, `end`, `reset` or `override`");
#undef LW_EXPECTED

// ---- the forms ----

enum class Level : std::uint8_t { statement, part, inside, action, line, option, way, given, fact };

struct Form {
  Level level;
  Token word;
  std::string_view form;
  std::string_view example;
};
inline constexpr Form kForms[] = {
#define LW_FORM(level, word, form, example) {Level::level, w_##word, form, example},
#include "grammar/forms.def"
};

}  // namespace lw::grammar
