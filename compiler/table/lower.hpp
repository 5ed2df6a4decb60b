// From the resolved room to its tables: a table for each controller, the symbols beside it, and the questions
// that rehearsals and promises ask.
//
// What the rows mean stands in runtime/table.def, what the language means in docs/meaning.md; lowering is the
// one place that knows both. Invariant: the room has tables for all of its controllers or none, and the same
// room gives the same bytes on every machine. Lowering controller by controller as the text is read was
// rejected: what crosses a link, and how a scale's values fall into cells, depends on every condition of the
// room. Tests: tests/unit/lower.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>

#include "model/model.hpp"
#include "table/room_tables.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

/// How long a clip lasts in ms, above 0; asked once for each clip that the room plays.
using ClipLengths = std::function<std::int64_t(model::ClipId)>;

/// Nothing when a finding of severity error was added: a limit of the format exceeded (`over_limit`), a
/// controller that hears too little (`no_link`), or sequences that read each other in a ring (`ring`).
/// `tool_version` of the symbols is left to whoever writes them.
std::optional<RoomTables> lower(const SourceSet& sources, const model::Room& room,
                                const ClipLengths& clip_length, Findings& findings);

}  // namespace lw
