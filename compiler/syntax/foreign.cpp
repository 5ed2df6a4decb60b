// What people write that the language does not know: see foreign.hpp.
#include "syntax/foreign.hpp"

#include <algorithm>
#include <string>

#include "text/quantity.hpp"
#include "text/utf8.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

struct Mark {
  std::string_view written;
  Token token;  // end_of_file: it stands for nothing
  std::string_view remedy;
};
// Longer ones before those that they begin with.
constexpr Mark kMarks[] = {
    {"=>", arrow_, "write `->`."},
    {"==", w_is, "write `is` and the number."},
    {"=", end_of_file, "a name and its value are joined by the words of the statement; take it out."},
    {";", end_of_file, "take it out; statements and lines need no mark at their end."},
    {"&&", w_and, "write `and`."},
    {"&", w_and, "write `and`."},
    {"||", w_or, "write `or`."},
    {"|", w_or, "write `or`."},
    {"!=", end_of_file, "write `not` before the condition."},
    {"!", w_not, "write `not`."},
    {">=", w_above, "write `above` and the number before."},
    {">", w_above, "write `above`."},
    {"<=", w_below, "write `below` and the number after."},
    {"<", w_below, "write `below`."},
    {"*", times_, "write `x`, as in `2 x nugget`."},
    {"@", w_at, "write `at`."},
    {"+/-", plus_minus, "write `±` or `+-`."},
    {"[", end_of_file, "take it out; conditions stand in `(` and `)`, all else in `{` and `}`."},
    {"]", end_of_file, "take it out; conditions stand in `(` and `)`, all else in `{` and `}`."},
    {"≥", w_above, "write `above` and the number before."},
    {"≤", w_below, "write `below` and the number after."},
    {"⇒", arrow_, "write `->`."},
    {"⟶", arrow_, "write `->`."},
};

// Marks that close what a curly or single quote opens; the opening ones are among them in some languages.
constexpr std::string_view kQuotes[] = {"“", "”", "„", "‟", "«", "»", "‘", "’", "‚", "'"};
constexpr std::string_view kDashes[] = {"–", "—", "−", "‐", "‑"};
constexpr std::string_view kSpaces[] = {"\u00A0", "\u2007", "\u2009", "\u202F", "\u3000"};

template <std::size_t N>
std::size_t starts_with(std::string_view text, const std::string_view (&marks)[N]) {
  for (const std::string_view mark : marks) {
    if (text.substr(0, mark.size()) == mark) return mark.size();
  }
  return 0;
}

bool is_small(char c) { return c >= 'a' && c <= 'z'; }
bool is_capital(char c) { return c >= 'A' && c <= 'Z'; }
bool is_word_byte(char c) { return is_small(c) || is_capital(c) || is_digit(c) || c == '_'; }

// A letter beyond ASCII, roughly: what is no sign, no punctuation and no space.
bool is_far_letter(CodePoint point) {
  const char32_t value = point.value;
  return point.valid && value >= 0xC0 && value != 0xD7 && value != 0xF7 &&
         !(value >= 0x2000 && value < 0x2C00) && !(value >= 0x3000 && value < 0x3040) && value != 0xFEFF;
}

