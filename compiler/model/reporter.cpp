// Findings of resolving: each said once, those of a design with the place that uses it.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {

void Reporter::say(Code code, Span span, std::string message, std::string reason,
                   std::vector<std::string> remedies, std::vector<Place> places) {
  const Severity severity = usual_severity(code);
  if (severity == Severity::error) failed_ = true;
  if (!said_.emplace(code, span.file, span.begin, span.end, message).second) return;
  if (used_at_) places.push_back({*used_at_, "the design is used here", false});
  std::sort(places.begin(), places.end(), [](const Place& a, const Place& b) {
    return std::tie(a.span.file, a.span.begin) < std::tie(b.span.file, b.span.begin);
  });
  Finding finding;
  finding.code = code;
  finding.severity = severity;
  finding.span = span;
  finding.message = std::move(message);
  finding.reason = std::move(reason);
  finding.remedies = std::move(remedies);
  finding.places = std::move(places);
  findings_.push_back(std::move(finding));
}

}  // namespace lw::model
