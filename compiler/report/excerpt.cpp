// Lines with underlines and notes: see excerpt.hpp.
#include "report/excerpt.hpp"

#include <algorithm>
#include <map>
#include <string_view>
#include <tuple>
#include <utility>
#include <vector>

#include "report/prose.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

constexpr std::size_t kTab = 4;
constexpr std::size_t kNoteGap = 4;
constexpr std::string_view kBlank = " \t";

// Bytes of the line, end not included; `own` is the finding's own span and not a further place.
struct Mark {
  std::size_t begin = 0;
  std::size_t end = 0;
  bool own = false;
};
struct Line {
  std::string_view text;
  std::vector<Mark> marks;
  std::vector<std::string> notes;
};
// By whether it is another file than the finding's, the file, and the line's number.
using LineKey = std::tuple<bool, FileId, std::uint32_t>;
using Lines = std::map<LineKey, Line>;

// What one code point shows, where: columns from the left end of the row's text.
struct Cell {
  std::string shown;
  std::size_t width = 0;
  std::size_t offset = 0;  // of its first byte in the line
};
struct Row {
  std::string text;
  std::size_t width = 0;
  std::string underline;
  std::size_t underline_width = 0;
};

// ---- what is shown ----

void add_mark(Line& line, Span line_span, Span span, bool own) {
  const std::size_t length = line_span.end - line_span.begin;
  Mark mark{span.begin - line_span.begin, span.end - line_span.begin, own};
  const bool over_several = mark.end > length;
  mark.begin = std::min(mark.begin, length);
  mark.end = std::min(mark.end, length);
  if (over_several) {
    const std::size_t last = line.text.find_last_not_of(kBlank);
    mark.end = std::max(mark.begin, last == std::string_view::npos ? 0 : last + 1);
  } else if (mark.end > mark.begin) {
    const std::size_t first = std::min(line.text.find_first_not_of(kBlank), length);
    const bool all =
        mark.begin <= first && line.text.find_first_not_of(kBlank, mark.end) == std::string_view::npos;
    if (all) return;
  }
  line.marks.push_back(mark);
}

void add_line(Lines& lines, const SourceSet& sources, FileId home, Span span, const std::string& note,
              bool underline, bool own) {
  if (static_cast<std::size_t>(span.file) >= sources.count()) return;
  const std::uint32_t number = sources.position(span).line;
  const Span line_span = sources.line_span(span.file, number);
  Line& line = lines[{span.file != home, span.file, number}];
  line.text = sources.text(line_span);
  if (underline) add_mark(line, line_span, span, own);
  if (!note.empty()) line.notes.push_back(note);
}

// ---- one line, cut to a width ----

std::size_t code_point_start(std::string_view text, std::size_t offset) {
  for (int back = 0; back < 3 && offset > 0 && offset < text.size(); ++back, --offset) {
    if ((static_cast<unsigned char>(text[offset]) & 0xC0) != 0x80) break;
  }
  return offset;
}

std::vector<Cell> cells_of(std::string_view text, std::size_t begin, std::size_t end) {
  std::vector<Cell> cells;
  std::size_t column = 0;
  for (std::size_t offset = begin; offset < end;) {
    const CodePoint point = code_point_at(text, offset);
    Cell cell;
    cell.offset = offset;
    if (point.valid && point.value == '\t') {
      cell.width = kTab - column % kTab;
      cell.shown.assign(cell.width, ' ');
    } else {
      cell.shown = escape_of(point);
      cell.width = cell.shown.size();
      if (cell.shown.empty()) {
        cell.shown = text.substr(offset, point.size);
        cell.width = static_cast<std::size_t>(code_point_width(point.value));
      }
    }
    column += cell.width;
    cells.push_back(std::move(cell));
    offset += point.size;
  }
  return cells;
}

std::size_t width_of(const std::vector<Cell>& cells, std::size_t begin, std::size_t end) {
  std::size_t width = 0;
  for (std::size_t i = begin; i < end; ++i) width += cells[i].width;
  return width;
}

