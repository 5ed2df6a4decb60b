// The sentences of the mistakes that the grammar finds: see wording.hpp. Those of characters:
// wording_text.cpp.
#include "syntax/wording.hpp"

#include <fmt/format.h>

#include "syntax/scan.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

const char* level_phrase(Level level) {
  switch (level) {
    case Level::statement:
      return "a statement";
    case Level::part:
      return "a part of a prop";
    case Level::inside:
      return "a line in a state";
    case Level::action:
      return "an action";
    case Level::line:
      return "a line of a rehearsal";
    case Level::option:
      return "an option";
    case Level::way:
      return "a way of the chain";
    case Level::given:
      return "what a place is filled with";
    case Level::fact:
      return "a fact";
  }
  return "";
}

// The words that may begin something at this level, in back quotes.
std::string beginnings(Level level) {
  std::string words;
  for (const Form& form : kForms) {
    const bool here =
        form.level == level || (level == Level::inside && form.level == Level::part && form.word != w_ready &&
                                form.word != w_in && form.word != w_state && form.word != w_takes);
    if (here) words += fmt::format("{}`{}`", words.empty() ? "" : ", ", written(form.word));
  }
  return words;
}

std::string form_reason(const Form* form) {
  return form == nullptr ? std::string() : fmt::format("It is written so: {}.", form->form);
}
std::vector<std::string> example_remedy(const Form* form) {
  if (form == nullptr) return {};
  return {fmt::format("write it like `{}`.", form->example)};
}

}  // namespace

const Form* form_of(Level level, Token word) {
  for (const Form& form : kForms) {
    if (form.word == word && form.level == level) return &form;
  }
  if (level == Level::inside) return form_of(Level::part, word);
  return nullptr;
}

Wording unexpected(const Found& found, std::string_view phrase, const Form* form) {
  Wording wording;
  switch (found.kind) {
    case Found::Kind::token:
      wording.message = fmt::format("expected {}, found {}", phrase, found.text);
      break;
    case Found::Kind::end_of_line:
      wording.message = fmt::format("expected {} after {}", phrase, found.text);
      break;
    case Found::Kind::end_of_braces:
      wording.message = fmt::format("expected {} after {}, before the braces end", phrase, found.text);
      break;
    case Found::Kind::end_of_file:
      wording.message = fmt::format("expected {} after {}, where the file ends", phrase, found.text);
      break;
  }
  wording.reason = form_reason(form);
  wording.remedies = example_remedy(form);
  if (form != nullptr && form->word == w_when && found.kind == Found::Kind::token && found.text == "`,`")
    wording.remedies = {
        "join conditions by `and` or `or`, and write what `for` covers in brackets: "
        "`when (lid lifted and fair) for 1 s -> open`."};
  if (phrase == "`every`") wording.remedies = {"write how long one blink takes: `blinking every 1 s`."};
  if (form != nullptr && form->word == w_keep && form->level == Level::action && phrase == "`for`")
    wording.remedies.push_back("write it as a line of a state, where it lasts as long as the state.");
  return wording;
}

Wording left_over(const Found& found, const Form* form) {
  Wording wording;
  wording.message = fmt::format("{} cannot stand here", found.text);
  wording.reason = form_reason(form);
  if (form == nullptr) {
    wording.remedies = {"take it out, or begin a new line for what it belongs to."};
  } else {
    wording.remedies = example_remedy(form);
  }
  if (found.text == "`else`" || found.text == "`otherwise`") wording.remedies = {brought_along("else")};
  return wording;
}

Wording misspelt(std::string_view word, std::string_view meant, const Form* form) {
  Wording wording;
  wording.code = Code::unknown_word;
  wording.message = fmt::format("unknown word `{}`", word);
  wording.note = fmt::format("did you mean `{}`?", meant);
  wording.reason = form_reason(form);
  wording.remedies = {fmt::format("write `{}`.", meant)};
  return wording;
}

Wording twice_written(std::string_view word) {
  Wording wording;
  wording.message = fmt::format("{} is written twice", word);
  wording.remedies = {"take one of the two out."};
  return wording;
}

Wording wrong_way_round(std::string_view first, std::string_view second, bool begins) {
  Wording wording;
  wording.message = fmt::format("`{} {}` is the wrong way round", first, second);
  if (begins) wording.reason = "The word that says what it is stands first.";
  wording.remedies = {fmt::format("write `{} {}`.", second, first)};
  return wording;
}

