// Words that people bring from other languages and from their trade, and what each is here.
//
// Only words that begin nothing in the language: they are looked up where none of its words can stand. What
// is near a word of the language is told as a slip of the pen before. Tests: tests/cases/text/unknown_word-*.
#include <fmt/format.h>

#include "syntax/wording.hpp"

namespace lw::syntax {
namespace {

struct Brought {
  std::string_view words;  // with a space before and after each
  const char* remedy;
};
constexpr Brought kBrought[] = {
    {" if whenever on_event once ", "begin a rule with `when`: `when lid lifted -> open`."},
    {" else elseif elif otherwise unless ",
     "write a rule of its own: there is no `else`, but `when not …` is one."},
    {" wait sleep pause timeout ", "begin a rule that waits with `after`: `after 5 s -> open`."},
    {" goto go next become change ", "write a move as the end of a rule: `when lid lifted -> open`."},
    {" var const define variable constant alias macro ",
     "give a value a name with `let`: `let patience be 9 s`."},
    {" output switch turn_on turn_off light activate enable trigger ",
     "ask an output for a level with `keep`: `keep glow on`."},
    {" unlock release ", "ask a lock for its level with `keep`: `keep door released`."},
    {" print log say show message display text ",
     "write a line for the operator with `tell`: `tell \"Shelf empty\"`."},
    {" import include require ", "take in another file with `use`: `use \"boards.latch\"`."},
    {" switch_contact sensor reed doorswitch input microswitch ",
     "declare it by what it is: a `contact`, a `button`, a `scale`, a `gauge`, a `reader` or a `keypad`."},
    {" led bulb ", "write `lamp`."},
    {" speaker horn player ", "write `voice`."},
    {" servo ", "write `motor`."},
    {" rfid nfc tag ", "write `reader` for what reads tags; a tag is an option of a `thing`."},
    {" maglock magnet solenoid latch ", "write `lock`."},
    {" item object weight ", "write `thing`."},
    {" puzzle step stage game ", "write `prop` for what players solve, and `state` for how far they are."},
    {" sound audio file track ", "write `clip`, and play it on a `voice`."},
    {" variable_count int integer number ", "count with a `counter`: `counter misses: 0 to 3`."},
    {" test scenario ", "write `rehearsal \"…\"`."},
    {" assert check require_that ", "write `expect` in a rehearsal, or a `promise`."},
};

}  // namespace

const char* brought_along(std::string_view word) {
  const std::string sought = fmt::format(" {} ", word);
  for (const Brought& row : kBrought) {
    if (row.words.find(sought) != std::string_view::npos) return row.remedy;
  }
  return nullptr;
}

}  // namespace lw::syntax
