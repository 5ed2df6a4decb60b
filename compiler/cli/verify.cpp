// `latchwork verify DIR`: whether a payload, or a card that it was copied to, is as it was built.
#include "payload/verify.hpp"

#include <fmt/format.h>

#include "cli/command.hpp"

namespace lw::cli {

void add_verify(CLI::App& app, Outcome& outcome) {
  auto folder = std::make_shared<std::string>();
  CLI::App* const command =
      app.add_subcommand("verify", "Say what of a payload, or on a card, is missing, altered or foreign");
  command->add_option("DIR", *folder, "A payload's folder, one controller's folder in it, or a mounted card")
      ->required();
  command->footer(
      "Reads and never writes. Exits with 1 when anything is missing, altered, foreign or could not be "
      "checked.");
  command->callback([folder, &outcome] {
    const payload::Verification verification = payload::verify(*folder);
    const std::string text = payload::verification_text(verification, *folder);
    const bool nothing = verification.subject == payload::Subject::nothing;
    fmt::print(nothing && verification.unreadable ? stderr : stdout, "{}", text);
    outcome.status = nothing && verification.unreadable ? kUsage : verification.clean() ? kClean : kFindings;
  });
}

}  // namespace lw::cli
