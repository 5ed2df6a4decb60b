// Files and what they use: each once, loops shown, and what cannot be read said at the `use`.
#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "support.hpp"

namespace fs = std::filesystem;

namespace {

// A folder of files that goes away with the test.
class Folder {
 public:
  Folder() {
    std::string pattern = (fs::temp_directory_path() / "latchwork-load-XXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  ~Folder() { fs::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  std::string write(const std::string& name, const std::string& text) const {
    const fs::path path = path_ / name;
    fs::create_directories(path.parent_path());
    std::ofstream(path, std::ios::binary) << text;
    return path.string();
  }
  std::string path(const std::string& name) const { return (path_ / name).string(); }

 private:
  fs::path path_;
};

struct Loaded {
  lw::SourceSet sources;
  lw::Findings findings;
  lw::ReadError error;
  std::optional<lw::ast::Program> program;

  explicit Loaded(const std::string& path) { program = lw::load_program(sources, path, error, findings); }
  // The names of the files in their order, without the folder, and what is found.
  std::string files(const std::string& folder) const {
    std::string text;
    for (const lw::ast::File& file : program->files) text += strip(sources.name(file.id), folder) + " ";
    return text;
  }
  std::string told(const std::string& folder) const {
    std::string text;
    for (const lw::Finding& finding : findings) {
      text += strip(sources.name(finding.span.file), folder) + ":" +
              strip(syntax_test::told(finding, sources), folder) + "\n";
    }
    return text;
  }

