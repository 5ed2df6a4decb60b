// Files, lines and columns: see source.hpp.
#include "text/source.hpp"

#include <algorithm>
#include <cassert>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <utility>

#include "text/utf8.hpp"

namespace lw {
namespace {

// Columns are counted from the nearest block below: small enough to count at once, few enough to keep.
constexpr std::size_t kBlock = 1024;

struct Close {
  void operator()(std::FILE* file) const { std::fclose(file); }
};

std::string plain_reason(int error) {
  switch (error) {
    case ENOENT:
      return "there is no such file";
    case ENOTDIR:
      return "its path leads through something that is not a folder";
    case EISDIR:
      return "it is a folder, not a file";
    case EACCES:
    case EPERM:
      return "this user may not read it";
    case ENAMETOOLONG:
      return "its name is too long";
    case ELOOP:
      return "its links lead round in a circle";
    default:
      return std::strerror(error);
  }
}

// Stops one byte past the limit, so that an endless file ends too. Returns why it could not, or nothing.
std::string read_whole(const std::string& path, std::string& text) {
  errno = 0;
  const std::unique_ptr<std::FILE, Close> file(std::fopen(path.c_str(), "rb"));
  if (file == nullptr) return plain_reason(errno);
  char block[1 << 16];
  while (text.size() <= SourceSet::kMostBytes) {
    const std::size_t read = std::fread(block, 1, sizeof block, file.get());
    text.append(block, read);
    if (read < sizeof block) {
      if (std::ferror(file.get()) != 0) return plain_reason(errno);
      break;
    }
  }
  if (text.size() > SourceSet::kMostBytes) return "it is larger than 64 MiB";
  return {};
}

}  // namespace

Span join(Span a, Span b) {
  assert(a.file == b.file);
  return {a.file, std::min(a.begin, b.begin), std::max(a.end, b.end)};
}

std::optional<FileId> SourceSet::load(const std::string& path, const std::string& shown, ReadError& error) {
  std::string text;
  std::string reason = path.find('\0') != std::string::npos ? "its name holds a zero byte"
                       : files_.size() == kMostFiles        ? "the room already uses 65,535 files"
                                                            : read_whole(path, text);
  if (!reason.empty()) {
    error = {shown, std::move(reason)};
    return std::nullopt;
  }
  return add(shown, std::move(text));
}

FileId SourceSet::add(std::string shown, std::string text) {
  assert(text.size() <= kMostBytes && files_.size() < kMostFiles);
  File& file = files_.emplace_back();
  file.name = std::move(shown);
  file.text = std::move(text);
  file.line_starts.push_back(0);
  const std::string_view bytes = file.text;
  std::size_t points = 0;
  for (std::size_t begin = 0; begin <= bytes.size(); begin += kBlock) {
    file.points_before.push_back(static_cast<std::uint32_t>(points));
    points += count_code_points(bytes.substr(begin, kBlock));
  }
  for (std::size_t end = bytes.find('\n'); end != std::string_view::npos; end = bytes.find('\n', end + 1)) {
    file.line_starts.push_back(static_cast<std::uint32_t>(end + 1));
  }
  return static_cast<FileId>(files_.size() - 1);
}

std::string_view SourceSet::text(FileId file) const { return at(file).text; }
const std::string& SourceSet::name(FileId file) const { return at(file).name; }

std::string_view SourceSet::text(Span span) const {
  assert(span.begin <= span.end);
  return text(span.file).substr(span.begin, span.end - span.begin);
}

Position SourceSet::position(FileId id, std::uint32_t offset) const {
  const File& file = at(id);
  offset = std::min(offset, static_cast<std::uint32_t>(file.text.size()));
  const auto next = std::upper_bound(file.line_starts.begin(), file.line_starts.end(), offset);
  const std::uint32_t line_start = *std::prev(next);
  const auto number = static_cast<std::uint32_t>(next - file.line_starts.begin());
  // By blocks only where a line is long: to count from its start is cheaper else.
  if (offset - line_start <= kBlock) {
    const auto before = std::string_view(file.text).substr(line_start, offset - line_start);
    return {number, static_cast<std::uint32_t>(count_code_points(before)) + 1};
  }
  const auto points_before = [&file](std::size_t byte) {
    const std::size_t block = byte / kBlock;
    const std::string_view rest = std::string_view(file.text).substr(block * kBlock, byte - block * kBlock);
    return file.points_before[block] + static_cast<std::uint32_t>(count_code_points(rest));
  };
  return {number, points_before(offset) - points_before(line_start) + 1};
}

Span SourceSet::line_span(FileId id, std::uint32_t line) const {
  const File& file = at(id);
  const auto size = static_cast<std::uint32_t>(file.text.size());
  if (line == 0 || line > file.line_starts.size()) return {id, size, size};
  const std::uint32_t begin = file.line_starts[line - 1];
  std::uint32_t end = size;
  if (line < file.line_starts.size()) {
    end = file.line_starts[line] - 1;
    if (end > begin && file.text[end - 1] == '\r') --end;
  }
  return {id, begin, end};
}

std::string_view SourceSet::line(FileId id, std::uint32_t line) const { return text(line_span(id, line)); }

std::size_t display_width(std::string_view utf8) {
  std::size_t width = 0;
  for (std::size_t offset = 0; offset < utf8.size();) {
    const CodePoint point = code_point_at(utf8, offset);
    const std::string escape = escape_of(point);
    width += escape.empty() ? static_cast<std::size_t>(code_point_width(point.value)) : escape.size();
    offset += point.size;
  }
  return width;
}

}  // namespace lw