struct PlainUnit {
  std::string_view word;
  std::string_view unit;
};
constexpr PlainUnit kPlainUnits[] = {
    {"gram", "g"},    {"grams", "g"},    {"gramme", "g"},    {"grammes", "g"},  {"kilo", "kg"},
    {"kilos", "kg"},  {"sec", "s"},      {"secs", "s"},      {"second", "s"},   {"seconds", "s"},
    {"mins", "min"},  {"minute", "min"}, {"minutes", "min"}, {"hr", "h"},       {"hrs", "h"},
    {"hour", "h"},    {"hours", "h"},    {"msec", "ms"},     {"millis", "ms"},  {"amp", "A"},
    {"amps", "A"},    {"ampere", "A"},   {"volt", "V"},      {"volts", "V"},    {"watt", "W"},
    {"watts", "W"},   {"lbs", "lb"},     {"pound", "lb"},    {"pounds", "lb"},  {"ounce", "oz"},
    {"ounces", "oz"}, {"grain", "gr"},   {"grains", "gr"},   {"degree", "deg"}, {"degrees", "deg"},
    {"lux", "lx"},    {"kb", "KiB"},     {"KB", "KiB"},      {"kB", "KiB"},     {"us", "ms"},
    {"byte", "B"},    {"bytes", "B"},    {"metre", "m"},     {"meter", "m"},    {"uA", "µA"},
    {"ug", "µg"},
};
constexpr std::string_view kUnits[] = {
#define LW_UNIT(id, written, dimension, factor, shown) written,
#include "grammar/words.def"
};

std::string lowered(std::string_view word) {
  std::string small(word);
  for (char& c : small) {
    if (is_capital(c)) c = static_cast<char>(c - 'A' + 'a');
  }
  return small;
}

// The unit that a word was meant to be; empty if none is near.
std::string_view unit_meant(std::string_view word) {
  for (const PlainUnit& plain : kPlainUnits) {
    if (plain.word == word && plain.word != "us") return plain.unit;
  }
  const std::string small = lowered(word);
  for (const std::string_view unit : kUnits) {
    if (lowered(unit) == small) return unit;
  }
  return {};
}

}  // namespace

void Foreign::say(std::uint32_t begin, std::uint32_t end, Wording wording) {
  mistakes_.say({tokens_.file, begin, end}, std::move(wording));
}

std::uint32_t Foreign::end_of_line(std::uint32_t offset) {
  if (offset < line_end_) return line_end_;  // offsets only rise
  std::size_t end = std::min(tokens_.text.find('\n', offset), tokens_.text.size());
  if (end > offset && tokens_.text[end - 1] == '\r') --end;
  line_end_ = static_cast<std::uint32_t>(end);
  return line_end_;
}

bool Foreign::goes_on(std::uint32_t offset) const {
  const std::string_view rest = tokens_.text.substr(offset);
  if (rest.empty()) return false;
  if (is_word_byte(rest[0])) return true;
  if (rest[0] == '-')
    return rest.size() > 1 && (is_small(rest[1]) || is_capital(rest[1]) || is_digit(rest[1]));
  return static_cast<unsigned char>(rest[0]) >= 0x80 && is_far_letter(code_point_at(rest, 0));
}

Foreign::Reading Foreign::read(std::uint32_t offset) {
  const std::string_view rest = tokens_.text.substr(offset);
  if (rest[0] == '"') return read_open_text(offset);
  if (is_small(rest[0]) || is_capital(rest[0]) || rest[0] == '_') return read_word(offset);
  if (rest[0] == '-') return read_dash(offset, 1);
  if (const std::size_t size = starts_with(rest, kQuotes)) {
    return read_curly(offset, static_cast<std::uint32_t>(size));
  }
  if (const std::size_t size = starts_with(rest, kDashes)) {
    return read_dash(offset, static_cast<std::uint32_t>(size));
  }
  std::uint32_t size = 0;
  if (odd_space(offset, size)) return {end_of_file, offset + size};
  if (rest.substr(0, 2) == "//" || rest.substr(0, 2) == "/*") {
    say(offset, offset + 2,
        foreign_mark(rest.substr(0, 2), "begin a comment with `#`; it goes to the end of the line."));
    return {end_of_file, end_of_line(offset)};
  }
  const Reading mark = read_mark(offset);
  if (mark.end != offset) return mark;
  return read_unknown(offset);
}

