// A room's files: the first, and each that is used, once: see parse.hpp.
//
// A used file comes before the one that uses it. The walk keeps its own stack, so that a long row of uses is
// no deep recursion. Tests: tests/unit/syntax/load_test.cpp.
#include <algorithm>
#include <cassert>
#include <filesystem>
#include <map>
#include <vector>

#include "syntax/mistakes.hpp"
#include "syntax/parse.hpp"
#include "syntax/wording.hpp"

namespace lw {
namespace {

namespace fs = std::filesystem;

// One file by whatever path it is reached.
std::string identity(const fs::path& path) {
  std::error_code error;
  const fs::path real = fs::canonical(path, error);
  return error ? path.lexically_normal().string() : real.string();
}

std::string lowered(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

// The path as the folders spell it, if that differs in its capitals alone; else empty. Not every file system
// tells capitals apart, but every room must read the same on each.
std::string spelt_by_folders(const fs::path& folder, const std::string& written) {
  fs::path real;
  bool differs = false;
  for (const fs::path& step : fs::path(written)) {
    const std::string name = step.string();
    if (name.empty() || name == "." || name == "..") {
      real /= step;
      continue;
    }
    std::error_code error;
    std::string near;
    const fs::path in = (folder / real).empty() ? fs::path(".") : folder / real;
    for (fs::directory_iterator entry(in, error), end; !error && entry != end; entry.increment(error)) {
      const std::string found = entry->path().filename().string();
      if (found == name) {
        near = name;
        break;
      }
      if (lowered(found) == lowered(name) && (near.empty() || found < near)) near = found;
    }
    if (near.empty()) return {};
    differs = differs || near != name;
    real /= near;
  }
  return differs ? real.generic_string() : std::string();
}

/// A file of the same folder with a similar name, as a path like the one written; nothing if there is none.
std::string file_near(const fs::path& folder, const std::string& written) {
  constexpr int kMostLooked = 1000;
  const fs::path parent = fs::path(written).parent_path();
  const fs::path in = (folder / parent).empty() ? fs::path(".") : folder / parent;
  std::vector<std::string> names;
  std::error_code error;
  int looked = 0;
  for (fs::directory_iterator entry(in, error), end; !error && entry != end && ++looked <= kMostLooked;
       entry.increment(error)) {
    if (entry->path().extension() == ".latch") names.push_back(entry->path().stem().string());
  }
  std::sort(names.begin(), names.end());
  const std::string_view near = nearest(fs::path(written).stem().string(), {names.begin(), names.end()});
  return near.empty() ? std::string() : (parent / (std::string(near) + ".latch")).generic_string();
}

class Loader {
 public:
  Loader(SourceSet& sources, Findings& findings) : sources_(sources), findings_(findings) {}

  std::optional<ast::Program> load(const std::string& path, ReadError& error) {
    const std::optional<FileId> root = sources_.load(path, path, error);
    if (!root) return std::nullopt;
    open(*root, path, identity(path));
    while (!stack_.empty()) {
      if (!open_next_use()) {
        program_.files.push_back(std::move(stack_.back().file));
        stack_.pop_back();
      }
    }
    return std::move(program_);
  }

 private:
  struct Open {
    ast::File file;
    std::string path;
    std::string identity;
    std::size_t next = 0;  // statement
  };

  void open(FileId id, const std::string& path, const std::string& who) {
    known_[who] = id;
    stack_.push_back({parse(sources_, id, findings_), path, who, 0});
  }

  // Goes on to the next `use` of the file on top; false if it has no more.
  bool open_next_use() {
    Open& user = stack_.back();
    while (user.next < user.file.statements.size()) {
      auto* use = std::get_if<ast::Use>(&user.file.statements[user.next].form);
      ++user.next;
      if (use == nullptr || use->path.span.end == use->path.span.begin) continue;
      if (take(user, *use)) return true;
    }
    return false;
  }

  // True if the used file is now on top of the stack.
  bool take(Open& user, ast::Use& use) {
    std::string written = use.path.value();
    std::replace(written.begin(), written.end(), '\\', '/');  // reported by the parser
    if (written.empty()) {
      program_.complete = false;
      say(user, use, syntax::bad_path("the path of a `use` is empty", "It names the file that is taken in."));
      return false;
    }
    const fs::path folder = fs::path(user.path).parent_path();
    const bool relative = !fs::path(written).is_absolute() && (written.size() < 2 || written[1] != ':');
    if (!relative) {
      say(user, use,
          syntax::bad_path("a path that is not relative", "It would name nothing on another machine."));
    }
    const std::string path = (folder / written).lexically_normal().string();
    const std::string spelt = spelt_by_folders(folder, written);
    const std::string who = identity(path);
    const auto known = known_.find(who);
    if (known != known_.end()) {
      use.file = known->second;
      report_loop(user, use, who);
      return false;
    }
    ReadError error;
    const std::optional<FileId> id = sources_.load(path, path, error);
    if (!id) {
      program_.complete = false;
      const std::string meant = spelt.empty() ? file_near(folder, written) : spelt;
      if (relative) say(user, use, syntax::unreadable(written, error.reason, meant));
      return false;
    }
    if (!spelt.empty())
      say(user, use, syntax::unreadable(written, "its capitals differ from those of the file", spelt));
    use.file = id;
    open(*id, path, who);  // `user` and `use` are no longer good
    return true;
  }

  void report_loop(Open& user, const ast::Use& use, const std::string& who) {
    const auto begin =
        std::find_if(stack_.begin(), stack_.end(), [&](const Open& open) { return open.identity == who; });
    if (begin == stack_.end()) return;  // used twice, which is one use
    std::vector<std::string> files;
    for (auto open = begin; open != stack_.end(); ++open) files.push_back(sources_.name(open->file.id));
    say(user, use, syntax::use_loop(files));
  }

  void say(Open& user, const ast::Use& use, syntax::Wording wording) {
    user.file.whole = false;
    user.file.statements[user.next - 1].whole = false;
    syntax::Mistakes(findings_).say(use.path.span, std::move(wording));
  }

  SourceSet& sources_;
  Findings& findings_;
  ast::Program program_;
  std::vector<Open> stack_;
  std::map<std::string, FileId> known_;
};

}  // namespace

std::optional<ast::Program> load_program(SourceSet& sources, const std::string& path, ReadError& error,
                                         Findings& findings) {
  return Loader(sources, findings).load(path, error);
}

}  // namespace lw
