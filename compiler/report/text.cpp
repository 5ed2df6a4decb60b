// Findings for people: see text.hpp.
#include "report/text.hpp"

#include <algorithm>
#include <set>

#include "report/excerpt.hpp"
#include "report/prose.hpp"
#include "report/timeline.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

constexpr std::size_t kIndent = 2;
constexpr std::size_t kLeastWidth = 60;

bool has_place(const Finding& finding, const SourceSet& sources) {
  return static_cast<std::size_t>(finding.span.file) < sources.count();
}

std::string head(const Finding& finding, const SourceSet& sources, bool red) {
  std::string line;
  if (has_place(finding, sources)) {
    const Position position = sources.position(finding.span);
    line += shown_safely(sources.name(finding.span.file)) + ':' + std::to_string(position.line) + ':' +
            std::to_string(position.column) + ": ";
  }
  const char* const severity = severity_name(finding.severity);
  line += red ? std::string("\x1B[31m") + severity + "\x1B[0m" : severity;
  return line + ": " + shown_safely(finding.message) + "  [" + code_name(finding.code) + "]\n";
}

}  // namespace

std::string finding_text(const Finding& finding, const SourceSet& sources, const TextStyle& style) {
  const std::size_t width = std::max(style.width, kLeastWidth);
  const bool red = style.colour && finding.severity == Severity::error;
  std::string text = head(finding, sources, red);

  // An empty line parts the lines of the room from the head, and from the prose where no underline does.
  const Excerpt shown = excerpt(finding, sources, width, red);
  bool open = true;  // the prose may follow at once
  if (!shown.text.empty()) {
    text += '\n' + shown.text;
    open = shown.ends_underlined;
  }
  const auto part = [&text, &open](const std::string& rows) {
    if (rows.empty()) return;
    if (!open) text += '\n';
    text += rows;
    open = true;
  };
  part(paragraph(finding.reason, kIndent, width));
  if (!finding.playthrough.empty()) {
    const bool apart = has_head(finding.playthrough);
    open = open && !apart;
    part(timeline(finding.playthrough, width));
    open = !apart;
  }
  bool first = true;
  for (const std::string& remedy : finding.remedies) {
    part(paragraph((first ? "To mend it: " : "Or: ") + remedy, kIndent, width));
    first = false;
  }
  if (!finding.rehearsal.empty() && has_place(finding, sources))
    part(paragraph("As a rehearsal to keep: `latchwork lint " + shown_safely(sources.name(FileId{})) +
                       " --playthrough " + code_name(finding.code) + "`",
                   kIndent, width));
  return text;
}

std::string findings_text(const Findings& findings, const SourceSet& sources, const TextStyle& style) {
  std::string text;
  for (const Finding& finding : findings) {
    if (!text.empty()) text += '\n';
    text += finding_text(finding, sources, style);
  }
  return text;
}

std::string summary(const Findings& findings, std::string_view further) {
  std::string text;
  std::set<FileId> files;
  for (const Severity severity : {Severity::error, Severity::warning, Severity::note}) {
    const auto count = std::count_if(findings.begin(), findings.end(),
                                     [severity](const Finding& f) { return f.severity == severity; });
    if (count == 0) continue;
    if (!text.empty()) text += ", ";
    text += counted(static_cast<std::size_t>(count), severity_name(severity));
  }
  for (const Finding& finding : findings) files.insert(finding.span.file);
  text = findings.empty() ? "no findings" : text + " in " + counted(files.size(), "file");
  if (!further.empty()) text += "; " + std::string(further);
  return text;
}

}  // namespace lw::report