// A mark of other languages; `end` is `offset` if there is none.
Foreign::Reading Foreign::read_mark(std::uint32_t offset) {
  const std::string_view rest = tokens_.text.substr(offset);
  const std::size_t count = tokens_.size();
  const Token before = count < 2 ? end_of_file : tokens_.kind(count - 2);
  for (const Mark& mark : kMarks) {
    if (rest.substr(0, mark.written.size()) != mark.written) continue;
    std::size_t end = mark.written.size();
    while (rest.substr(end, mark.written.size()) == mark.written) end += mark.written.size();
    Reading reading{mark.token, static_cast<std::uint32_t>(offset + end), mark.written == ";"};
    std::string_view remedy = mark.remedy;
    if (mark.written == "=" && before == w_let) {
      reading.token = w_be;
      remedy = "write `be`.";
    } else if (mark.written == "=" &&
               (before == w_timer || before == w_counter || before == w_sequence || before == w_on)) {
      reading.token = colon_;
      remedy = "write `:`.";
    } else if (mark.written == "==") {
      const std::size_t next = rest.find_first_not_of(" \t", end);
      if (next == std::string_view::npos || !is_digit(rest[next])) {
        reading.token = end_of_file;
        remedy = "take it out: a fact is said without it, as in `lid lifted`.";
      }
    } else if (mark.written == ">") {
      const std::size_t next = rest.find_first_not_of(" \t", end);
      const bool compares = next != std::string_view::npos && is_digit(rest[next]);
      if (!compares) {
        reading.token = arrow_;
        remedy = "write `->`.";
      }
    }
    say(offset, reading.end, foreign_mark(mark.written, remedy));
    return reading;
  }
  return {end_of_file, offset};
}

// A run of what has no meaning at all, bytes that are no text included: those are reported already.
Foreign::Reading Foreign::read_unknown(std::uint32_t offset) {
  const std::string_view text = tokens_.text;
  std::size_t end = offset;
  bool shown = false;
  while (end < text.size()) {
    const CodePoint point = code_point_at(text, end);
    const bool ascii_sign = point.valid && point.value > ' ' && point.value < 0x7F;
    if (ascii_sign &&
        (is_word_byte(text[end]) ||
         std::string_view("{}(),:.\"-+#;=&|!<>*@[]'/").find(text[end]) != std::string_view::npos)) {
      if (end != offset) break;
    } else if (point.valid && (point.value == ' ' || point.value == '\t' || point.value == '\n')) {
      break;
    } else if (point.valid && point.value >= 0x80 && end != offset) {
      break;
    }
    shown = shown || (point.valid && escape_of(point).empty());
    end += point.size;
  }
  const auto after = static_cast<std::uint32_t>(end);
  if (shown && is_far_letter(code_point_at(text, offset))) return read_word(offset);
  if (shown) say(offset, after, foreign_mark(text.substr(offset, after - offset), "take it out."));
  return {end_of_file, after};
}

