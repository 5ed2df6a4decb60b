// lw_exits: what `lint` says of a room's exit lock, beside what the runtime does when it is stepped
// (held.hpp).
//
//   lw_exits [--instants N] [--seed S] FILE...
//
// Of each file a line: its name; what is said of the lock, words of `not_let_go`, `held`, `open_not_let_go`,
// `open_held`, or `fine`; a bar; what was seen, words of `not_let_go`, `played_on`, `held`,
// `held_at_times`, or `fine`; then, each
// after a tab, the states in words. `refused CODE` where it has an error. Exit 0; 2: wrong usage.
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <exception>
#include <stdexcept>
#include <string>
#include <utility>

#include "check/judge.hpp"
#include "held.hpp"

namespace lw::naive {
namespace {

std::string said(const CompiledRoom& compiled) {
  Courses courses(*compiled.room, *compiled.tables);
  Findings findings;
  OpenQuestions open;
  judge_exits({compiled, courses, nullptr, Freedoms{}, [](const std::string&) { return Budget{}; },
               []() -> const char* { return nullptr; }, findings, open, nullptr});
  std::string words;
  for (const Finding& finding : findings)
    words += finding.code == Code::exit_held         ? "held "
             : finding.code == Code::exit_not_let_go ? "not_let_go "
                                                     : "? ";
  for (const OpenQuestion& question : open)
    words += question.what.find("stays held") != std::string::npos ? "open_held " : "open_not_let_go ";
  return words.empty() ? "fine " : words;
}

void compare(const std::string& path, std::uint64_t seed, int instants) {
  ReadError error;
  const auto compiled = compile(path, "", error);
  if (!compiled) throw std::runtime_error(path + " cannot be read");
  std::string line = path + " ";
  if (!compiled->tables) {
    line += "refused";
    for (const Finding& finding : compiled->findings)
      if (finding.severity == Severity::error)
        line += " " + std::string(code_name(finding.code)) + "\t" + finding.message;
    std::printf("%s\n", line.c_str());
    return;
  }
  Held held(*compiled->room, *compiled->tables, seed);
  const Held::Findings seen = held.look(instants);
  line += said(*compiled) + "|";
  std::string why;
  for (const auto& [word, state] : {std::pair<const char*, const std::string&>{"not_let_go", seen.not_let_go},
                                    {"played_on", seen.played_on},
                                    {"held", seen.held},
                                    {"held_at_times", seen.held_at_times}})
    if (!state.empty()) {
      line += std::string(" ") + word;
      why += "\t" + std::string(word) + ": " + state;
    }
  if (why.empty()) line += " fine";
  std::printf("%s%s\t%zu states, %zu tried\n", line.c_str(), why.c_str(), seen.states, seen.secured);
}

int run(int argc, char** argv) {
  std::uint64_t seed = 1;
  int instants = 5'000;
  for (int n = 1; n < argc; ++n) {
    if (n + 1 < argc && std::strcmp(argv[n], "--seed") == 0)
      seed = std::strtoull(argv[++n], nullptr, 10);
    else if (n + 1 < argc && std::strcmp(argv[n], "--instants") == 0)
      instants = std::atoi(argv[++n]);
    else
      compare(argv[n], seed, instants);
  }
  return argc > 1 ? 0 : 2;
}

}  // namespace
}  // namespace lw::naive

int main(int argc, char** argv) {
  try {
    return lw::naive::run(argc, argv);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "lw_exits: %s\n", error.what());
    return 2;
  }
}