// Which cells are shown, [first, last), and whether the line goes on at either side.
struct Window {
  std::size_t first = 0;
  std::size_t last = 0;
  bool more_left = false;
  bool more_right = false;
};

// The line from its start where the mark is seen so; else round the mark, with what stands before it.
Window window_of(const std::vector<Cell>& cells, const Mark& mark, std::size_t width, bool more_left,
                 bool more_right) {
  Window window{0, cells.size(), more_left, more_right};
  const std::size_t whole = width_of(cells, 0, cells.size());
  if (!more_left && !more_right && whole <= width) return window;

  const auto index_of = [&cells](std::size_t offset) {
    return static_cast<std::size_t>(
        std::lower_bound(cells.begin(), cells.end(), offset,
                         [](const Cell& cell, std::size_t at) { return cell.offset < at; }) -
        cells.begin());
  };
  const std::size_t mark_first = index_of(mark.begin);
  const std::size_t mark_last = std::max(index_of(mark.end), std::min(mark_first + 1, cells.size()));
  if (more_left || width_of(cells, 0, mark_last) + 1 > width) {
    const std::size_t mark_width = std::min(width_of(cells, mark_first, mark_last), width);
    std::size_t room = std::max(width / 8, (width - mark_width) / 2);
    if (!more_right) {  // near its end the line is shown up to its end
      const std::size_t taken = 1 + mark_width + width_of(cells, mark_last, cells.size());
      if (taken + room < width) room = width - taken;
    }
    window.first = mark_first;
    while (window.first > 0 && cells[window.first - 1].width <= room) {
      --window.first;
      room -= cells[window.first].width;
    }
    while (window.first < cells.size() && cells[window.first].width == 0) ++window.first;
  }
  window.more_left = more_left || window.first > 0;

  const std::size_t inner = width - (window.more_left ? 1 : 0);
  if (!more_right && width_of(cells, window.first, cells.size()) <= inner) return window;
  window.more_right = true;
  std::size_t used = 0;
  window.last = window.first;
  while (window.last < cells.size() && used + cells[window.last].width <= inner - 1) {
    used += cells[window.last].width;
    ++window.last;
  }
  return window;
}

// ~ under columns [begin, end), red where it is the finding's own.
struct Tildes {
  std::size_t begin = 0;
  std::size_t end = 0;
  bool own = false;
};

std::string underline_of(const std::vector<Tildes>& runs, bool red, std::size_t& width) {
  std::string text;
  width = 0;
  for (const Tildes& run : runs) {
    const std::size_t begin = std::max(run.begin, width);
    if (begin >= run.end) continue;
    text += std::string(begin - width, ' ');
    if (red && run.own) text += "\x1B[31m";
    text += std::string(run.end - begin, '~');
    if (red && run.own) text += "\x1B[0m";
    width = run.end;
  }
  return text;
}