// A word with capitals, hyphens or letters beyond z: the name that it was meant to be.
Foreign::Reading Foreign::read_word(std::uint32_t offset) {
  const std::string_view text = tokens_.text;
  std::size_t end = offset;
  bool far = false;
  bool hyphen = false;
  bool small = false;
  bool capital = false;
  while (end < text.size()) {
    const char c = text[end];
    if (is_word_byte(c)) {
      small = small || is_small(c) || c == '_';
      capital = capital || is_capital(c);
      ++end;
    } else if (c == '-' && end + 1 < text.size() && is_word_byte(text[end + 1])) {
      hyphen = true;
      ++end;
    } else if (static_cast<unsigned char>(c) >= 0x80 && is_far_letter(code_point_at(text, end))) {
      far = true;
      end += code_point_at(text, end).size;
    } else {
      break;
    }
  }
  const auto after = static_cast<std::uint32_t>(end);
  const std::string_view word = text.substr(offset, end - offset);
  const std::size_t count = tokens_.size();
  const bool behind_dot = count > 0 && tokens_.kind(count - 1) == dot_;
  if (is_capital(word[0]) && (behind_dot || (hyphen && !small))) return read_terminal(offset, after);

  std::string meant;
  for (std::size_t i = 0; i < word.size(); ++i) {
    const char c = lowered(word.substr(i, 1))[0];
    // A capital inside a word begins its next part.
    if (is_capital(word[i]) && i > 0 && (is_small(word[i - 1]) || is_digit(word[i - 1]))) meant += '_';
    if (is_small(c) || is_digit(c) || c == '_') {
      meant += c;
    } else if (c == '-') {
      meant += '_';
    }
  }
  meant.erase(0, std::min(meant.find_first_not_of('_'), meant.size()));
  if (!meant.empty() && !is_small(meant[0])) meant.clear();
  if (meant.empty() || far) {
    say(offset, after, odd_name(word, {}));
    tokens_.mend(offset, meant.empty() ? std::string("unnamed") : meant);
    return {plain_name, after};
  }
  const bool fail_word = word.substr(0, 5) == "fail-";
  if (fail_word) {
    const std::string_view near = nearest(word, {"fail-safe", "fail-secure"});
    if (!near.empty()) {
      say(offset, after, misspelt(word, near, nullptr));
      return {near == "fail-safe" ? fail_safe_ : fail_secure_, after};
    }
  }
  if (capital && !hyphen) {
    say(offset, after, capitals(word, meant));
  } else {
    say(offset, after, odd_name(word, meant));
  }
  const Token token = token_of(meant);
  tokens_.mend(offset, std::move(meant));
  return {token, after};
}

Foreign::Reading Foreign::read_terminal(std::uint32_t offset, std::uint32_t end) {
  say(offset, end, unquoted_terminal(tokens_.text.substr(offset, end - offset)));
  return {terminal_, end};
}

// Text whose quote never comes. Braces that close at the end of its line are taken as meant.
Foreign::Reading Foreign::read_open_text(std::uint32_t offset) {
  std::uint32_t end = end_of_line(offset);
  std::string_view rest = tokens_.text.substr(offset, end - offset);
  for (const std::string_view quote : kQuotes) {
    if (quote == "'") continue;
    const std::size_t at = rest.find(quote);
    if (at == std::string_view::npos) continue;
    const auto after = static_cast<std::uint32_t>(offset + at + quote.size());
    say(offset, after, curly_quotes("\"" + std::string(rest.substr(1, at - 1)) + "\""));
    return {text_, after};
  }
  while (end > offset + 1) {
    const char last = tokens_.text[end - 1];
    if (last != ' ' && last != '\t' && last != '}') break;
    --end;
  }
  say(offset, offset + 1, open_text());
  return {text_, end};
}

Foreign::Reading Foreign::read_curly(std::uint32_t offset, std::uint32_t first_size) {
  const std::uint32_t line_end = end_of_line(offset);
  const std::string_view rest = tokens_.text.substr(offset, line_end - offset);
  for (std::size_t at = first_size; at < rest.size(); ++at) {
    std::size_t size = starts_with(rest.substr(at), kQuotes);
    if (size == 0 && rest[at] == '"') size = 1;
    if (size == 0) continue;
    const auto after = static_cast<std::uint32_t>(offset + at + size);
    say(offset, after, curly_quotes("\"" + std::string(rest.substr(first_size, at - first_size)) + "\""));
    return {text_, after};
  }
  say(offset, offset + first_size,
      foreign_mark(rest.substr(0, first_size), "take it out, or write text between `\"` and `\"`."));
  return {end_of_file, offset + first_size};
}

