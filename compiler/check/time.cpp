// Time: durations that are no whole number of scans, clips that are cut by their own repeat, and levels that
// are too short for the link over which they are read.
//
// A controller looks once a scan (1.1), so a duration is rounded up to whole scans; one note a place where
// that matters. Over a link only the newest message counts (9.2): a level that is over before the message
// that began it has surely been taken in may never be seen. Tests: tests/cases/time.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <tuple>

#include "check/check.hpp"
#include "model/reads.hpp"
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

/// Levels that last a time which the text states, read on another controller.
class OverLinks {
 public:
  OverLinks(const Subject& subject, Findings& findings)
      : room_(subject.room), clips_(subject.clips), findings_(findings) {}

  void all() {
    if (room_.links.empty()) return;
    for (const model::Prop& prop : room_.props) note_drives(prop);
    for (const model::Prop& prop : room_.props) {
      reader_ = prop.controller;
      model::each_condition(prop, [&](const model::Cond& cond) {
        model::each_fact(cond, [&](const model::Fact& fact, Span span) { read(fact, span); });
      });
    }
  }

 private:
  /// What ends a level: so long after it began.
  struct Lasts {
    std::int64_t ms = 0;
    Span by;
  };
  struct Driven {
    model::Level level;
    Lasts lasts;
  };

  std::int64_t scan_ms(model::ControllerId controller) const {
    return room_.boards[model::index(room_.controllers[model::index(controller)].board)].scan_ms;
  }
  std::int64_t whole_scans(std::int64_t ms, model::ControllerId controller) const {
    const std::int64_t scan = scan_ms(controller);
    return (ms + scan - 1) / scan * scan;
  }
  /// The longest that a message between the two may be on its way, over the faster of their links.
  std::optional<std::int64_t> delay_ms(model::ControllerId one, model::ControllerId other) const {
    std::optional<std::int64_t> least;
    for (const model::Link& link : room_.links) {
      const auto joins = [&](model::ControllerId controller) {
        return std::find(link.joins.begin(), link.joins.end(), controller) != link.joins.end();
      };
      if (joins(one) && joins(other)) least = std::min(least.value_or(link.delay_ms), link.delay_ms);
    }
    return least;
  }

  void note_drives(const model::Prop& prop) {
    model::each_action(prop, [&](const model::Action& action) {
      const auto drives = [&](const model::Level& level, std::int64_t ms) {
        driven_[model::index(action.output)].push_back(
            {level, {whole_scans(ms, prop.controller), action.span}});
      };
      if (action.kind == model::ActionKind::keep && action.hold_ms > 0) drives(action.level, action.hold_ms);
      if (action.kind != model::ActionKind::play) return;
      if (const auto& info = clips_[model::index(action.clip)].info)
        drives({model::LevelKind::playing, 0, 0, action.clip}, info->length_ms);
    });
  }

  void read(const model::Fact& fact, Span span) {
    if (fact.kind == model::FactKind::prop_in_state) {
      const model::Prop& prop = room_.props[model::index(fact.prop)];
      const model::State& state = prop.states[model::index(fact.state)];
      for (const model::BodyId body : state.bodies)
        for (const model::Rule& rule : prop.bodies[model::index(body)].rules)
          if (rule.after && rule.target)
            look(prop.controller, {whole_scans(rule.hold_ms, prop.controller), rule.span}, span,
                 fmt::format("state `{}` of `{}`", state.name, prop.name), true);
      return;
    }
    const auto level = level_of(fact);
    if (!level) return;
    const model::Output& output = room_.outputs[model::index(fact.output)];
    const auto driven = driven_.find(model::index(fact.output));
    if (driven == driven_.end()) return;
    for (const Driven& one : driven->second)
      if (one.level.kind == *level && (*level != model::LevelKind::at || one.level.percent == fact.value))
        look(output.controller, one.lasts, span, fmt::format("a drive of `{}`", output.name), false);
  }

  static std::optional<model::LevelKind> level_of(const model::Fact& fact) {
    switch (fact.kind) {
      case model::FactKind::output_on:
        return model::LevelKind::on;
      case model::FactKind::output_off:
        return model::LevelKind::off;
      case model::FactKind::output_at:
        return model::LevelKind::at;
      case model::FactKind::output_blinking:
        return model::LevelKind::blinking;
      case model::FactKind::lock_released:
        return model::LevelKind::released;
      case model::FactKind::lock_secured:
        return model::LevelKind::secured;
      case model::FactKind::voice_playing:
        return model::LevelKind::playing;
      default:
        return std::nullopt;
    }
  }

  void look(model::ControllerId sender, Lasts lasts, Span span, const std::string& what, bool is_state) {
    if (sender == reader_) return;
    const auto delay = delay_ms(sender, reader_);
    // The hearer has scanned between the two messages if they are sent so far apart.
    if (!delay || lasts.ms >= *delay + scan_ms(reader_)) return;
    if (!told_.emplace(model::index(reader_), static_cast<std::size_t>(lasts.by.file), lasts.by.begin).second)
      return;
    const std::int64_t enough_ms = whole_scans(*delay + scan_ms(reader_), sender);
    Finding finding = finding_of(Code::short_for_link, span,
                                 fmt::format("{} is too short to be seen over the link for sure", what));
    finding.note = fmt::format("read on {}", room_.controllers[model::index(reader_)].name);
    finding.reason = fmt::format(
        "It lasts {}. A message may take {}, and {} looks once every {}: the message that ends it may come "
        "before the one that began it was looked at, and the newest counts.",
        time_text(lasts.ms), time_text(*delay), room_.controllers[model::index(reader_)].name,
        time_text(scan_ms(reader_)));
    finding.places.push_back(lw::Place{lasts.by, fmt::format("over after {}", time_text(lasts.ms)), false});
    finding.remedies.push_back(fmt::format("let it last {} or more.", time_text(enough_ms)));
    finding.remedies.push_back(is_state ? "read what lasts: a later state, or `solved`."
                                        : "read a state of the prop that drives it, one that lasts.");
    findings_.push_back(std::move(finding));
  }

  const model::Room& room_;
  const std::vector<ClipFile>& clips_;
  Findings& findings_;
  model::ControllerId reader_{};
  std::map<std::size_t, std::vector<Driven>> driven_;  // by output
  std::set<std::tuple<std::size_t, std::size_t, std::size_t>> told_;
};

}  // namespace

void check_time(const Subject& subject, Findings& findings) {
  Durations(subject, findings).all();
  OverLinks(subject, findings).all();
}

}  // namespace lw
