// The parts that all JSON of ours is made of: places, findings, verdicts. Internal to report/.
//
// Each member of what they give is in docs/lint.schema.json, which the schemas of the other reports refer to.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "text/finding.hpp"
#include "text/source.hpp"
#include "text/verdict.hpp"

namespace lw::report {

using Json = nlohmann::ordered_json;

inline constexpr int kJsonFormat = 1;  // counts up when a member goes or changes its meaning

/// Puts file, line, column and end into an object; nulls for a place in no file.
void put_place(Json& object, Span span, const SourceSet& sources);
/// A list of events, or null where there are none.
Json playthrough_json(const std::vector<Event>& events);
Json finding_json(const Finding& finding, const SourceSet& sources);
Json findings_json(const Findings& findings, const SourceSet& sources);
Json verdicts_json(const Verdicts& verdicts, const SourceSet& sources);
Json open_json(const OpenQuestions& open, const SourceSet& sources);
/// The whole document, its last line ended. File names may hold any bytes: wrong ones become U+FFFD.
std::string document(const Json& object);

}  // namespace lw::report