Row row_of(const Line& line, std::size_t width, bool red) {
  const Mark anchor = line.marks.empty() ? Mark{} : line.marks.front();
  // Far more bytes than a window holds, unless they show nothing.
  const std::size_t reach = 8 * width;
  const std::size_t begin = code_point_start(line.text, anchor.begin <= 2 * reach ? 0 : anchor.begin - reach);
  const std::size_t end = code_point_start(
      line.text, std::min(line.text.size(), std::max(anchor.begin, begin + reach) + 2 * reach));
  const std::vector<Cell> cells = cells_of(line.text, begin, end);
  const bool at_end = !line.marks.empty() && anchor.begin == line.text.size();
  const Window window =
      window_of(cells, anchor, at_end ? width - 1 : width, begin > 0, end < line.text.size());

  Row row;
  if (window.more_left) row.text += "…", row.width += 1;
  std::vector<std::size_t> columns;  // of the cells shown, and of the end
  for (std::size_t i = window.first; i < window.last; ++i) {
    columns.push_back(row.width);
    row.text += cells[i].shown;
    row.width += cells[i].width;
  }
  columns.push_back(row.width);

  std::vector<Tildes> runs;
  for (const Mark& mark : line.marks) {
    Tildes run{0, 0, mark.own};
    bool seen = false;
    for (std::size_t i = window.first; i < window.last; ++i) {
      const std::size_t offset = cells[i].offset;
      const bool inside =
          mark.begin == mark.end ? offset == mark.begin : offset >= mark.begin && offset < mark.end;
      if (!inside) continue;
      if (!seen) run.begin = columns[i - window.first];
      run.end = columns[i - window.first + 1];
      seen = true;
    }
    if (!seen && !window.more_right && mark.begin == line.text.size() && row.width < width) {
      run.begin = row.width, run.end = row.width + 1;  // a place past the last character
    }
    runs.push_back(run);
  }
  std::sort(runs.begin(), runs.end(), [](const Tildes& a, const Tildes& b) { return a.begin < b.begin; });
  row.underline = underline_of(runs, red, row.underline_width);
  if (window.more_right) row.text += "…", row.width += 1;
  return row;
}

// ---- rows together ----

std::string joined(const std::vector<std::string>& notes) {
  std::string text;
  for (const std::string& note : notes) {
    if (!text.empty()) text += ", ";
    text += note;
  }
  return shown_safely(text);
}

void put(std::string& out, const std::string& gutter, const std::string& text) {
  out += gutter + text;
  while (out.back() == ' ') out.pop_back();
  out += '\n';
}

}  // namespace

Excerpt excerpt(const Finding& finding, const SourceSet& sources, std::size_t width, bool red) {
  Lines lines;
  const FileId home = finding.span.file;
  add_line(lines, sources, home, finding.span, finding.note, true, true);
  for (const Place& place : finding.places) {
    add_line(lines, sources, home, place.span, place.note, place.underline, false);
  }
  std::size_t digits = 1;
  for (const auto& [key, line] : lines) {
    digits = std::max(digits, std::to_string(std::get<std::uint32_t>(key)).size());
  }
  const std::string empty_gutter = std::string(2 + digits, ' ') + " | ";
  const std::size_t inner = std::max<std::size_t>(width, 40) - empty_gutter.size();

  std::vector<Row> rows;
  std::size_t note_column = 0;
  std::size_t widest_note = 0;
  for (const auto& [key, line] : lines) {
    rows.push_back(row_of(line, inner, red));
    if (line.notes.empty()) continue;
    note_column = std::max(note_column, rows.back().width + kNoteGap);
    widest_note = std::max(widest_note, display_width(joined(line.notes)));
  }
  const bool beside = note_column + widest_note <= inner;

  Excerpt result;
  FileId file = home;
  auto row = rows.begin();
  for (const auto& [key, line] : lines) {
    if (std::get<FileId>(key) != file) {
      file = std::get<FileId>(key);
      result.text += "  in " + shown_safely(sources.name(file)) + ":\n";
    }
    const std::string number = std::to_string(std::get<std::uint32_t>(key));
    std::string note = joined(line.notes);
    std::string text = row->text;
    if (beside && !note.empty()) {
      text += std::string(note_column - row->width, ' ') + note;
      note.clear();
    }
    put(result.text, std::string(2 + digits - number.size(), ' ') + number + " | ", text);
    result.ends_underlined = row->underline_width > 0 || !note.empty();
    if (row->underline_width > 0) {
      std::string underline = row->underline;
      if (!note.empty() && row->underline_width + 2 + display_width(note) <= inner) {
        underline += "  " + note;
        note.clear();
      }
      put(result.text, empty_gutter, underline);
    }
    for (const std::string& part : wrapped(note, inner - kNoteGap)) {
      put(result.text, empty_gutter, std::string(kNoteGap, ' ') + part);
    }
    ++row;
  }
  return result;
}

}  // namespace lw::report