Wording slipped(std::string_view begins, std::string_view ends) {
  Wording wording;
  wording.message = fmt::format("`{}` stands before `{}`, and begins the next line", begins, ends);
  wording.remedies = {
      fmt::format("write `{}` at the end of this line, and `{}` first in the next.", ends, begins)};
  return wording;
}

Wording begins_nothing(std::string_view word, Level level) {
  Wording wording;
  wording.code = Code::unknown_word;
  wording.message = fmt::format("{} begins nothing that can stand here", word);
  if (level == Level::way) {
    wording.reason = "A chain is made of ways: a condition, an arrow and the prop that it wakes.";
    wording.remedies = {"write it like `assay -> strongroom`."};
  } else if (level == Level::given) {
    wording.reason = "Each place of the design is named, and then what fills it.";
    wording.remedies = {"write it like `pad pad1, wanted crown`."};
  } else {
    const std::string phrase = level_phrase(level);
    wording.reason =
        fmt::format("{}{} begins with one of these words: {}.", static_cast<char>(phrase[0] - 'a' + 'A'),
                    phrase.substr(1), beginnings(level));
    const char* const brought = brought_along(word.size() > 2 ? word.substr(1, word.size() - 2) : word);
    wording.remedies = {brought != nullptr ? brought : "begin it with the word that says what it is."};
  }
  return wording;
}

Wording misplaced(std::string_view word, Level level, Level belongs) {
  Wording wording;
  const std::string phrase = level_phrase(level);
  wording.message = fmt::format("`{}` cannot stand here", word);
  wording.reason = fmt::format("`{}` begins {}, and here belongs {}.", word, level_phrase(belongs), phrase);
  wording.remedies = {
      belongs == Level::statement ? "move it out of the braces; statements stand on their own."
      : belongs == Level::part    ? "move it into the braces of its prop, beside the states."
      : word == "start"           ? "write `start` after the name of a state: `state NAME start { … }`."
      : belongs == Level::inside  ? "move it into the braces of a state."
      : belongs == Level::action  ? "put it into braces after `enter`, `leave`, `when` or `after`."
                                  : "move it into the braces of a rehearsal."};
  return wording;
}

namespace {

std::string listed(const std::vector<std::string_view>& words) {
  std::string list;
  for (std::size_t i = 0; i < words.size(); ++i) {
    list += fmt::format("{}`{}`", i == 0 ? "" : i + 1 == words.size() ? " and " : ", ", words[i]);
  }
  return list;
}

}  // namespace

Wording begins_no_option(std::string_view found, std::string_view of,
                         const std::vector<std::string_view>& known) {
  Wording wording;
  wording.message = fmt::format("{} begins no option", found);
  wording.reason = known.empty() ? fmt::format("`{}` has no options at all.", of)
                                 : fmt::format("The options of `{}` are {}.", of, listed(known));
  wording.remedies = {known.empty() ? "take it out." : "take it out, or write its option's word before it."};
  return wording;
}

Wording listed_terminal(std::string_view found) {
  Wording wording;
  wording.message = fmt::format("{} does not go on with the terminals before it", found);
  wording.reason = "Terminals of one kind are one numbered run.";
  wording.remedies = {"write the first and the last: `inputs \"IN-1\" to \"IN-8\"`."};
  return wording;
}

Wording no_such_option(std::string_view word, std::string_view of,
                       const std::vector<std::string_view>& known) {
  Wording wording;
  wording.code = Code::unknown_word;
  wording.message = fmt::format("`{}` has no option `{}`", of, word);
  if (known.empty()) {
    wording.reason = fmt::format("`{}` has no options at all.", of);
    wording.remedies = {"take the option out."};
  } else {
    wording.reason = fmt::format("Its options are {}.", listed(known));
    wording.remedies = {"take it out, or write one of these."};
  }
  return wording;
}

Wording in_option(Wording wording, ast::OptionKind option) {
  struct Example {
    ast::OptionKind kind;
    const char* example;
  };
  static constexpr Example kExamples[] = {
#define LW_EXAMPLE(kind, example) {ast::OptionKind::kind, example},
#include "grammar/forms.def"
  };
  for (const Example& row : kExamples) {
    if (row.kind == option) wording.remedies = {fmt::format("write it like `{}`.", row.example)};
  }
  return wording;
}

Wording option_twice(std::string_view word, std::string_view of) {
  Wording wording;
  wording.code = Code::twice_given;
  wording.message = fmt::format("`{}` stands twice in the options of `{}`", word, of);
  wording.reason = "Each option stands once; which of the two counts would be a guess.";
  wording.remedies = {"take one of the two out."};
  return wording;
}

