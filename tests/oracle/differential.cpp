// lw_oracle: the runtime and the second reading of docs/meaning.md play random rooms side by side, scan for
// scan.
//
//   lw_oracle [--rooms N] [--seed S] [--turns T] [--runtime FILE] [--room N] [--quiet] [--as-found]
//
// Exit 0: no difference, and every rule and construct was met. Exit 1: a difference, shrunk and printed as a
// room with its history, or something that was never met. `--runtime` takes another runtime
// (tests/oracle/mutate.py); what was met is then no matter. `--room N` plays the N-th room of the seed alone.
// `--as-found` does not shrink.
#include <dlfcn.h>

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <exception>
#include <string>

#include "compiled.hpp"
#include "constructs.hpp"
#include "duel.hpp"
#include "random_history.hpp"
#include "random_room.hpp"
#include "runtime_api.hpp"
#include "shrink.hpp"

namespace lw::oracle {
namespace {

struct Asked {
  int rooms = 500;
  std::uint64_t seed = 1;
  int turns = 0;  // 0: 60 to 200
  std::string runtime;
  int room = -1;
  bool quiet = false;
  bool as_found = false;
};

/// Plays the history; the difference, if any, with the history cut off after it.
std::optional<std::string> replay(const Compiled& compiled, History& history, const RuntimeApi& api) {
  Coverage unused;
  Duel duel(compiled, api, unused);
  for (std::size_t n = 0; n < history.size(); ++n) {
    const auto difference = duel.play(history[n]);
    if (!difference) continue;
    history.resize(n + 1);
    return difference;
  }
  return std::nullopt;
}

void report(Piece room, History history, const RuntimeApi& api, std::uint64_t seed, int number) {
  const auto differs = [&](const Piece& piece, History& shorter) {
    const auto compiled = compile_text(render(piece));
    return compiled->tables && replay(*compiled, shorter, api).has_value();
  };
  shrink(room, history, differs, 6000);
  const auto compiled = compile_text(render(room));
  const auto difference = replay(*compiled, history, api);
  std::printf("The runtime and docs/meaning.md differ (seed %llu, room %d).\n\n%s\n%s\nThen %s\n",
              static_cast<unsigned long long>(seed), number, render(room).c_str(), render(history).c_str(),
              difference ? difference->c_str() : "(the difference went away)");
}

/// False when the two differ.
bool play_room(const Asked& asked, int number, const RuntimeApi& api, Coverage& coverage, int& refused) {
  // Each room has dice of its own, so that one room can be played again without those before it.
  Dice dice(asked.seed * 0x100000001B3u + static_cast<std::uint64_t>(number));
  Piece piece;
  std::unique_ptr<Compiled> compiled;
  for (;;) {
    piece = random_room(dice);
    compiled = compile_text(render(piece));
    if (compiled->tables) break;
    ++refused;
  }
  note_constructs(*compiled->room, render(piece), coverage);
  Duel duel(*compiled, api, coverage);
  Driver driver(dice, duel);
  History history;
  const int controllers = static_cast<int>(compiled->room->controllers.size());
  const int turns = asked.turns > 0 ? asked.turns : dice.from(60, 200) * controllers;
  for (int n = 0; n < turns; ++n) {
    history.push_back(driver.next());
    const auto difference = duel.play(history.back());
    if (!difference) continue;
    if (asked.as_found) {
      std::printf("The runtime and docs/meaning.md differ (seed %llu, room %d).\nThen %s\n",
                  static_cast<unsigned long long>(asked.seed), number, difference->c_str());
      return false;
    }
    report(piece, history, api, asked.seed, number);
    return false;
  }
  return true;
}

int run(const Asked& asked) {
  const RuntimeApi* api = latchwork_runtime_api();
  if (!asked.runtime.empty()) {
    void* library = dlopen(asked.runtime.c_str(), RTLD_NOW | RTLD_LOCAL);
    using Get = const RuntimeApi* (*)();
    void* const symbol = library == nullptr ? nullptr : dlsym(library, "latchwork_runtime_api");
    if (symbol == nullptr) {
      std::fprintf(stderr, "%s\n", dlerror());
      return 2;
    }
    api = reinterpret_cast<Get>(symbol)();
  }
  Coverage coverage;
  int refused = 0;
  const int first = asked.room >= 0 ? asked.room : 0;
  const int end = asked.room >= 0 ? asked.room + 1 : asked.rooms;
  for (int n = first; n < end; ++n)
    if (!play_room(asked, n, *api, coverage, refused)) return 1;
  if (!asked.quiet) std::printf("%s", coverage.table().c_str());
  std::printf("%d rooms of seed %llu (%d more did not compile): no difference.\n", end - first,
              static_cast<unsigned long long>(asked.seed), refused);
  if (!asked.runtime.empty() || asked.room >= 0) return 0;
  const std::vector<std::string> missing = coverage.missing(all_constructs());
  for (const std::string& one : missing) std::printf("never met: %s\n", one.c_str());
  return missing.empty() ? 0 : 1;
}

}  // namespace
}  // namespace lw::oracle

int main(int argc, char** argv) {
  lw::oracle::Asked asked;
  for (int n = 1; n < argc; ++n) {
    const std::string option = argv[n];
    const bool has_value = n + 1 < argc;
    if (option == "--quiet")
      asked.quiet = true;
    else if (option == "--as-found")
      asked.as_found = true;
    else if (option == "--rooms" && has_value)
      asked.rooms = std::atoi(argv[++n]);
    else if (option == "--seed" && has_value)
      asked.seed = std::strtoull(argv[++n], nullptr, 10);
    else if (option == "--turns" && has_value)
      asked.turns = std::atoi(argv[++n]);
    else if (option == "--room" && has_value)
      asked.room = std::atoi(argv[++n]);
    else if (option == "--runtime" && has_value)
      asked.runtime = argv[++n];
    else {
      std::fprintf(stderr, "lw_oracle: unknown option %s\n", argv[n]);
      return 2;
    }
  }
  try {
    return lw::oracle::run(asked);
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "lw_oracle: %s\n", fault.what());
    return 4;
  }
}
