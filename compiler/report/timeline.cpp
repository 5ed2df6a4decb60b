// Timelines: see timeline.hpp.
#include "report/timeline.hpp"

#include <algorithm>

#include "report/prose.hpp"
#include "text/source.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

constexpr std::size_t kRowIndent = 4;
constexpr std::size_t kGap = 2;
constexpr std::size_t kLeastHappens = 12;  // what the heads need, with "line" beside them
constexpr std::size_t kLeastAnswers = 18 + 3;
constexpr const char* kTime = "time";
constexpr const char* kHappens = "what happens";
constexpr const char* kAnswers = "what the room does";
constexpr const char* kLine = "line";

// Columns before the decimal point, or before the unit where there is none.
std::size_t point_of(const std::string& time) { return std::min(time.find_first_of(". "), time.size()); }

std::string line_text(const Event& event) {
  return event.line == 0 ? std::string() : std::to_string(event.line);
}

// All on one line as written, or wrapped where that is too wide.
std::vector<std::string> cell(const std::string& text, std::size_t width) {
  if (text.empty()) return {};
  if (display_width(text) <= width) return {shown_safely(text)};
  return wrapped(text, width);
}

void pad_to(std::string& row, std::size_t& used, std::size_t column) {
  if (column <= used) return;
  row.append(column - used, ' ');
  used = column;
}

void put(std::string& row, std::size_t& used, std::size_t column, const std::string& text) {
  if (text.empty()) return;
  pad_to(row, used, column);
  row += text;
  used += display_width(text);
}

struct Columns {
  std::size_t point = 0;  // columns before the decimal points of the times
  std::size_t time = 0;   // widths
  std::size_t happens = 0;
  std::size_t answers = 0;
  std::size_t line = 0;
  std::size_t happens_at() const { return kRowIndent + time + kGap; }
  std::size_t answers_at() const { return happens_at() + happens + kGap; }
  std::size_t line_at() const { return answers_at() + answers + kGap; }
};

Columns columns_of(const std::vector<Event>& events, std::size_t width, bool head) {
  Columns columns;
  std::size_t after_point = 0;
  for (const Event& event : events) {
    const std::string time = shown_safely(event.time);
    columns.point = std::max(columns.point, point_of(time));
    after_point = std::max(after_point, display_width(time) - point_of(time));
    columns.happens = std::max(columns.happens, display_width(event.happens));
    columns.answers = std::max(columns.answers, display_width(event.answers));
    columns.line = std::max(columns.line, line_text(event).size());
  }
  columns.time = columns.point + after_point;
  if (!head) {
    columns.happens = std::min(columns.happens,
                               std::max(width, columns.happens_at() + kLeastHappens) - columns.happens_at());
    return columns;
  }
  columns.time = std::max(columns.time, std::string(kTime).size());
  columns.happens = std::max(columns.happens, std::string(kHappens).size());
  columns.answers = std::max(columns.answers, std::string(kAnswers).size());
  // The head "line" is longer than most numbers under it and reaches into the gap before them.
  if (columns.line != 0) columns.answers = std::max(columns.answers, kLeastAnswers);

  const std::size_t fixed = columns.happens_at() + kGap + (columns.line == 0 ? 0 : kGap + columns.line);
  const std::size_t both = std::max(width, fixed + kLeastHappens + kLeastAnswers) - fixed;
  if (columns.happens + columns.answers > both) {
    // The narrower one keeps what it needs, up to half.
    const bool few_answers = columns.happens > both / 2 && columns.answers <= both / 2;
    columns.happens = std::min(columns.happens, few_answers ? both - columns.answers : both / 2);
    columns.happens = std::min(columns.happens, both - kLeastAnswers);
    columns.answers = both - columns.happens;
  }
  return columns;
}

}  // namespace

bool has_head(const std::vector<Event>& events) {
  return std::any_of(events.begin(), events.end(),
                     [](const Event& event) { return !event.answers.empty() || event.line != 0; });
}

std::string timeline(const std::vector<Event>& events, std::size_t width) {
  const bool head = has_head(events);
  const Columns columns = columns_of(events, width, head);
  std::string table;
  if (head) {
    std::string row;
    std::size_t used = 0;
    put(row, used, kRowIndent + (columns.time - std::string(kTime).size()) / 2, kTime);
    put(row, used, columns.happens_at(), kHappens);
    put(row, used, columns.answers_at(), kAnswers);
    if (columns.line != 0)
      put(row, used, columns.line_at() + columns.line - std::string(kLine).size(), kLine);
    table += row + '\n';
  }
  for (const Event& event : events) {
    const std::string time = shown_safely(event.time);
    const std::vector<std::string> happens = cell(event.happens, columns.happens);
    const std::vector<std::string> answers = cell(event.answers, columns.answers);
    const std::string line = line_text(event);
    const std::size_t rows = std::max<std::size_t>({1, happens.size(), answers.size()});
    for (std::size_t i = 0; i < rows; ++i) {
      std::string row;
      std::size_t used = 0;
      if (i == 0) put(row, used, kRowIndent + columns.point - point_of(time), time);
      if (i < happens.size()) put(row, used, columns.happens_at(), happens[i]);
      if (i < answers.size()) put(row, used, columns.answers_at(), answers[i]);
      if (i == 0) put(row, used, columns.line_at() + columns.line - line.size(), line);
      table += row + '\n';
    }
  }
  return table;
}

}  // namespace lw::report
