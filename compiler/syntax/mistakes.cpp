// Wording to findings: see mistakes.hpp.
#include "syntax/mistakes.hpp"

#include <utility>

namespace lw::syntax {
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
  Finding finding;
  finding.code = wording.code;
  finding.severity = usual_severity(wording.code);
  finding.span = span;
  finding.message = std::move(wording.message);
  finding.note = std::move(wording.note);
  finding.reason = std::move(wording.reason);
  finding.remedies = std::move(wording.remedies);
  shorten(finding);
  findings_.push_back(std::move(finding));
}

}  // namespace lw::syntax
