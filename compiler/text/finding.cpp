// What findings.def says of each code: see finding.hpp.
#include "text/finding.hpp"

#include <algorithm>
#include <iterator>
#include <tuple>

namespace lw {
namespace {

struct CodeRow {
  const char* name;
  Severity severity;
  const char* title;
  const char* explanation;
};
constexpr CodeRow kCodes[] = {
#define LW_FINDING(name, severity, title, explanation) {#name, Severity::severity, title, explanation},
#include "text/findings.def"
#undef LW_FINDING
};

const CodeRow& row(Code code) { return kCodes[static_cast<std::size_t>(code)]; }

void cut(std::string& text) {
  constexpr std::size_t kMostBytes = 400;
  if (text.size() <= kMostBytes) return;
  std::size_t end = kMostBytes;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
  text.resize(end);
  text += "…";
}

}  // namespace

void shorten(Finding& finding) {
  for (std::string* text : {&finding.message, &finding.note, &finding.reason}) cut(*text);
  for (std::string& remedy : finding.remedies) cut(remedy);
}

std::size_t code_count() { return std::size(kCodes); }
const char* code_name(Code code) { return row(code).name; }
Severity usual_severity(Code code) { return row(code).severity; }
const char* code_title(Code code) { return row(code).title; }
const char* code_explanation(Code code) { return row(code).explanation; }

std::optional<Code> code_named(std::string_view name) {
  for (std::size_t i = 0; i < std::size(kCodes); ++i) {
    if (name == kCodes[i].name) return static_cast<Code>(i);
  }
  return std::nullopt;
}

const char* severity_name(Severity severity) {
  switch (severity) {
    case Severity::error:
      return "error";
    case Severity::warning:
      return "warning";
    case Severity::note:
      return "note";
  }
  return "";
}

Findings arranged(Findings findings) {
  const auto place = [](const Finding& finding) {
    return std::make_tuple(finding.span.file, finding.span.begin, finding.span.end);
  };
  std::stable_sort(findings.begin(), findings.end(),
                   [&](const Finding& a, const Finding& b) { return place(a) < place(b); });
  // Those of one place are few, and what was found twice need not stand side by side among them.
  Findings kept;
  std::size_t same_place = 0;  // where in `kept` those of the present place begin
  for (Finding& finding : findings) {
    if (!kept.empty() && place(kept.back()) != place(finding)) same_place = kept.size();
    const auto twin = [&finding](const Finding& other) {
      return other.code == finding.code && other.message == finding.message;
    };
    if (std::none_of(kept.begin() + static_cast<std::ptrdiff_t>(same_place), kept.end(), twin)) {
      kept.push_back(std::move(finding));
    }
  }
  return kept;
}

}  // namespace lw
