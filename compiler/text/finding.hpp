// What the compiler has to say about a room: one finding a cause, with its place, its reason and its remedy.
//
// A finding is data; report/ alone turns it into text, JSON or SARIF. Codes, their usual severity and their
// long explanation stand in findings.def. Tests: tests/cases, tests/unit/text/finding_test.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "text/source.hpp"

namespace lw {

enum class Severity : std::uint8_t { error, warning, note };

enum class Code : std::uint16_t {
#define LW_FINDING(name, severity, title, explanation) name,
#include "text/findings.def"
#undef LW_FINDING
};

/// All codes, in the order of findings.def: static_cast<Code>(0) to static_cast<Code>(code_count() - 1).
std::size_t code_count();
/// The stable word in brackets, e.g. "overlap".
const char* code_name(Code code);
/// The code of that word, as `accept` and `latchwork explain` take it.
std::optional<Code> code_named(std::string_view name);
Severity usual_severity(Code code);
/// One line that says what the finding means in general, for `latchwork explain` and the docs.
const char* code_title(Code code);
/// The sentences of `latchwork explain`, unwrapped.
const char* code_explanation(Code code);
const char* severity_name(Severity severity);

/// A further place that belongs to the finding: its line is shown too.
struct Place {
  Span span;
  std::string note;        // worked out by the compiler, shown at the right of the line; may be empty
  bool underline = false;  // carets under the span
};

/// A line of a playthrough or of a rehearsal's timeline.
struct Event {
  std::string time;        // "0.71 s", or empty when it goes with the line before
  std::string happens;     // what players and operator do
  std::string answers;     // what the room does
  std::uint32_t line = 0;  // of the text that answered; 0 is none
};

/// The `accept` that silences a finding: where it stands, and why somebody found the finding right.
struct Acceptance {
  Span span;
  std::string reason;
};

struct Finding {
  Code code{};
  Severity severity = Severity::error;
  Span span;                          // what is underlined
  std::string message;                // the fact: general, lower case, names in back quotes, no full stop
  std::string note;                   // shown at the right of the underlined line
  std::vector<Place> places;          // other lines shown, in the order of the file
  std::string reason;                 // a sentence or two; may be empty
  std::vector<std::string> remedies;  // each a sentence; printed after "To mend it:"
  std::vector<Event> playthrough;
  std::string rehearsal;               // the playthrough in the language, as `lint --playthrough` prints it
  std::optional<Acceptance> accepted;  // then it is shown to machines only, and counted
};

/// Cuts texts that no reader would read to their end: what a finding quotes may be as long as a file.
void shorten(Finding& finding);

/// Where findings go: a plain list, in the order of discovery; who shows them arranges them.
using Findings = std::vector<Finding>;

/// In the order of the files and of the text; of what was found twice (code, place and fact alike) the first
/// stays.
Findings arranged(Findings findings);

}  // namespace lw
