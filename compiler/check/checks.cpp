// The list of checks, in the order in which they run.
#include "check/check.hpp"

namespace lw {
namespace {

constexpr Check kChecks[] = {check_names, check_windows,    check_weighing, check_reach, check_rules,
                             check_time,  check_electrical, check_payload,  check_safety};

}  // namespace

void check_all(const Subject& subject, Findings& findings) {
  for (const Check check : kChecks) check(subject, findings);
}

}  // namespace lw
