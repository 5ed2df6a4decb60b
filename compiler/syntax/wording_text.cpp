// The sentences of the mistakes that the scanner finds in characters: see wording.hpp.
#include <fmt/format.h>

#include "syntax/wording.hpp"

namespace lw::syntax {

Wording no_text(std::string_view what, std::size_t more_lines) {
  Wording wording;
  wording.code = Code::bad_text;
  wording.message = fmt::format("{} in the file", what);
  wording.reason = "A room is plain text in UTF-8.";
  if (more_lines > 0) wording.reason += fmt::format(" {} more lines hold such bytes.", more_lines);
  wording.remedies = {"save the file as plain text in UTF-8."};
  return wording;
}

Wording byte_order_mark() {
  Wording wording;
  wording.code = Code::bad_text;
  wording.message = "the file begins with a byte order mark";
  wording.reason = "It is an invisible sign that some editors write; text in UTF-8 needs none.";
  wording.remedies = {"save the file as UTF-8 without a byte order mark."};
  return wording;
}

Wording open_text() {
  Wording wording;
  wording.message = "the text that begins here is not closed";
  wording.reason = "Text goes from one `\"` to the next on the same line; a quote inside is written `\"\"`.";
  wording.remedies = {"write `\"` where the text ends."};
  return wording;
}

Wording curly_quotes(std::string_view straight) {
  Wording wording;
  wording.message = "these quotes are not straight ones";
  wording.reason = "Text stands between straight quotes; some editors change them while one types.";
  wording.remedies = {fmt::format("write `{}`.", straight)};
  return wording;
}

Wording decimal_comma(std::string_view fixed) {
  Wording wording;
  wording.code = Code::bad_quantity;
  wording.message = "a comma inside a number";
  wording.reason = "The decimal sign is a point, and thousands are not marked.";
  wording.remedies = {fmt::format("write `{}`.", fixed)};
  return wording;
}

Wording number_with_exponent() {
  Wording wording;
  wording.code = Code::bad_quantity;
  wording.message = "a number with an exponent";
  wording.reason = "Numbers are written out, so that everybody can read them aloud.";
  wording.remedies = {"write all of its digits, or a larger or smaller unit."};
  return wording;
}

Wording capitals(std::string_view word, std::string_view meant) {
  Wording wording;
  wording.message = fmt::format("`{}` has capitals", word);
  wording.reason = "Words and names are written in small letters; only terminals and units have capitals.";
  wording.remedies = {fmt::format("write `{}`.", meant)};
  return wording;
}

Wording odd_name(std::string_view word, std::string_view meant) {
  Wording wording;
  wording.message = fmt::format("`{}` is not written as a name", word);
  wording.reason = "Names are made of the small letters a to z, digits and `_`, and begin with a letter.";
  if (meant.empty()) {
    wording.remedies = {"write it with these alone."};
  } else {
    wording.remedies = {fmt::format("write `{}`.", meant)};
  }
  return wording;
}

Wording unquoted_terminal(std::string_view word) {
  Wording wording;
  wording.message = fmt::format("the terminal `{}` needs quotes", word);
  wording.reason = "Without quotes a terminal is made of capitals and digits alone.";
  wording.remedies = {fmt::format("write `\"{}\"`.", word)};
  return wording;
}

Wording foreign_mark(std::string_view mark, std::string_view remedy) {
  Wording wording;
  wording.message = fmt::format("`{}` means nothing in the language", mark);
  wording.remedies = {std::string(remedy)};
  return wording;
}

Wording invisible_space() {
  Wording wording;
  wording.message = "a space of another kind, which looks like an ordinary one";
  wording.reason = "It often comes along when text is pasted from a web page or a letter.";
  wording.remedies = {"write an ordinary space."};
  return wording;
}

Wording unknown_unit(std::string_view unit, std::string_view meant) {
  Wording wording;
  wording.code = Code::bad_quantity;
  wording.message = fmt::format("`{}` is not a unit", unit);
  if (!meant.empty()) {
    wording.note = fmt::format("did you mean `{}`?", meant);
    wording.remedies = {fmt::format("write `{}`.", meant)};
  } else {
    wording.reason =
        "The units are ng, µg, mg, g, kg, gr, oz, lb, ozt; ms, s, min, h; µA, mA, A; mV, V; mW, W; deg; mm, "
        "cm, m; mm2; "
        "Pa, kPa; °C; lx; B, KiB.";
    wording.remedies = {"write one of these."};
  }
  return wording;
}

Wording counts_without_x(std::string_view number, std::string_view thing) {
  Wording wording;
  wording.message = fmt::format("`{}` is neither a unit nor counted", thing);
  wording.reason = "Things are counted with `x`.";
  wording.remedies = {fmt::format("write `{} x {}`.", number, thing)};
  return wording;
}

Wording range_dash(std::string_view dash) {
  Wording wording;
  wording.code = Code::bad_quantity;
  wording.message = fmt::format("a `{}` between two numbers", dash);
  wording.reason = "A range is said with `to`, as in `600 g to 720 g`.";
  wording.remedies = {"write `to`."};
  return wording;
}

Wording more_mistakes(std::size_t most) {
  Wording wording;
  wording.message = fmt::format("more than {} mistakes in this file; what follows is not shown", most);
  wording.reason = "Perhaps it is not a room at all.";
  wording.remedies = {"mend the first ones, and run it again."};
  return wording;
}

}  // namespace lw::syntax
