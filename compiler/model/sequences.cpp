// Sequences: steps with the gaps between them, or steps that one event asks about (`each`).
//
// Tests: tests/unit/model/sequences_test.cpp.
#include "model/workspace.hpp"

namespace lw::model {
namespace {

struct Gap {
  std::int64_t low_ms = 0, high_ms = 0;
};

std::optional<Gap> read_gap(Workspace& work, const ast::Gap& written) {
  const auto first = amount(work, written.first, Dimension::time, Sign::not_negative);
  const auto second = amount(work, written.second, Dimension::time, Sign::not_negative);
  if (!first || !second) return std::nullopt;
  Gap gap{*first, *second};
  if (written.spread) {
    if (*second > *first) {
      const std::string most = format_quantity({*first + *second, Dimension::time});
      work.report.say(Code::empty_range, written.span, "this gap would begin before the step that it follows",
                      "", {"write `0 s to " + most + "`."});
      return std::nullopt;
    }
    gap = {*first - *second, *first + *second};
  }
  if (gap.low_ms > gap.high_ms) {
    work.report.say(Code::empty_range, written.span, "the gap's low end lies above its high end", "",
                    {"write the shorter time first."});
    return std::nullopt;
  }
  if (gap.high_ms == 0) {
    work.report.say(Code::out_of_range, written.span, "a gap of 0 is none",
                    "Two steps are at least a scan apart.",
                    {"write how long the gap may be, or leave it out."});
    return std::nullopt;
  }
  return gap;
}

void resolve_sequence(Workspace& work, PropWork& prop, const ast::Sequence& written, Sequence& sequence,
                      const std::optional<Reader>& reader) {
  const Where where{&prop, sequence.body, false, true};
  if (written.each) {
    if (auto reading = read_held(work, where, *written.each, reader, {true, ""}, sequence.each_hold_ms)) {
      sequence.each = std::move(reading->cond);
    }
  }
  std::optional<Gap> gap;
  for (const ast::Step& part : written.steps) {
    if (const auto* between = std::get_if<ast::Gap>(&part)) {
      gap = read_gap(work, *between);
      continue;
    }
    const auto& cond = std::get<ast::Cond>(part);
    const EdgesHere edges{!written.each, "as a step of a sequence with `each`"};
    auto reading = read_for(work, where, cond, reader, edges);
    if (reading) {
      Step step;
      step.span = cond.span;
      step.condition = std::move(reading->cond);
      if (gap) {
        step.gap_low_ms = gap->low_ms;
        step.gap_high_ms = gap->high_ms;
      }
      sequence.steps.push_back(std::move(step));
    }
    gap.reset();
  }
  sequence.within_ms = option_time(work, where, written.options, ast::OptionKind::within);
  sequence.wrong_ignored = option(written.options, ast::OptionKind::wrong) != nullptr;
}

}  // namespace

void resolve_sequences(Workspace& work, PropWork& prop) {
  const Reporter::Within within(work.report, prop.used_at);
  Prop& room_prop = work.room.props[index(prop.id)];
  std::optional<Reader> reader;
  if (prop.placed) reader = Reader{room_prop.controller, room_prop.span};
  for (std::size_t i = 0; i < prop.sequences.size(); ++i) {
    resolve_sequence(work, prop, *prop.sequences[i], room_prop.sequences[i], reader);
  }
}

}  // namespace lw::model
