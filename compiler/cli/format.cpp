// `latchwork format FILE...`: a room's text laid out in the one way of docs/format.md.
//
// A file is replaced whole or stays as it was: the new text is written beside it and takes its name. Tests:
// tests/cases/format, tests/format.py.
#include "syntax/format.hpp"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <climits>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <iterator>

#include "cli/command.hpp"
#include "payload/files.hpp"
#include "report/text.hpp"

namespace lw::cli {
namespace {

/// The error number, or 0. A link stays a link: the file that it leads to is replaced, with its permissions.
int replace(const std::string& path, const std::string& text) {
  char real[PATH_MAX];
  if (realpath(path.c_str(), real) == nullptr) return errno;
  struct stat status {};
  if (stat(real, &status) != 0) return errno;
  if (access(real, W_OK) != 0) return errno;
  std::string beside = std::string(real) + ".XXXXXX";
  const int fd = mkstemp(beside.data());
  if (fd < 0) return errno;
  payload::Files files;
  int error = files.write(fd, text.data(), text.size());
  if (error == 0 && fchmod(fd, status.st_mode & 07777) != 0) error = errno;
  if (error == 0) error = files.sync(fd);
  if (const int closing = files.close(fd); error == 0) error = closing;
  if (error == 0 && std::rename(beside.c_str(), real) != 0) error = errno;
  if (error != 0) std::remove(beside.c_str());
  return error;
}

struct FormatOptions {
  std::vector<std::string> paths;
  bool check = false;
  bool print = false;
};

struct Counts {
  std::size_t changed = 0;
  std::size_t refused = 0;
  std::size_t unread = 0;
};

void format_one(const std::string& path, const FormatOptions& options, Counts& counts) {
  SourceSet sources;
  FileId file{};
  const bool piped = path == "-";
  if (piped) {
    std::string text{std::istreambuf_iterator<char>(std::cin), std::istreambuf_iterator<char>()};
    if (text.size() > SourceSet::kMostBytes) {
      fmt::print(stderr, "latchwork: -: it is larger than 64 MiB\n");
      ++counts.unread;
      return;
    }
    file = sources.add("standard input", std::move(text));
  } else {
    ReadError error;
    const auto loaded = sources.load(path, path, error);
    if (!loaded) {
      fmt::print(stderr, "latchwork: {}: {}\n", error.path, error.reason);
      ++counts.unread;
      return;
    }
    file = *loaded;
  }
  Findings findings;
  const auto text = formatted(sources, file, findings);
  const std::string& name = sources.name(file);
  if (!text) {
    report::TextStyle style;
    style.colour = isatty(STDERR_FILENO) != 0 && use_color();
    findings = arranged(std::move(findings));
    fmt::print(stderr, "{}\n{}: {}; left as it is\n", report::findings_text(findings, sources, style), name,
               report::summary(findings));
    ++counts.refused;
    return;
  }
  const bool same = *text == sources.text(file);
  if (!same) ++counts.changed;
  if (options.check) {
    if (!same) fmt::print("{}\n", name);
  } else if (piped || options.print) {
    fmt::print("{}", *text);
  } else if (!same) {
    if (const int error = replace(path, *text); error != 0) {
      fmt::print(stderr, "latchwork: {}: {}\n", path, payload::system_words(error));
      ++counts.unread;
      return;
    }
    fmt::print("{}: laid out anew\n", name);
  }
}

}  // namespace

void add_format(CLI::App& app, Outcome& outcome) {
  auto options = std::make_shared<FormatOptions>();
  CLI::App* const command = app.add_subcommand("format", "Lay a room's text out in the one usual way");
  command->add_option("FILE", options->paths, "The .latch files; - reads standard input")->required();
  const auto check =
      command->add_flag("--check", options->check, "Change nothing; name the files that would change");
  command->add_flag("--stdout", options->print, "Change nothing; print the text instead")->excludes(check);
  command->footer(
      "Only layout changes, never the table: words, numbers and comments stay as written. A file that "
      "cannot\n"
      "be read as a room is left as it is, and its findings are said. Files that a room uses are formatted "
      "only\n"
      "when named. Exits with 1 when --check names a file, or a file could not be read as a room.");
  command->callback([options, &outcome] {
    Counts counts;
    for (const std::string& path : options->paths) format_one(path, *options, counts);
    const bool found = counts.refused != 0 || (options->check && counts.changed != 0);
    outcome.status = counts.unread != 0 ? kUsage : found ? kFindings : kClean;
  });
}

}  // namespace lw::cli
