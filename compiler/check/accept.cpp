// What `accept` silences: see accept.hpp.
#include "check/accept.hpp"

#include <fmt/format.h>

#include <utility>

namespace lw {
namespace {

/// Why findings of this code stand whatever is accepted; nothing of those that may be accepted.
const char* never_because(Code code) {
  switch (code) {
    case Code::exit_lock:
    case Code::exit_not_let_go:
    case Code::exit_held:
      return "People could be held: that is for local code, the authority having jurisdiction and licensed "
             "professionals to decide.";
    case Code::powered_too_long:
      return "What overheats burns, whatever the text says.";
    case Code::broken_promise:
    case Code::failed_rehearsal:
      return "What the room itself says must hold does not hold.";
    case Code::promise_undecided:
    case Code::load_undecided:
    case Code::sets_undecided:
      return "What is not decided stays so until it is known.";
    case Code::unused_accept:
      return "An `accept` that silences nothing is taken away.";
    case Code::overlap:
    case Code::narrow_window:
    case Code::beyond_capacity:
    case Code::empty_pan:
    case Code::chain_loop:
    case Code::never_woken:
    case Code::over_contact:
    case Code::clip_kind:
    case Code::stuck:
    case Code::no_way_to_finish:
      return nullptr;  // errors, but the room has a meaning all the same
    default:
      return usual_severity(code) == Severity::error
                 ? "With such a mistake the room has no meaning, and nothing can be built from it."
                 : nullptr;
  }
}

/// Whether the explorer finds it, perhaps besides a check.
bool is_of_proofs(Code code) {
  switch (code) {
    case Code::stuck:
    case Code::no_way_to_finish:
    case Code::never_entered:
    case Code::never_woken:
    case Code::never_taken:
    case Code::two_moves:
    case Code::at_odds:
    case Code::restless:
    case Code::drive_cut:
    case Code::past_end:
    case Code::left_over:
    case Code::left_driven:
      return true;
    default:
      return false;
  }
}

/// Whether nobody looks for findings of this code any more.
bool looked_for(Code code, Looked looked) {
  if (looked == Looked::names || looked == Looked::some_proofs) return false;
  const bool proofs = looked == Looked::proofs;
  if (proofs || is_of_proofs(code)) return proofs && is_of_proofs(code);
  return looked == Looked::all ||
         (code != Code::clip_kind && code != Code::clip_over_repeat && code != Code::short_for_link);
}

bool within(Span inner, Span outer) {
  return inner.file == outer.file && inner.begin >= outer.begin && inner.end <= outer.end;
}

Finding unused(const model::Accept& accept, const char* never) {
  Finding finding;
  finding.code = Code::unused_accept;
  finding.severity = usual_severity(finding.code);
  finding.span = accept.span;
  finding.message = never != nullptr ? fmt::format("`{}` can never be accepted", code_name(accept.code))
                                     : fmt::format("nothing here is a finding `{}`", code_name(accept.code));
  finding.reason =
      never != nullptr ? never : "The line silences nothing, and would hide the finding if it came back.";
  finding.remedies.push_back(never != nullptr ? "take the `accept` away, and mend what it stands for."
                                              : "take the `accept` away.");
  return finding;
}

}  // namespace

void take_out_accepted(Accepts& accepts, Looked looked, Findings& findings, Findings& accepted) {
  Findings kept;
  for (Finding& finding : findings) {
    const model::Accept* nearest = nullptr;
    const bool never = never_because(finding.code) != nullptr;
    for (Accepting& one : accepts) {
      const model::Accept& accept = one.accept;
      if (never || accept.code != finding.code || !within(finding.span, accept.scope)) continue;
      one.used = true;
      if (nearest == nullptr || within(accept.scope, nearest->scope)) nearest = &accept;
    }
    if (nearest != nullptr) finding.accepted = Acceptance{nearest->span, nearest->reason};
    (nearest != nullptr ? accepted : kept).push_back(std::move(finding));
  }
  findings = std::move(kept);
  const bool checks = looked != Looked::some_proofs && looked != Looked::proofs;
  for (const Accepting& one : accepts) {
    if (one.used) continue;
    const char* const never = checks ? never_because(one.accept.code) : nullptr;
    if (never != nullptr || (one.accept.checked && looked_for(one.accept.code, looked)))
      findings.push_back(unused(one.accept, never));
  }
}

}  // namespace lw
