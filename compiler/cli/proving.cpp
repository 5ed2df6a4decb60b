// What `lint` and `build` share of proofs: their options, progress on a terminal, and Ctrl-C.
#include <fmt/format.h>

#include "cli/command.hpp"

namespace lw::cli {
namespace {

CLI::Option* add_freedom(CLI::App& command, const std::string& name, const std::shared_ptr<Proving>& how,
                         bool on, const std::string& help) {
  std::vector<std::string> names;
  for (const FreedomName& freedom : freedom_names()) names.push_back(freedom.name);
  return command
      .add_option_function<std::vector<std::string>>(
          name,
          [how, on](const std::vector<std::string>& given) {
            for (const FreedomName& freedom : freedom_names())
              for (const std::string& one : given)
                if (one == freedom.name) how->freedoms.*freedom.is_on = on;
          },
          help)
      ->type_name("NAME")
      ->check(CLI::IsMember(names))
      ->allow_extra_args(false);
}

}  // namespace

std::shared_ptr<Proving> add_proving(CLI::App& command) {
  auto how = std::make_shared<Proving>();
  how->asked = true;
  CLI::Option* const assume = add_freedom(
      command, "--assume", how, true, "Let playthroughs also make use of a freedom: cut, override, restart");
  CLI::Option* const none =
      add_freedom(command, "--no-assume", how, false, "Do not let them: hands, losses, late, operator");
  (void)assume;
  (void)none;
  const auto most = CLI::Range(std::uint64_t{1}, std::uint64_t{1} << 40);
  command.add_option("--most-states", how->budget.states, "Store so many states at most for a question")
      ->type_name("N")
      ->check(most)
      ->capture_default_str();
  command
      .add_option_function<std::uint64_t>(
          "--most-memory", [how](std::uint64_t mib) { how->budget.bytes = mib << 20; },
          "Use so many MiB at most for a question [1024]")
      ->type_name("MIB")
      ->check(CLI::Range(std::uint64_t{1}, std::uint64_t{1} << 24));
  command
      .add_option("--most-time", how->budget.seconds, "Look no longer than so many seconds in all [no limit]")
      ->type_name("SECONDS")
      ->check(CLI::PositiveNumber);
  return how;
}

std::string proved_words(const CompiledRoom& room, const Verdicts& verdicts) {
  std::size_t proved = 0;
  const Verdict* first = nullptr;
  for (const Verdict& verdict : verdicts)
    if (verdict.decision == Decision::proved && proved++ == 0) first = &verdict;
  if (first == nullptr) return "";
  return fmt::format("{} proved, for {}", count(proved, "promise"),
                     freedoms_words(*room.room, first->freedoms));
}

Verdicts undecided(const Verdicts& verdicts) {
  Verdicts open;
  for (const Verdict& verdict : verdicts)
    if (verdict.decision == Decision::undecided) open.push_back(verdict);
  return open;
}

}  // namespace lw::cli
