// The bytes of every file of a room, and where in them something stands.
//
// Everything later speaks in spans (byte ranges of one file); line and column are worked out only when a
// finding is printed, in constant time however long the line is. Columns count code points, so `±` is one;
// underlines use display width. Tests: tests/unit/text/source_test.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lw {

enum class FileId : std::uint16_t {};

/// A range of bytes [begin, end) of one file. An empty span marks a place between two bytes.
struct Span {
  FileId file{};
  std::uint32_t begin = 0;
  std::uint32_t end = 0;
};
inline bool operator==(Span a, Span b) { return a.file == b.file && a.begin == b.begin && a.end == b.end; }
inline bool operator!=(Span a, Span b) { return !(a == b); }

/// The smallest span that holds both; they must be of one file.
Span join(Span a, Span b);

/// A place as editors and people count it: both from 1, the column in code points.
struct Position {
  std::uint32_t line = 1;
  std::uint32_t column = 1;
};

/// Why a file could not be taken in: what the system said, in plain words.
struct ReadError {
  std::string path;
  std::string reason;
};

/// All files of one run. Texts never move once added, so string views into them stay good.
class SourceSet {
 public:
  SourceSet() = default;
  SourceSet(const SourceSet&) = delete;
  SourceSet& operator=(const SourceSet&) = delete;
  SourceSet(SourceSet&&) = default;
  SourceSet& operator=(SourceSet&&) = default;

  /// The most bytes of one file, and the most files: what a span can say, with room to spare.
  static constexpr std::size_t kMostBytes = std::size_t{64} << 20;
  static constexpr std::size_t kMostFiles = 0xFFFF;

  /// Reads a file whole. A directory, a missing or unreadable file, or one over 64 MiB gives a ReadError.
  /// `shown` is the name that findings print (as the user wrote it).
  std::optional<FileId> load(const std::string& path, const std::string& shown, ReadError& error);
  /// Takes in text that does not come from a file (tests, editors), within the same limits.
  FileId add(std::string shown, std::string text);

  std::string_view text(FileId file) const;
  const std::string& name(FileId file) const;
  std::size_t count() const { return files_.size(); }

  std::string_view text(Span span) const;
  Position position(Span span) const { return position(span.file, span.begin); }
  /// An offset past the end stands for the end. Each line end, LF or CR LF, belongs to the line that it ends.
  Position position(FileId file, std::uint32_t offset) const;
  /// The line's text without its line end; `line` counts from 1. Of a line that is not there it is empty.
  std::string_view line(FileId file, std::uint32_t line) const;
  /// Where the line's text begins and ends, without its line end; a line that is not there lies at the end.
  Span line_span(FileId file, std::uint32_t line) const;

 private:
  struct File {
    std::string name;
    std::string text;
    std::vector<std::uint32_t> line_starts;
    std::vector<std::uint32_t> points_before;  // code points before each block of bytes, for columns
  };
  const File& at(FileId file) const { return files_.at(static_cast<std::size_t>(file)); }

  std::deque<File> files_;
};

/// Columns that the text takes on a terminal: wide and combining characters counted as they show. Control
/// codes and what is not UTF-8 count as shown_safely (text/utf8.hpp) writes them; a tab is not expected here.
std::size_t display_width(std::string_view utf8);

}  // namespace lw