Wording small_terminal(std::string_view written, std::string_view meant) {
  Wording wording;
  wording.message = fmt::format("`{}` is not written as a terminal", written);
  wording.note = fmt::format("did you mean `{}`?", meant);
  wording.reason =
      "Terminals are written as they are printed on the board: capitals and digits, or in quotes.";
  wording.remedies = {fmt::format("write `{}`, or `\"{}\"` if it is printed so.", meant, written)};
  return wording;
}

Wording too_deep(std::size_t most) {
  Wording wording;
  wording.code = Code::too_deep;
  wording.message = fmt::format("conditions stand more than {} deep in each other", most);
  wording.reason = "Nobody could follow such a condition.";
  wording.remedies = {"give the inner conditions names with `let`, and use the names."};
  return wording;
}

Wording lone_comma() {
  Wording wording;
  wording.message = "a `,` with nothing before it to join";
  wording.reason = "A comma stands between two things that both count.";
  wording.remedies = {"take it out."};
  return wording;
}

Wording missing_close(std::size_t count, std::string_view of) {
  Wording wording;
  wording.message =
      count == 1 ? std::string("a `}` is missing here") : fmt::format("{} of `}}` are missing here", count);
  wording.reason = of.empty() ? std::string() : fmt::format("The braces of `{}` are not closed.", of);
  wording.remedies = {count == 1 ? "write `}` here." : "close the braces here."};
  return wording;
}

Wording missing_open(std::string_view before) {
  Wording wording;
  wording.message = fmt::format("expected `{{` after {}", before);
  wording.reason = "What belongs to it stands in braces.";
  wording.remedies = {"write `{` here."};
  return wording;
}

Wording bare_options(std::string_view before, std::string_view of) {
  Wording wording;
  wording.message = fmt::format("expected `{{` after {}", before);
  wording.reason = fmt::format("The options of `{}` stand in braces, also over several lines.", of);
  wording.remedies = {"write `{` here, and `}` behind the last option."};
  return wording;
}

Wording spare_close(std::size_t count) {
  Wording wording;
  wording.message = count == 1 ? std::string("this `}` closes nothing")
                               : fmt::format("these {} of `}}` close nothing", count);
  wording.reason = "Every `{` before it is closed already.";
  wording.remedies = {count == 1 ? "take it out." : "take them out."};
  return wording;
}

Wording spare_open() {
  Wording wording;
  wording.message = "this `{` opens nothing";
  wording.reason = "Braces stand after what they belong to, one pair each.";
  wording.remedies = {"take it out."};
  return wording;
}

Wording reserved_name(std::string_view word) {
  Wording wording;
  wording.code = Code::reserved_word;
  wording.message = fmt::format("`{}` is a word of the language", word);
  wording.reason =
      "A word of the language is never a name, so that every line reads the same whatever is declared.";
  wording.remedies = {fmt::format("call it `shop_{}`, here and where it is used.", word)};
  return wording;
}

Wording no_unit(std::string_view number, std::string_view unit) {
  Wording wording;
  wording.code = Code::missing_unit;
  wording.message = fmt::format("`{}` has no unit", number);
  wording.reason = "Every quantity carries its unit.";
  // Of times short ones are as likely as long ones.
  wording.remedies = {unit == "s"
                          ? fmt::format("write its unit after it, `{0} ms` or `{0} s`.", number)
                          : fmt::format("write its unit after it, `{} {}` for instance.", number, unit)};
  return wording;
}

Wording not_whole(std::string_view written) {
  Wording wording;
  wording.code = Code::bad_quantity;
  wording.message = fmt::format("`{}` is not a whole number", written);
  wording.reason = "What is counted here has no unit and no decimals.";
  wording.remedies = {"write a whole number, digits alone."};
  return wording;
}

Wording negative(std::string_view written) {
  Wording wording;
  wording.code = Code::bad_quantity;
  wording.message = fmt::format("`{}` has a sign", written);
  wording.reason = "Only the values of a gauge can lie below zero.";
  wording.remedies = {"take the `-` out."};
  return wording;
}

namespace {

Wording two_readings(std::string_view message, std::string_view reason, std::string_view first,
                     std::string_view second) {
  Wording wording;
  wording.code = Code::two_readings;
  wording.message = message;
  wording.reason = reason;
  wording.remedies = {fmt::format("write `{}`.", first), fmt::format("write `{}`.", second)};
  return wording;
}

}  // namespace

Wording mixed(std::string_view first, std::string_view second) {
  return two_readings("`and` and `or` side by side can be read in two ways",
                      "Brackets say which of the conditions belong together.", first, second);
}