Foreign::Reading Foreign::read_dash(std::uint32_t offset, std::uint32_t size) {
  const std::string_view mark = tokens_.text.substr(offset, size);
  const std::size_t count = tokens_.size();
  const Token before = count == 0 ? end_of_file : tokens_.kind(count - 1);
  if (tokens_.text.substr(offset + size, 1) == ">") {
    say(offset, offset + size + 1, foreign_mark(tokens_.text.substr(offset, size + 1), "write `->`."));
    return {arrow_, offset + size + 1};
  }
  if (before >= number && before <= percent_) {
    tokens_.flags.back() |= Tokens::kReported;  // its unit stands behind the range
    say(offset, offset + size, range_dash(mark));
    return {w_to, offset + size};
  }
  say(offset, offset + size,
      foreign_mark(mark, "take it out; a sign is written `-` right before its number."));
  return {end_of_file, offset + size};
}

std::uint32_t Foreign::decimal_comma(std::uint32_t begin, std::uint32_t comma) {
  const std::string_view text = tokens_.text;
  std::size_t end = comma;
  int groups = 0;
  while (end + 1 < text.size() && (text[end] == ',' || text[end] == '.') && is_digit(text[end + 1])) {
    ++end;
    while (end < text.size() && is_digit(text[end])) ++end;
    ++groups;
  }
  const std::string_view number = text.substr(begin, end - begin);
  std::string fixed;
  // Several groups, as in 1,000,000, are thousands; one comma is a decimal sign.
  for (const char c : number) {
    if (c != ',' && c != '.') {
      fixed += c;
    } else if (groups == 1) {
      fixed += '.';
    }
  }
  const auto after = static_cast<std::uint32_t>(end);
  say(begin, after, syntax::decimal_comma(fixed));
  tokens_.mend(begin, std::move(fixed));
  return after;
}

std::uint32_t Foreign::exponent(std::uint32_t begin, std::uint32_t offset) {
  const std::string_view text = tokens_.text;
  std::size_t end = offset;
  if (end >= text.size() || (text[end] != 'e' && text[end] != 'E')) return offset;
  ++end;
  if (end < text.size() && (text[end] == '+' || text[end] == '-')) ++end;
  const std::size_t digits = end;
  while (end < text.size() && is_digit(text[end])) ++end;
  if (end == digits) return offset;
  const auto after = static_cast<std::uint32_t>(end);
  say(begin, after, number_with_exponent());
  tokens_.mend(begin, std::string(text.substr(begin, offset - begin)));
  return after;
}

bool Foreign::is_meant_as_unit(std::string_view word) const {
  if (!unit_meant(word).empty()) return true;
  return nearest(word, {"to", "of", "from", "on"}).empty();
}

bool Foreign::counts_without_x(std::uint32_t number_end, std::uint32_t begin, std::uint32_t end) {
  const std::size_t count = tokens_.size();
  const Token before = count == 0 ? end_of_file : tokens_.kind(count - 1);
  const std::string_view word = tokens_.text.substr(begin, end - begin);
  if (before != w_place && before != plus_ && before != colon_) return false;
  if (!is_small(word[0]) || !unit_meant(word).empty()) return false;
  if (!nearest(word, {"to", "of", "from", "on"}).empty()) return false;
  const std::string_view number = tokens_.text.substr(0, number_end);
  std::size_t number_begin = number_end;
  while (number_begin > 0 && is_digit(number[number_begin - 1])) --number_begin;
  say(static_cast<std::uint32_t>(number_begin), end,
      syntax::counts_without_x(number.substr(number_begin), word));
  return true;
}

void Foreign::unknown_unit(std::uint32_t begin, std::uint32_t end) {
  const std::string_view word = tokens_.text.substr(begin, end - begin);
  const std::string_view meant = unit_meant(word);
  say(begin, end, syntax::unknown_unit(word, meant));
  if (!meant.empty()) tokens_.mend(begin, std::string(meant));
}

bool Foreign::odd_space(std::uint32_t offset, std::uint32_t& size) {
  std::size_t end = offset;
  while (const std::size_t step = starts_with(tokens_.text.substr(end), kSpaces)) end += step;
  size = static_cast<std::uint32_t>(end) - offset;
  if (size == 0) return false;
  say(offset, offset + size, invisible_space());
  return true;
}

}  // namespace lw::syntax
