// Lines and columns as editors count them, and what happens to files that cannot be taken in.
#include "text/source.hpp"

#include <doctest/doctest.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <tuple>

#include "text/utf8.hpp"

using namespace lw;

namespace {

std::string place(const SourceSet& sources, FileId file, std::size_t offset) {
  const Position position = sources.position(file, static_cast<std::uint32_t>(offset));
  return std::to_string(position.line) + ":" + std::to_string(position.column);
}

struct Folder {
  std::filesystem::path path;
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "latchwork-source-XXXXXX").string();
    REQUIRE(mkdtemp(name.data()) != nullptr);
    path = name;
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(path / name, std::ios::binary) << text;
    return (path / name).string();
  }
};

std::string load_failure(const std::string& path) {
  SourceSet sources;
  ReadError error;
  CHECK_FALSE(sources.load(path, "shown.latch", error).has_value());
  CHECK(error.path == "shown.latch");
  CHECK(sources.count() == 0);
  return error.reason;
}

}  // namespace

TEST_CASE("line and column count from 1, columns in code points") {
  SourceSet sources;
  const std::string text = "language 1\n  ± x → y\n\nend";
  const FileId file = sources.add("room.latch", text);
  CHECK(place(sources, file, 0) == "1:1");
  CHECK(place(sources, file, text.find("1")) == "1:10");
  CHECK(place(sources, file, text.find("±")) == "2:3");
  CHECK(place(sources, file, text.find("x")) == "2:5");
  CHECK(place(sources, file, text.find("y")) == "2:9");
  CHECK(place(sources, file, text.find("end")) == "4:1");
  CHECK(place(sources, file, text.size()) == "4:4");
  CHECK(place(sources, file, text.size() + 99) == "4:4");
}

TEST_CASE("LF and CR LF end lines, a CR alone does not") {
  SourceSet sources;
  const FileId file = sources.add("room.latch", "one\r\ntwo\rstill two\n\r\nlast\r");
  CHECK(sources.line(file, 1) == "one");
  CHECK(sources.line(file, 2) == "two\rstill two");
  CHECK(sources.line(file, 3) == "");
  CHECK(sources.line(file, 4) == "last\r");
  CHECK(sources.line(file, 5) == "");
  CHECK(sources.line(file, 0) == "");
  CHECK(place(sources, file, 3) == "1:4");  // the line end belongs to its line
  CHECK(place(sources, file, 4) == "1:5");
  CHECK(place(sources, file, 5) == "2:1");
}

TEST_CASE("a text that ends in a line end has an empty last line, and an empty text one line") {
  SourceSet sources;
  const FileId ended = sources.add("a", "one\n");
  CHECK(place(sources, ended, 4) == "2:1");
  CHECK(sources.line(ended, 2) == "");
  const FileId empty = sources.add("b", "");
  CHECK(place(sources, empty, 0) == "1:1");
  CHECK(sources.line(empty, 1) == "");
  CHECK(sources.line_span(empty, 7) == Span{empty, 0, 0});
}

TEST_CASE("positions are those of counting from the start of the text, block ends included") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 20; ++round) {
    const char* const pieces[] = {"a", "±", "→", "\xF0\x9F\x94\x92", "\n", "\r\n", "long words in a row "};
    std::string text;
    const std::size_t size = random() % 5000;
    // Some rounds hold no line end at all, so that a line runs over several blocks.
    const std::size_t kinds = round % 2 == 0 ? 7 : 4;
    while (text.size() < size) text += pieces[random() % kinds];
    SourceSet sources;
    const FileId file = sources.add("room.latch", text);
    std::uint32_t line = 1;
    std::uint32_t column = 1;
    for (std::size_t offset = 0; offset < text.size();) {
      const Position position = sources.position(file, static_cast<std::uint32_t>(offset));
      REQUIRE(std::tie(position.line, position.column) == std::tie(line, column));
      const std::size_t length = code_point_at(text, offset).size;
      ++column;
      if (text[offset] == '\n') ++line, column = 1;
      offset += length;
    }
  }
}

TEST_CASE("spans join and give their text") {
  SourceSet sources;
  const FileId file = sources.add("room.latch", "keep blue on");
  const Span keep{file, 0, 4};
  const Span on{file, 10, 12};
  CHECK(sources.text(keep) == "keep");
  CHECK(sources.text(join(on, keep)) == "keep blue on");
  CHECK(join(keep, on) == Span{file, 0, 12});
}

TEST_CASE("views into a text stay good while files are added and the set is moved") {
  SourceSet sources;
  const FileId first = sources.add("a", "short");  // short enough to lie inside the string itself
  const std::string_view view = sources.text(first);
  for (int i = 0; i < 1000; ++i) sources.add("b", "more");
  const SourceSet moved = std::move(sources);
  CHECK(view.data() == moved.text(first).data());
  CHECK(view == "short");
}

TEST_CASE("a file is taken in byte for byte under the name shown") {
  const Folder folder;
  const std::string bytes = std::string("\xEF\xBB\xBFlanguage 1\r\n\0\xFF end", 21);
  const std::string path = folder.write("room.latch", bytes);
  SourceSet sources;
  ReadError error;
  const auto file = sources.load(path, "rooms/room.latch", error);
  REQUIRE(file.has_value());
  CHECK(sources.text(*file) == bytes);
  CHECK(sources.name(*file) == "rooms/room.latch");
}

TEST_CASE("what cannot be read says why in plain words") {
  const Folder folder;
  CHECK(load_failure((folder.path / "none.latch").string()) == "there is no such file");
  CHECK(load_failure(folder.path.string()) == "it is a folder, not a file");
  CHECK(load_failure(folder.write("plain", "") + "/room.latch") ==
        "its path leads through something that is not a folder");
  CHECK(load_failure(std::string("room\0.latch", 11)) == "its name holds a zero byte");
  CHECK(load_failure(std::string(5000, 'a')) == "its name is too long");
  const std::string locked = folder.write("locked.latch", "language 1");
  std::filesystem::permissions(locked, std::filesystem::perms::none);
  if (geteuid() != 0) CHECK(load_failure(locked) == "this user may not read it");
}

TEST_CASE("64 MiB are taken in, a byte more is not, and an endless file ends") {
  const Folder folder;
  const std::string path = folder.write("large.latch", "");
  std::filesystem::resize_file(path, SourceSet::kMostBytes);
  {
    SourceSet sources;
    ReadError error;
    CHECK(sources.load(path, "large.latch", error).has_value());
  }
  std::filesystem::resize_file(path, SourceSet::kMostBytes + 1);
  CHECK(load_failure(path) == "it is larger than 64 MiB");
  if (std::filesystem::exists("/dev/zero")) CHECK(load_failure("/dev/zero") == "it is larger than 64 MiB");
}

TEST_CASE("width is that of the terminal") {
  CHECK(display_width("") == 0);
  CHECK(display_width("fair ± 35 g → open") == 18);
  CHECK(display_width("e\u0301") == 1);
  CHECK(display_width("秤") == 2);
  CHECK(display_width("\xF0\x9F\x94\x92") == 2);
  CHECK(display_width("\x1B[31m") == 8);  // <1B>[31m
  CHECK(display_width("\xFFx") == 5);     // <FF>x
  CHECK(display_width("\u202E") == 8);    // <U+202E>
}