Wording comma_with_or(std::string_view first, std::string_view second) {
  return two_readings("a comma beside `or` can be read in two ways",
                      "A comma joins what all counts; brackets say what the `or` chooses between.", first,
                      second);
}

Wording open_for(std::string_view cond, std::string_view last, std::string_view time, bool is_or) {
  Wording wording;
  wording.code = Code::two_readings;
  wording.message = "`for` after several conditions can be read in two ways";
  wording.reason = "`for` covers the whole condition, which brackets must show.";
  wording.remedies = {
      fmt::format("write `({}) for {}`.", cond, time),
      is_or ? fmt::format("write a rule for each, the last one `{} for {}`.", last, time)
            : fmt::format("let a state of its own wait for `{} for {}`, and ask for the rest there.", last,
                          time)};
  return wording;
}

Wording comma_in_rule() {
  Wording wording;
  wording.code = Code::two_readings;
  wording.message = "a comma between the conditions of a rule can be read in two ways";
  wording.reason = "Commas join the conditions of a list alone, as after `expect` or in `any 2 of (…)`.";
  wording.remedies = {"write `and` where both must hold.", "write `or` where one of them is enough."};
  return wording;
}

Wording lasting_step() {
  Wording wording;
  wording.code = Code::bad_step;
  wording.message = "a step takes no `for`";
  wording.reason = "A step is met when its condition becomes true.";
  wording.remedies = {"put what must last before the steps: `sequence NAME each … for 1 s: …`.",
                      "let a state wait for it, and name the state as the step."};
  return wording;
}

Wording lone_gap() {
  Wording wording;
  wording.code = Code::bad_step;
  wording.message = "a gap stands between two steps";
  wording.reason = "It bounds the time from the step before it to the one after.";
  wording.remedies = {"write a step before and after it: `knock, 600 ms ± 200 ms, knock`."};
  return wording;
}

Wording said_with_is(std::string_view subject, std::string_view word) {
  Wording wording;
  wording.message = fmt::format("`{} is {}` is said without `is`", subject, word);
  wording.reason = "In a condition `is` stands before a number alone, as in `misses is 3`.";
  wording.remedies = {fmt::format("write `{} {}`.", subject, word)};
  return wording;
}

/// `word` is what stands behind the number; empty: nothing does. `counts`: the subject is known to be a
/// count.
Wording late_word(std::string_view subject, std::string_view number, std::string_view word, bool counts) {
  Wording wording;
  wording.message = word.empty() ? fmt::format("`{} {}` lacks the word that compares", subject, number)
                                 : fmt::format("`{} {} {}` is the wrong way round", subject, number, word);
  wording.reason = "A counter or a sequence is compared by `is`, `above` or `below` before the number.";
  const std::string meant = fmt::format("`{} {} {}`", subject, word.empty() ? "is" : word, number);
  if (counts)
    wording.remedies = {fmt::format("write {}.", meant)};
  else
    wording.remedies = {
        fmt::format("write {} if `{}` counts; a quantity has a unit, and a keypad's keys are written "
                    "`enters \"{}\"`.",
                    meant, subject, number)};
  return wording;
}

Wording late_not(std::string_view subject, std::string_view word) {
  Wording wording;
  wording.message = fmt::format("`not` stands before what it negates, not behind `{}`", subject);
  wording.remedies = {fmt::format("write `not {} {}`.", subject, word)};
  return wording;
}

Wording out_of_order(std::string_view ordered) {
  Wording wording;
  wording.message = "the parts of this rule stand in the wrong order";
  wording.reason = "The order is fixed: condition, `for`, `again every`, actions, arrow.";
  wording.remedies = {fmt::format("write `{}`.", ordered)};
  return wording;
}

Wording clause_twice(std::string_view clause) {
  Wording wording;
  wording.code = Code::twice_given;
  wording.message = fmt::format("this rule has {} twice", clause);
  wording.reason = "Each part of a rule stands once; which of the two counts would be a guess.";
  wording.remedies = {"take one of the two out, or write a rule for each."};
  return wording;
}

Wording again_with_move(std::string_view without) {
  Wording wording;
  wording.message = "`again every` in a rule that moves to another state";
  wording.reason = "A rule that moves acts once: the state it belongs to is left.";
  wording.remedies = {fmt::format("write `{}`.", without),
                      "write the actions as a rule of their own, with no arrow."};
  return wording;
}

Wording no_actions(std::string_view remedy) {
  Wording wording;
  wording.message = "these braces hold no action";
  wording.reason = "Braces in a rule are for actions.";
  wording.remedies = {std::string(remedy)};
  return wording;
}

