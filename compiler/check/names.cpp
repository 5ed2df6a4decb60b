// Names that nothing uses. Resolving lists them (model/unused.cpp); here it is said what that means.
//
// Said only of a room whose every name was found: where one is misspelt, the one that was meant looks unused.
// Tests: tests/cases/names.
#include <fmt/format.h>

#include "check/check.hpp"

namespace lw {
namespace {

struct NameWords {
  std::string message, reason, remedy;
};

NameWords words_of(const model::Unused& unused) {
  using Kind = model::UnusedKind;
  const std::string name = fmt::format("`{}`", unused.name);
  const std::string of_owner = unused.owner.empty() ? "" : fmt::format(" of `{}`", unused.owner);
  switch (unused.kind) {
    case Kind::board:
      return {fmt::format("no controller uses board {}", name), "A board alone is only a list of terminals.",
              fmt::format("write `controller NAME is {}`, or take the board out.", unused.name)};
    case Kind::controller:
      return {fmt::format("controller {} has nothing to do", name),
              "No device hangs at it and no prop lives on it.",
              "hang devices at it and write a prop on it, or take it out."};
    case Kind::input:
      return {fmt::format("nothing reads {}", name),
              "No rule, `keep`, sequence or promise asks for it: whatever players do there changes nothing.",
              "let a prop ask for it, or take it out."};
    case Kind::output:
      return {fmt::format("nothing drives {}", name),
              "No prop keeps it at any level: it stays at rest through the whole game.",
              "let a prop keep it at a level, or take it out."};
    case Kind::voice:
      return {fmt::format("nothing plays on {}", name), "It stays quiet through the whole game.",
              fmt::format("write `play CLIP on {}` in a prop, or take it out.", unused.name)};
    case Kind::clip:
      return {fmt::format("nothing plays clip {}", name), "No voice is ever told to play it.",
              fmt::format("write `play {} on VOICE` in a prop, or take it out.", unused.name)};
    case Kind::cue:
      return {fmt::format("nothing sends cue {}", name), "Whoever listens on the link never hears it.",
              fmt::format("write `send {}` in a prop, or take it out.", unused.name)};
    case Kind::let:
      return {fmt::format("nothing uses the `let` {}{}", name, of_owner),
              "What it stands for is written nowhere.", "use its name, or take it out."};
    case Kind::design:
      return {fmt::format("no prop is made from design {}", name), "So nothing in it happens in the room.",
              fmt::format("write `prop NAME on CONTROLLER is {} {{ … }}`, or take it out.", unused.name)};
    case Kind::place:
      return {fmt::format("design `{}` takes {} and does not use it", unused.owner, name),
              "Whatever fills the place changes nothing.",
              "use it in the design, or take it out of `takes` and of each use."};
    case Kind::window:
      return {fmt::format("nothing asks for window {}{}", name, of_owner),
              "No condition names it, and no other window takes an end from it.",
              "name it in a rule, or take it out."};
    case Kind::timer:
      return {fmt::format("nothing asks for timer {}{}", name, of_owner),
              "It may be started and stopped, but no condition asks how far it is.",
              fmt::format("ask for `{} done`, or take it out.", unused.name)};
    case Kind::counter:
      return {fmt::format("nothing asks for counter {}{}", name, of_owner),
              "It may be changed, but no condition asks where it stands.",
              fmt::format("ask for `{} is 3` or the like, or take it out.", unused.name)};
    case Kind::sequence:
      return {fmt::format("nothing asks for sequence {}{}", name, of_owner),
              "No condition asks whether it is done or wrong.",
              fmt::format("ask for `{} done`, or take it out.", unused.name)};
    case Kind::unstarted_timer:
      return {
          fmt::format("nothing starts timer {}{}", name, of_owner),
          "A timer stands until an action starts it, so what is asked of it never comes true.",
          fmt::format("write `start {}` in the braces of a rule or of `enter`, or write `after` in a state.",
                      unused.name)};
    case Kind::unchanged_counter:
      return {fmt::format("nothing changes counter {}{}", name, of_owner),
              "It stands at its low end until an action changes it, so what is asked of it never changes.",
              fmt::format("write `add 1 to {}` in the braces of a rule.", unused.name)};
  }
  return {};
}

}  // namespace

void check_names(const Subject& subject, Findings& findings) {
  for (const model::Unused& unused : subject.room.unused) {
    NameWords words = words_of(unused);
    const bool stands = unused.kind == model::UnusedKind::unstarted_timer ||
                        unused.kind == model::UnusedKind::unchanged_counter;
    Finding finding =
        finding_of(stands ? Code::never_started : Code::unused_name, unused.span, std::move(words.message));
    finding.reason = std::move(words.reason);
    finding.remedies.push_back(std::move(words.remedy));
    findings.push_back(std::move(finding));
  }
}

}  // namespace lw
