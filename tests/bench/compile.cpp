// bench_compile LATCHWORK SAMPLES: how long the way from text to tables takes, and how much memory.
//
// Text to tables stands beside nlohmann/json on as many bytes, the two by turns in one run, so that the ratio
// means something on any machine; medians of all turns. `lint` is the command itself, started as a user
// starts it; its memory is the most that the kernel saw. Prints rows of a Markdown table.
#include "check/compile.hpp"

#include <fmt/format.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "model/resolve.hpp"
#include "rooms.hpp"
#include "syntax/parse.hpp"
#include "table/lower.hpp"

namespace {

constexpr int kTurns = 31;

double ms_of(clockid_t clock) {
  timespec now{};
  clock_gettime(clock, &now);
  return static_cast<double>(now.tv_sec) * 1e3 + static_cast<double>(now.tv_nsec) / 1e6;
}
double processor_ms() { return ms_of(CLOCK_THREAD_CPUTIME_ID); }
double wall_ms() { return ms_of(CLOCK_MONOTONIC); }

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

[[noreturn]] void stop(const std::string& why) {
  fmt::print(stderr, "bench_compile: {}\n", why);
  std::exit(1);
}

struct Stages {
  std::vector<double> parse, resolve, lower, tables, json;
};

std::size_t text_to_tables(const std::string& text, Stages& stages) {
  lw::SourceSet sources;
  lw::Findings findings;
  const double begin = processor_ms();
  lw::ast::Program program;
  program.files.push_back(lw::parse(sources, sources.add("room.latch", text), findings));
  const double parsed = processor_ms() - begin;
  const auto room = lw::resolve(sources, program, findings);
  const double resolved = processor_ms() - begin;
  if (!room) stop("the room does not resolve: " + findings.front().message);
  const auto length = [](lw::model::ClipId) { return std::int64_t{1}; };
  const auto tables = lw::lower(sources, *room, length, findings);
  const double lowered = processor_ms() - begin;
  if (!tables || !findings.empty()) stop("the room has findings: " + findings.front().message);
  stages.parse.push_back(parsed);
  stages.resolve.push_back(resolved - parsed);
  stages.lower.push_back(lowered - resolved);
  stages.tables.push_back(lowered);
  std::size_t bytes = 0;
  for (const lw::ControllerTable& controller : tables->controllers) bytes += controller.bytes.size();
  return bytes;
}

/// The static checks alone, once: what they take may be far from what the tables take.
double checks_ms(const std::string& text) {
  lw::SourceSet sources;
  lw::Findings findings;
  lw::ast::Program program;
  program.files.push_back(lw::parse(sources, sources.add("room.latch", text), findings));
  const auto room = lw::resolve(sources, program, findings);
  if (!room) stop("the room does not resolve");
  const double begin = processor_ms();
  lw::check_all({sources, *room, {}}, findings);
  return processor_ms() - begin;
}

struct Run {
  double wall_ms = 0, processor_ms = 0;
  long peak_kb = 0;
};

/// Runs a program with its output thrown away.
Run run(const std::vector<std::string>& words) {
  std::vector<char*> arguments;
  for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", 1 /* O_WRONLY */, 0);
  const double begin = wall_ms();
  pid_t child = 0;
  if (posix_spawnp(&child, arguments[0], &actions, nullptr, arguments.data(), environ) != 0)
    stop(words[0] + " does not start");
  int status = 0;
  rusage usage{};
  if (wait4(child, &status, 0, &usage) != child) stop(words[0] + " is lost");
  posix_spawn_file_actions_destroy(&actions);
  // 0, or 3 for the promises of a sample.
  if (!WIFEXITED(status) || (WEXITSTATUS(status) != 0 && WEXITSTATUS(status) != 3))
    stop(fmt::format("{} {} ends with {}", words[0], words[1], WEXITSTATUS(status)));
  const auto ms = [](const timeval& time) {
    return static_cast<double>(time.tv_sec) * 1e3 + static_cast<double>(time.tv_usec) / 1e3;
  };
  return {wall_ms() - begin, ms(usage.ru_utime) + ms(usage.ru_stime), usage.ru_maxrss};
}

Run median_run(const std::vector<std::string>& words) {
  std::vector<double> walls, processors;
  long peak_kb = 0;
  for (int turn = 0; turn < kTurns; ++turn) {
    const Run one = run(words);
    walls.push_back(one.wall_ms);
    processors.push_back(one.processor_ms);
    peak_kb = std::max(peak_kb, one.peak_kb);
  }
  return {median(walls), median(processors), peak_kb};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) return 2;
  const std::string latchwork = argv[1], samples = argv[2];
  const std::string text = lw::bench::room_of_lines(10000);
  const std::string json = lw::bench::json_of(text, text.size());
  Stages stages;
  std::size_t table_bytes = 0, kept = 0;
  for (int turn = 0; turn < kTurns; ++turn) {
    table_bytes = text_to_tables(text, stages);
    const double begin = processor_ms();
    const auto value = nlohmann::json::parse(json);
    stages.json.push_back(processor_ms() - begin);
    kept += value.size();
  }
  if (kept == 0) stop("no JSON");
  const double json_ms = median(stages.json), tables_ms = median(stages.tables);
  const auto lines = std::count(text.begin(), text.end(), '\n');
  fmt::print("A room of {} lines, {} KB; {} KB of tables. Medians of {}.\n\n", lines, text.size() / 1000,
             table_bytes / 1000, kTurns);
  fmt::print("| what | processor | to JSON |\n| --- | --- | --- |\n");
  fmt::print("| nlohmann/json, {} KB | {:.1f} ms | 1 |\n", json.size() / 1000, json_ms);
  const auto row = [&](const char* what, const std::vector<double>& times) {
    fmt::print("| {} | {:.1f} ms | {:.2f} |\n", what, median(times), median(times) / json_ms);
  };
  row("text to tree", stages.parse);
  row("tree to model", stages.resolve);
  row("model to tables", stages.lower);
  fmt::print("| **text to tables** | **{:.1f} ms** | **{:.2f}** |\n", tables_ms, tables_ms / json_ms);
  std::fflush(stdout);
  const double checking_ms = checks_ms(text);
  fmt::print("| the static checks, once | {:.1f} ms | {:.2f} |\n", checking_ms, checking_ms / json_ms);
  std::fflush(stdout);

  const std::filesystem::path file =
      std::filesystem::temp_directory_path() / fmt::format("bench-{}.latch", getpid());
  std::ofstream(file) << text;
  const Run lint = median_run({latchwork, "lint", "--static", file.string()});
  std::filesystem::remove(file);
  const Run assay = median_run({latchwork, "lint", "--static", samples + "/assay_office/assay_office.latch"});
  const Run version = median_run({latchwork, "--version"});
  fmt::print("\n| command | processor | by the clock | most memory |\n| --- | --- | --- | --- |\n");
  const auto command = [](const char* what, const Run& one) {
    fmt::print("| {} | {:.1f} ms | {:.1f} ms | {:.1f} MB |\n", what, one.processor_ms, one.wall_ms,
               static_cast<double>(one.peak_kb) / 1000);
  };
  command("`lint --static` of that room, as a command", lint);
  command("`lint --static` of the Assay Office, its rehearsals played", assay);
  command("`latchwork --version`", version);
  return 0;
}