 private:
  static std::string strip(std::string text, const std::string& folder) {
    for (std::size_t at = text.find(folder); at != std::string::npos; at = text.find(folder))
      text.erase(at, folder.size());
    return text;
  }
};

}  // namespace

TEST_CASE("a used file comes before the one that uses it, each once, by whatever path") {
  const Folder folder;
  folder.write("boards/bench.latch", "language 1\nuse \"../words/a.latch\"\nboard bench { inputs I1 }\n");
  folder.write("words/a.latch", "language 1\nlet a be 5 s\n");
  const std::string root = folder.write("room.latch",
                                        "language 1\nuse \"boards/bench.latch\"\nuse \"./words/a.latch\"\n"
                                        "use \"words/../words/a.latch\"\nuse \"boards/bench.latch\"\n");
  const Loaded loaded(root);
  REQUIRE(loaded.program);
  CHECK(loaded.told(folder.path("")) == "");
  CHECK(loaded.files(folder.path("")) == "words/a.latch boards/bench.latch room.latch ");
  CHECK(loaded.sources.count() == 3);
  const lw::ast::File& room = loaded.program->files.back();
  for (const lw::ast::Statement& statement : room.statements) {
    CHECK(std::get<lw::ast::Use>(statement.form).file.has_value());
  }
  CHECK(std::get<lw::ast::Use>(room.statements[1].form).file ==
        std::get<lw::ast::Use>(room.statements[2].form).file);
}

TEST_CASE("a loop of uses is shown") {
  const Folder folder;
  const std::string root = folder.write("a.latch", "language 1\nuse \"b.latch\"\nlet x be 1 s\n");
  folder.write("b.latch", "language 1\nuse \"c.latch\"\nlet y be 1 s\n");
  folder.write("c.latch", "language 1\nuse \"a.latch\"\nlet z be 1 s\n");
  const Loaded loaded(root);
  REQUIRE(loaded.program);
  CHECK(loaded.told(folder.path("")) ==
        "c.latch:2:5 [use_loop] `\"a.latch\"`: these files use each other in a loop | `a.latch` uses "
        "`b.latch`, which uses "
        "`c.latch`, which uses `a.latch` again. | move what they share into a file of its own, and `use` "
        "that.\n");
  CHECK(loaded.files(folder.path("")) == "c.latch b.latch a.latch ");
  CHECK(loaded.program->complete);
}

TEST_CASE("a file that uses itself is told so") {
  const Folder folder;
  const Loaded loaded(folder.write("a.latch", "language 1\nuse \"a.latch\"\n"));
  CHECK(loaded.told(folder.path("")) ==
        "a.latch:2:5 [use_loop] `\"a.latch\"`: this file uses itself | take the `use` out.\n");
}

TEST_CASE("a used file that cannot be read is a finding at its use") {
  const Folder folder;
  folder.write("Bench.latch", "language 1\n");
  fs::create_directories(folder.path("boards"));
  const Loaded loaded(
      folder.write("a.latch",
                   "language 1\nuse \"none.latch\"\nuse \"boards\"\nuse \"bench.latch\"\nuse \"\"\n"
                   "use \"/etc/none.latch\"\nlet x be 1 s\n"));
  REQUIRE(loaded.program);
  CHECK(!loaded.program->complete);
  CHECK(loaded.program->files.back().statements.size() == 6);
  const std::string kWhere = " | The path is taken from the folder of this file, and capitals count. | ";
  CHECK(loaded.told(folder.path("")) ==
        "a.latch:2:5 [unreadable_file] `\"none.latch\"`: `none.latch` cannot be taken in: there is no such "
        "file" +
            kWhere +
            "check the path and the file.\n"
            "a.latch:3:5 [unreadable_file] `\"boards\"`: `boards` cannot be taken in: it is a folder, not a "
            "file" +
            kWhere +
            "check the path and the file.\n"
            "a.latch:4:5 [unreadable_file] `\"bench.latch\"`: `bench.latch` cannot be taken in: there is no "
            "such file" +
            kWhere +
            "write `\"Bench.latch\"`.\n"
            "a.latch:5:5 [bad_path] `\"\"`: the path of a `use` is empty | It names the file that is taken "
            "in. | write a "
            "path relative to the folder of this file, `sounds/ring.wav` for instance.\n"
            "a.latch:6:5 [bad_path] `\"/etc/none.latch\"`: a path that is not relative | It would name "
            "nothing on another "
            "machine. | write a path relative to the folder of this file, `sounds/ring.wav` for instance.\n");
}

TEST_CASE("a first file that cannot be read is no finding but an error of the caller's") {
  const Folder folder;
  const Loaded missing(folder.path("none.latch"));
  CHECK(!missing.program);
  CHECK(missing.findings.empty());
  CHECK(missing.error.reason == "there is no such file");
  const Loaded directory(folder.path(""));
  CHECK(!directory.program);
  CHECK(directory.error.reason == "it is a folder, not a file");
}

TEST_CASE("a backslash in a used path is reported once, and the file is read all the same") {
  const Folder folder;
  folder.write("boards/bench.latch", "language 1\nboard bench { }\n");
  const Loaded loaded(folder.write("a.latch", "language 1\nuse \"boards\\bench.latch\"\n"));
  REQUIRE(loaded.findings.size() == 1);
  CHECK(loaded.findings[0].code == lw::Code::bad_path);
  CHECK(loaded.program->files.size() == 2);
}

TEST_CASE("a mistake in a used file has that file's place") {
  const Folder folder;
  folder.write("b.latch", "language 1\nlmap a at b.K1\n");
  const Loaded loaded(folder.write("a.latch", "language 1\nuse \"b.latch\"\n"));
  CHECK(loaded.told(folder.path("")) ==
        "b.latch:2:1 [unknown_word] `lmap`: unknown word `lmap` | did you mean `lamp`? | write `lamp`.\n");
  CHECK(loaded.program->files.back().whole);
}

TEST_CASE("a long row of uses is no deep recursion") {
  const Folder folder;
  const int kFiles = 2000;
  for (int i = 0; i < kFiles; ++i) {
    folder.write(std::to_string(i) + ".latch", "language 1\nuse \"" + std::to_string(i + 1) + ".latch\"\n");
  }
  folder.write(std::to_string(kFiles) + ".latch", "language 1\n");
  const Loaded loaded(folder.path("0.latch"));
  REQUIRE(loaded.program);
  CHECK(loaded.findings.empty());
  CHECK(loaded.program->files.size() == kFiles + 1);
}
