// Safety: what can be said of locks on a way out from the text alone. Never that anything is in order: local
// code, the authority having jurisdiction and licensed people decide that (docs/safety.md).
#include <fmt/format.h>

#include "check/check.hpp"

namespace lw {

void check_safety(const Subject& subject, Findings& findings) {
  for (const model::Output& output : subject.room.outputs) {
    if (output.kind != model::OutputKind::lock || !output.exit) continue;
    Finding finding = finding_of(Code::exit_lock, output.span, "");
    if (!output.fail_safe) {
      finding.message = fmt::format("exit lock `{}` stays shut without power", output.name);
      finding.reason =
          "A fail-secure lock needs power to release. When the supply, the controller or a wire fails, "
          "people behind it "
          "are locked in.";
      finding.remedies.push_back(
          "use a fail-safe lock on a way out and write `fail-safe`. Local code, the authority having "
          "jurisdiction and a "
          "licensed professional decide what a way out needs; a controller is never the only thing that "
          "frees it.");
      findings.push_back(finding);
    }
    if (output.rest.kind == model::LevelKind::secured) {
      finding.message = fmt::format("exit lock `{}` rests secured", output.name);
      finding.reason =
          "Its rest level holds before the session, after a reset, and whenever no prop asks: people behind "
          "it are kept in "
          "while nothing in the room says so.";
      finding.remedies = {
          "write `rest released`, and let a prop keep it secured while the session runs. Local code, the "
          "authority having "
          "jurisdiction and a licensed professional decide what a way out needs."};
      findings.push_back(finding);
    }
  }
}

}  // namespace lw
