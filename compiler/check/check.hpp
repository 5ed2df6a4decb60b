// The static checks: what can be said of a room without trying what players may do.
//
// One signature, one list: a family of findings is one .cpp here, and checks.cpp names it. Checks look at the
// resolved room and its clips; those that speak of behaviour look at tables. Tests: tests/cases, a firing
// case and a twin a code.
#pragma once

#include <optional>
#include <vector>

#include "model/model.hpp"
#include "sound/clip.hpp"
#include "table/room_tables.hpp"
#include "text/finding.hpp"

namespace lw {

/// What reading a clip's sound file gave; one for each of Room::clips.
struct ClipFile {
  std::optional<sound::ClipInfo> info;
  sound::ClipError error;  // when there is no info
};

struct Subject {
  const SourceSet& sources;
  const model::Room& room;
  const std::vector<ClipFile>& clips;
};

/// A finding of the code's usual severity.
inline Finding finding_of(Code code, Span span, std::string message) {
  Finding finding;
  finding.code = code;
  finding.severity = usual_severity(code);
  finding.span = span;
  finding.message = std::move(message);
  return finding;
}

using Check = void (*)(const Subject&, Findings&);

/// Runs every check, in a fixed order.
void check_all(const Subject& subject, Findings& findings);

// The families.
void check_names(const Subject&, Findings&);
void check_windows(const Subject&, Findings&);
void check_weighing(const Subject&, Findings&);
void check_reach(const Subject&, Findings&);
void check_rules(const Subject&, Findings&);
void check_time(const Subject&, Findings&);
void check_electrical(const Subject&, Findings&);
void check_payload(const Subject&, Findings&);
void check_safety(const Subject&, Findings&);

}  // namespace lw
