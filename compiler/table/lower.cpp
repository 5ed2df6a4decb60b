// The order of lowering: seats, links, rows, questions, numbers, bytes. See lower.hpp; tests:
// tests/unit/lower.
#include "table/lower.hpp"

#include <fmt/format.h>

#include <memory>
#include <set>

#include "table/bytes.hpp"
#include "table/digest.hpp"
#include "table/lower_draft.hpp"

namespace lw {

using namespace lowering;

namespace {

/// Whatever the rows are over that was not noticed where it is written: sizes in bytes, above all.
void report_overrun(const model::Controller& controller, const Overrun& overrun, Report& report) {
  const char* things = "";
  switch (overrun.limit) {
#define LW_LIMIT(name, value, sentence) \
  case Limit::name:                     \
    things = sentence;                  \
    break;
#include "runtime/table.def"
  }
  report.error(
      Code::over_limit, controller.span,
      fmt::format("`{}` needs {}, and the format allows {}", controller.name, overrun.have, overrun.most),
      fmt::format("The limit: {} {}.", overrun.most, things),
      "move props, with what they read and drive, to a further controller.");
}

/// Bytes of all tables, with the room's identity in them.
void write_bytes(const model::Room& room, RoomTables& tables, Report& report) {
  std::vector<std::vector<std::uint8_t>*> all;
  for (std::size_t c = 0; c < tables.controllers.size(); ++c) {
    Encoded encoded = encode(tables.controllers[c].rows);
    for (const Overrun& overrun : encoded.overruns) report_overrun(room.controllers[c], overrun, report);
    tables.controllers[c].bytes = std::move(encoded.bytes);
    all.push_back(&tables.controllers[c].bytes);
  }
  if (report.failed()) return;
  tables.identity = set_identity(all);
  for (ControllerTable& controller : tables.controllers) controller.rows.identity = tables.identity;
}

}  // namespace

std::optional<RoomTables> lower(const SourceSet& sources, const model::Room& room,
                                const ClipLengths& clip_length, Findings& findings) {
  Report report(findings);
  const Plan plan = make_plan(room, report);
  if (report.failed()) return std::nullopt;
  const Links links = make_links(plan, report);
  if (report.failed()) return std::nullopt;

  std::vector<std::int64_t> clip_ms(room.clips.size());
  std::set<std::size_t> played;
  for (const Seats& seats : plan.controllers)
    for (const model::ClipId id : seats.clips)
      if (played.insert(model::index(id)).second) clip_ms[model::index(id)] = clip_length(id);

  std::vector<std::unique_ptr<Draft>> drafts;
  for (std::size_t c = 0; c < room.controllers.size(); ++c) {
    drafts.push_back(std::make_unique<Draft>(plan, links, c, report));
    drafts.back()->write(clip_ms);
  }
  RoomTables tables;
  ask_questions(plan, links, drafts, tables);
  for (const auto& draft : drafts) draft->number();
  number_questions(drafts, tables);
  if (report.failed()) return std::nullopt;

  tables.inputs = plan.inputs;
  tables.outputs = plan.outputs;
  tables.props = plan.props;
  for (const auto& draft : drafts) tables.controllers.push_back(draft->take(sources));
  write_bytes(room, tables, report);
  if (report.failed()) return std::nullopt;
  return tables;
}

}  // namespace lw
