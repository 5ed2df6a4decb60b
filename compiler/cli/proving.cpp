// What `lint` and `build` share of proofs: their options, progress on a terminal, and Ctrl-C.
#include <fmt/format.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdio>

#include "cli/command.hpp"
#include "play/side_by_side.hpp"
#include "text/utf8.hpp"

namespace lw::cli {
namespace {

// About a second or two a question: who waits for an answer says so.
constexpr std::uint64_t kMostScans = 200'000;

volatile std::sig_atomic_t interrupted = 0;

/// On a terminal, a few times a second, what is looked at. On standard error, so that what is printed stays
/// the same.
void show_progress(const std::string& what, const Spent& spent, std::chrono::steady_clock::time_point& last) {
  using namespace std::chrono;
  if (isatty(STDERR_FILENO) == 0 || spent.scans == 0) return;
  static steady_clock::time_point begun;
  static std::uint64_t begun_at = 0;
  const auto now = steady_clock::now();
  if (spent.scans < begun_at || begun_at == 0) {  // another question
    begun = now;
    begun_at = spent.scans;
  }
  if (now - last < milliseconds(200)) return;
  last = now;
  const double seconds = duration<double>(now - begun).count();
  const double rate = seconds > 0.1 ? static_cast<double>(spent.scans - begun_at) / seconds : 0;
  fmt::print(stderr, "\r\x1b[K{} states, {:.0f} scans a second: {}", spent.states, rate, shown_safely(what));
  std::fflush(stderr);
}

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
  how->budget.scans = kMostScans;
  how->tell = [last = std::chrono::steady_clock::time_point{}](const std::string& what,
                                                               const Spent& spent) mutable {
    show_progress(what, spent, last);
    return !interrupted;
  };
  add_freedom(command, "--assume", how, true,
              "Let playthroughs also make use of a freedom: cut, override, restart");
  add_freedom(command, "--no-assume", how, false, "Do not let them: hands, losses, late, operator");
  const auto most = CLI::Range(std::uint64_t{1}, std::uint64_t{1} << 40);
  command.add_option("--most-states", how->budget.states, "Store so many states at most for a question")
      ->type_name("N")
      ->check(most)
      ->capture_default_str();
  command.add_option("--most-scans", how->budget.scans, "Try so many scans at most for a question")
      ->type_name("N")
      ->check(most)
      ->capture_default_str();
  command
      .add_option_function<std::uint64_t>(
          "--most-memory", [how](std::uint64_t mib) { how->budget.bytes = mib << 20; },
          "Store so many MiB at most for a question [1024]")
      ->type_name("MIB")
      ->check(CLI::Range(std::uint64_t{1}, std::uint64_t{1} << 24));
  how->threads = all_threads();
  command
      .add_option("--threads", how->threads,
                  "Look at so many questions at once; what is said is the same [as many as the machine does]")
      ->type_name("N")
      ->check(CLI::Range(std::size_t{1}, std::size_t{1024}));
  command
      .add_option("--most-time", how->most_seconds, "Look no longer than so many seconds in all [no limit]")
      ->type_name("SECONDS")
      ->check(CLI::PositiveNumber);
  return how;
}

Proved prove_while_shown(const CompiledRoom& room, const Proving& how) {
  struct sigaction ours {
  }, before{};
  ours.sa_handler = [](int) { interrupted = 1; };
  ours.sa_flags = SA_RESETHAND;  // twice ends the command
  sigaction(SIGINT, &ours, &before);
  Proved proved = prove(room, how);
  sigaction(SIGINT, &before, nullptr);
  if (isatty(STDERR_FILENO) != 0) fmt::print(stderr, "\r\x1b[K");
  return proved;
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

OpenQuestions undecided(const Proved& proved) {
  OpenQuestions open;
  for (const Verdict& verdict : proved.verdicts)
    if (verdict.decision == Decision::undecided)
      open.push_back({"promise \"" + verdict.promise + '"', verdict.span, verdict.bound});
  open.insert(open.end(), proved.open.begin(), proved.open.end());
  return open;
}

}  // namespace lw::cli
