// Findings of lowering. See lower_report.hpp; tests: tests/unit/lower/limits_test.cpp.
#include "table/lower_report.hpp"

#include <fmt/format.h>

#include "text/quantity.hpp"

namespace lw::lowering {

void Report::error(Finding finding) {
  failed_ = true;
  const Span s = finding.span;
  if (told_.emplace(finding.code, s.file, s.begin, s.end).second) findings_.push_back(std::move(finding));
}

void Report::error(Code code, Span span, const std::string& message, const std::string& reason,
                   const std::string& remedy) {
  Finding finding;
  finding.code = code;
  finding.severity = usual_severity(code);
  finding.span = span;
  finding.message = message;
  finding.reason = reason;
  finding.remedies = {remedy};
  error(std::move(finding));
}

void Report::over_limit(std::size_t count, std::uint32_t most, Span span, const std::string& owner,
                        const std::string& things, const std::string& remedy) {
  if (count <= most) return;
  error(Code::over_limit, span, fmt::format("{} has {} {}, and a table holds {}", owner, count, things, most),
        fmt::format("The table of a controller has room for at most {} {}.", most, things), remedy);
}

std::uint32_t Clock::scans(std::int64_t ms, Span span, std::uint32_t most) const {
  if (ms <= 0) return 1;
  const std::int64_t n = (ms - 1) / scan_ms_ + 1;
  if (n <= most) return static_cast<std::uint32_t>(n);
  const std::string longest = format_quantity({static_cast<std::int64_t>(most) * scan_ms_, Dimension::time});
  report_->error(Code::over_limit, span,
                 fmt::format("{} is longer than the board can time", format_quantity({ms, Dimension::time})),
                 fmt::format("It looks at the world every {} ms and counts {} of these scans here: {}.",
                             scan_ms_, most, longest),
                 fmt::format("write at most {}, or give the board a longer `scan`.", longest));
  return most;
}

}  // namespace lw::lowering
