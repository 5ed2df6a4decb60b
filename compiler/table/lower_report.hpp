// What lowering has to say: limits of the format, times that a controller cannot count, and links that are
// missing.
//
// Invariant: one finding a cause; the same fault at the same place is told once, however often lowering comes
// past it. Internal to table/lower*. Tests: tests/unit/lower/limits_test.cpp.
#pragma once

#include <cstdint>
#include <set>
#include <string>
#include <tuple>

#include "runtime/table.h"
#include "text/finding.hpp"

namespace lw::lowering {

class Report {
 public:
  explicit Report(Findings& findings) : findings_(findings) {}

  /// "`front` has 260 inputs, and a table holds 250". `owner` is a name, `things` a plural.
  void over_limit(std::size_t count, std::uint32_t most, Span span, const std::string& owner,
                  const std::string& things, const std::string& remedy);
  void error(Code code, Span span, const std::string& message, const std::string& reason,
             const std::string& remedy);
  void error(Finding finding);
  bool failed() const { return failed_; }

 private:
  Findings& findings_;
  std::set<std::tuple<Code, FileId, std::uint32_t, std::uint32_t>> told_;
  bool failed_ = false;
};

/// N(T) of docs/meaning.md: durations in whole scans of one controller, rounded up, never 0.
class Clock {
 public:
  Clock(std::int64_t scan_ms, Report& report) : scan_ms_(scan_ms), report_(&report) {}

  /// Above `most` it is a finding at `span`, and `most`.
  std::uint32_t scans(std::int64_t ms, Span span, std::uint32_t most = LW_MAX_scans) const;
  std::int64_t scan_ms() const { return scan_ms_; }

 private:
  std::int64_t scan_ms_;
  Report* report_;
};

}  // namespace lw::lowering
