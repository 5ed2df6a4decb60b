// Time: durations that are no whole number of scans, and clips that are cut by their own repeat.
//
// A controller looks once a scan (1.1), so a duration is rounded up to whole scans; one note a place where
// that matters. Tests: tests/cases/time.
#include <fmt/format.h>

#include "check/check.hpp"
#include "text/quantity.hpp"

namespace lw {
namespace {

std::string time_text(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

class Durations {
 public:
  Durations(const Subject& subject, Findings& findings)
      : room_(subject.room), clips_(subject.clips), findings_(findings) {}

  void all() {
    for (const model::Prop& prop : room_.props) {
      const model::Controller& controller = room_.controllers[model::index(prop.controller)];
      scan_ms_ = room_.boards[model::index(controller.board)].scan_ms;
      for (const model::Timer& timer : prop.timers) whole(timer.length_ms, timer.span, "timer");
      for (const model::Sequence& sequence : prop.sequences) of(sequence);
      for (const model::Body& body : prop.bodies) of(body);
    }
    for (const model::Input& input : room_.inputs) {
      if (input.kind == model::InputKind::operator_button || input.kind == model::InputKind::signal) continue;
      scan_ms_ = room_.boards[model::index(room_.controllers[model::index(input.controller)].board)].scan_ms;
      whole(input.steady_ms, input.span,
            input.kind == model::InputKind::scale || input.kind == model::InputKind::gauge ? "settle"
                                                                                           : "debounce");
    }
  }

 private:
  const model::Room& room_;
  const std::vector<ClipFile>& clips_;
  Findings& findings_;
  std::int64_t scan_ms_ = 10;

  void whole(std::int64_t ms, Span span, const char* what) {
    if (ms <= 0 || ms % scan_ms_ == 0) return;
    const std::int64_t up = (ms / scan_ms_ + 1) * scan_ms_;
    Finding finding = finding_of(ms < scan_ms_ ? Code::below_scan : Code::not_whole_scans, span,
                                 ms < scan_ms_ ? fmt::format("a {} shorter than a scan", what)
                                               : fmt::format("a {} that is no whole number of scans", what));
    finding.reason = fmt::format("The controller looks once every {}: {} becomes {}.", time_text(scan_ms_),
                                 time_text(ms), time_text(up));
    finding.remedies.push_back(
        up - scan_ms_ > 0 ? fmt::format("write {} or {}.", time_text(up - scan_ms_), time_text(up))
                          : fmt::format("write {}, or give the board a shorter `scan`.", time_text(up)));
    findings_.push_back(std::move(finding));
  }

  void of(const model::Sequence& sequence) {
    if (sequence.within_ms) whole(*sequence.within_ms, sequence.span, "`within`");
    whole(sequence.each_hold_ms, sequence.span, "`for`");
    for (const model::Step& step : sequence.steps) {
      if (step.gap_low_ms) whole(*step.gap_low_ms, step.span, "gap");
      if (step.gap_high_ms && step.gap_high_ms != step.gap_low_ms) whole(*step.gap_high_ms, step.span, "gap");
    }
  }

  void of(const std::vector<model::Action>& actions) {
    for (const model::Action& action : actions)
      if (action.kind == model::ActionKind::keep) of(action.level, action.hold_ms, action.span);
  }
  void of(const model::Level& level, std::int64_t hold_ms, Span span) {
    whole(hold_ms, span, "`keep`");
    if (level.kind == model::LevelKind::blinking) whole(level.period_ms, span, "blink");
  }

  void of(const model::Body& body) {
    for (const model::Rule& rule : body.rules) {
      whole(rule.hold_ms, rule.span, rule.after ? "`after`" : "`for`");
      whole(rule.again_ms, rule.span, "`again every`");
      of(rule.actions);
      repeat(rule);
    }
    for (const model::Keep& keep : body.keeps) of(keep.level, keep.longer_ms, keep.span);
    of(body.enter);
    of(body.leave);
  }

  /// A clip that its own rule starts again before it has ended.
  void repeat(const model::Rule& rule) {
    if (rule.again_ms == 0) return;
    for (const model::Action& action : rule.actions) {
      if (action.kind != model::ActionKind::play) continue;
      const std::int64_t length_ms = clip_ms(action.clip);
      if (length_ms <= rule.again_ms) continue;
      const std::string& name = room_.clips[model::index(action.clip)].name;
      Finding finding = finding_of(Code::clip_over_repeat, action.span,
                                   fmt::format("clip `{}` is longer than its repeat", name));
      finding.note = time_text(length_ms);
      finding.reason = fmt::format("It lasts {} and is started again every {}, so its end is never heard.",
                                   time_text(length_ms), time_text(rule.again_ms));
      finding.remedies.push_back(fmt::format("write `again every {}` or more, or use a shorter clip.",
                                             time_text((length_ms + 999) / 1000 * 1000)));
      findings_.push_back(std::move(finding));
    }
  }

  std::int64_t clip_ms(model::ClipId clip) const {
    const auto& info = clips_[model::index(clip)].info;
    return info ? info->length_ms : 0;
  }
};

}  // namespace

void check_time(const Subject& subject, Findings& findings) { Durations(subject, findings).all(); }

}  // namespace lw
