// Wording to findings: see mistakes.hpp.
#include "syntax/mistakes.hpp"

#include <utility>

namespace lw::syntax {
namespace {

// What a finding quotes may be as long as a file; nobody reads more than this of it.
void cut(std::string& text) {
  constexpr std::size_t kMostBytes = 400;
  if (text.size() <= kMostBytes) return;
  std::size_t end = kMostBytes;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
  text.resize(end);
  text += "…";
}

}  // namespace

void Mistakes::say(Span span, Wording wording) {
  if (count_ == kMost) {
    ++count_;
    wording = more_mistakes(kMost);
    span.end = span.begin;
  } else if (count_ > kMost) {
    return;
  } else {
    ++count_;
  }
  for (std::string* text : {&wording.message, &wording.note, &wording.reason}) cut(*text);
  for (std::string& remedy : wording.remedies) cut(remedy);
  Finding finding;
  finding.code = wording.code;
  finding.severity = usual_severity(wording.code);
  finding.span = span;
  finding.message = std::move(wording.message);
  finding.note = std::move(wording.note);
  finding.reason = std::move(wording.reason);
  finding.remedies = std::move(wording.remedies);
  findings_.push_back(std::move(finding));
}

}  // namespace lw::syntax