Wording bare_action(std::string_view action) {
  Wording wording;
  wording.message = "an action without its braces";
  wording.reason = "Actions always stand in braces, even one alone.";
  wording.remedies = {fmt::format("write `{{ {} }}`.", action)};
  return wording;
}

Wording timed_keep(std::string_view keep) {
  Wording wording;
  wording.message = "`for` with a `keep` that is no action";
  wording.reason =
      "Outside of braces a `keep` lasts as long as its state, or its `while`. For a time it is an action.";
  wording.remedies = {fmt::format("write `enter {{ {} }}`, or put it into the braces of a rule.", keep)};
  return wording;
}

Wording wordless(std::string_view name, std::string_view word) {
  Wording wording;
  wording.code = Code::unknown_word;
  wording.message = fmt::format("`{}` does not say what it is", name);
  wording.reason = fmt::format("It is formed like a `{}`, but its first word is missing.", word);
  wording.remedies = {fmt::format("write `{}` before `{}`.", word, name)};
  return wording;
}

Wording no_language() {
  Wording wording;
  wording.code = Code::no_language;
  wording.message = "the file does not begin with `language 1`";
  wording.reason = "It fixes the list of words that are no names, so that later versions can bring new ones.";
  wording.remedies = {"write `language 1` as the first line."};
  return wording;
}

Wording late_language() {
  Wording wording;
  wording.code = Code::no_language;
  wording.message = "`language` stands once, before all other statements";
  wording.remedies = {"take it out here."};
  return wording;
}

Wording unknown_language(std::string_view version) {
  Wording wording;
  wording.code = Code::no_language;
  wording.message = fmt::format("there is no language {} in this version of Latchwork", version);
  wording.reason = "It reads `language 1`; a file with a higher number needs a newer version.";
  wording.remedies = {"write `language 1`, or take a newer version."};
  return wording;
}

Wording backslash(std::string_view path) {
  std::string fixed(path);
  for (char& letter : fixed) {
    if (letter == '\\') letter = '/';
  }
  Wording wording;
  wording.code = Code::bad_path;
  wording.message = "a `\\` in a path";
  wording.reason = "Paths are written with `/`, so that a room reads the same on every system.";
  wording.remedies = {fmt::format("write `\"{}\"`.", fixed)};
  return wording;
}

Wording bad_path(std::string_view message, std::string_view reason) {
  Wording wording;
  wording.code = Code::bad_path;
  wording.message = message;
  wording.reason = reason;
  wording.remedies = {"write a path relative to the folder of this file, `sounds/ring.wav` for instance."};
  return wording;
}

Wording bad_quantity(Code code, std::string_view written, std::string_view reason) {
  Wording wording;
  wording.code = code;
  wording.message = code == Code::overflow   ? fmt::format("`{}` is too large", written)
                    : code == Code::too_fine ? fmt::format("`{}` is too fine", written)
                                             : fmt::format("`{}` is not formed as a quantity", written);
  wording.reason = reason;
  wording.remedies = {code == Code::overflow   ? "write a smaller number."
                      : code == Code::too_fine ? "write fewer decimals, or the quantity in a smaller unit."
                                               : "write it in one unit, or like `2 min 30 s`."};
  return wording;
}

Wording outside_design() {
  Wording wording;
  wording.message = "`takes` in a prop";
  wording.reason = "Only a design has places to fill; a prop uses what it needs by its name.";
  wording.remedies = {"take it out, or make this a `design`."};
  return wording;
}

Wording use_loop(const std::vector<std::string>& files) {
  Wording wording;
  wording.code = Code::use_loop;
  if (files.size() == 1) {
    wording.message = "this file uses itself";
    wording.remedies = {"take the `use` out."};
    return wording;
  }
  wording.message = "these files use each other in a loop";
  for (std::size_t i = 0; i < files.size(); ++i) {
    wording.reason += fmt::format("{}`{}`", i == 0 ? "" : i == 1 ? " uses " : ", which uses ", files[i]);
  }
  wording.reason += fmt::format(", which uses `{}` again.", files.front());
  wording.remedies = {"move what they share into a file of its own, and `use` that."};
  return wording;
}

Wording unreadable(std::string_view path, std::string_view reason, std::string_view spelt) {
  Wording wording;
  wording.code = Code::unreadable_file;
  wording.message = fmt::format("`{}` cannot be taken in: {}", path, reason);
  wording.reason = "The path is taken from the folder of this file, and capitals count.";
  wording.remedies = {spelt.empty() ? std::string("check the path and the file.")
                                    : fmt::format("write `\"{}\"`.", spelt)};
  return wording;
}

}  // namespace lw::syntax
