// See measures.hpp.
#include "report/measures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <sstream>
#include <utility>
#include <vector>

#include "play/words.hpp"
#include "report/prose.hpp"
#include "report/timeline.hpp"
#include "text/quantity.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

constexpr std::size_t kMeasureIndent = 4, kMeasureWidth = 80, kWidestLabel = 32;

std::string label(const Measure& measure) {
  switch (measure.kind) {
    case MeasureKind::fastest_finish:
      return "fastest finish";
    case MeasureKind::worst_current:
      return "supply of " + measure.of;
    case MeasureKind::slowest_answer:
      return '"' + measure.of + "\" answers";
  }
  return "";
}

std::string limit(const Measure& measure, std::int64_t value) {
  return format_quantity(
      {value, measure.kind == MeasureKind::worst_current ? Dimension::current : Dimension::time});
}

std::string figure(const Measure& measure, std::int64_t value) {
  return measure.kind == MeasureKind::worst_current ? limit(measure, value) : clock_words(value);
}

/// "2.7 s", "2.0 s to 2.7 s"; empty where nothing is known.
std::string between(const Measure& measure) {
  if (measure.exact()) return figure(measure, *measure.least);
  const bool from = measure.least.value_or(0) > 0;
  if (from && measure.most)
    return fmt::format("{} to {}", figure(measure, *measure.least), figure(measure, *measure.most));
  if (from) return figure(measure, *measure.least) + " or more";
  return measure.most ? figure(measure, *measure.most) + " or less" : "";
}

std::string value(const Measure& measure) {
  if (measure.never) {
    switch (measure.kind) {
      case MeasureKind::fastest_finish:
        return "none: no playthrough finishes";
      case MeasureKind::worst_current:
        return "nothing is ever powered";
      case MeasureKind::slowest_answer:
        return "never asked for";
    }
  }
  std::string text = between(measure);
  const auto add = [&](const std::string& more) { text += (text.empty() ? "" : "; ") + more; };
  if (measure.limit) {
    const std::string given = limit(measure, *measure.limit);
    if (measure.kind == MeasureKind::fastest_finish) add("a session lasts " + given);
    if (measure.kind == MeasureKind::slowest_answer) add("promised within " + given);
    if (measure.kind == MeasureKind::worst_current) text += (text.empty() ? "it gives " : " of ") + given;
  }
  if (!measure.powered.empty()) text += ": " + joined(measure.powered);
  if (!measure.playthrough.empty() && !measure.needs.empty()) text += ", and needs " + measure.needs;
  if (!measure.exact()) add("not decided");
  return text;
}

}  // namespace

std::string measures_text(const Measures& measures, const std::string& file, const std::string& freedoms) {
  if (measures.empty()) return "";
  std::size_t widest = 0;
  for (const Measure& measure : measures)
    widest = std::max(widest, std::min(display_width(label(measure)), kWidestLabel));
  std::string text = paragraph("Over every playthrough, for " + freedoms + ':', 2, kMeasureWidth);
  std::vector<std::string> shown;
  for (const Measure& measure : measures) {
    std::string row = std::string(kMeasureIndent, ' ') + shown_safely(label(measure));
    std::size_t used = display_width(label(measure));
    for (const std::string& line : wrapped(value(measure), kMeasureWidth - kMeasureIndent - widest - 2)) {
      // A long label has a line of its own.
      if (used > widest) {
        text += std::exchange(row, std::string(kMeasureIndent, ' ')) + '\n';
        used = 0;
      }
      text += row + std::string(widest + 2 - used, ' ') + line + '\n';
      row = std::string(kMeasureIndent, ' ');
      used = 0;
    }
    const std::string name = measure_name(measure.kind);
    if (!measure.playthrough.empty() && std::find(shown.begin(), shown.end(), name) == shown.end())
      shown.push_back(name);
  }
  std::string others;
  for (std::size_t n = 1; n < shown.size(); ++n)
    others += fmt::format("{} `{}`", n + 1 < shown.size() ? "," : " or", shown[n]);
  if (!shown.empty())
    text += paragraph(fmt::format("To see it played: `latchwork lint {} --playthrough {}`{}",
                                  shown_safely(file), shown[0], others),
                      2, kMeasureWidth);
  return text;
}

std::string playthrough_text(const Measure& measure) {
  if (!measure.rehearsal.empty()) return measure.rehearsal;
  std::string text = fmt::format("# {}, as it was played; no rehearsal does just that:\n", label(measure));
  std::istringstream rows(timeline(measure.playthrough, kMeasureWidth - 2));
  for (std::string row; std::getline(rows, row);) text += "# " + row + '\n';
  return text;
}

}  // namespace lw::report
