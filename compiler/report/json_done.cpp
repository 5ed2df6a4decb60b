// The JSON of `build --json` and `rehearse --json`: see machine.hpp, and docs/build.schema.json and
// docs/rehearse.schema.json for each member.
#include <algorithm>

#include "report/json.hpp"
#include "report/machine.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

Json text_or_null(const std::optional<std::string>& text) {
  return text ? Json(shown_safely(*text)) : Json(nullptr);
}

const char* kind_name(Covered::Kind kind) {
  switch (kind) {
    case Covered::Kind::state:
      return "state";
    case Covered::Kind::rule:
      return "rule";
    case Covered::Kind::keep:
      return "keep";
    case Covered::Kind::leave:
      return "leave";
    case Covered::Kind::tell:
      return "tell";
    case Covered::Kind::ready:
      return "ready";
    case Covered::Kind::wakes:
      return "wakes";
  }
  return "";
}

Json folder_json(const BuildReport::Folder& folder) {
  Json object;
  object["controller"] = shown_safely(folder.controller);
  object["board"] = shown_safely(folder.board);
  object["folder"] = folder.folder;
  object["table_bytes"] = folder.table_bytes;
  object["files"] = Json::array();
  for (const BuildReport::File& file : folder.files)
    object["files"].push_back({{"name", file.name}, {"bytes", file.bytes}, {"sha256", file.sha256}});
  return object;
}

Json played_json(const RehearsalReport::Played& played, const SourceSet& sources) {
  Json object;
  object["rehearsal"] = shown_safely(played.title);
  object["result"] = played.failure ? "failed" : "passed";
  object["length_ms"] = played.length_ms;
  object["failure"] = played.failure ? finding_json(*played.failure, sources) : Json(nullptr);
  object["trace"] = played.trace ? playthrough_json(*played.trace) : Json(nullptr);
  put_place(object, played.span, sources);
  return object;
}

Json covered_json(const Covered& item, const SourceSet& sources) {
  Json object;
  object["kind"] = kind_name(item.kind);
  object["of"] = Json::array();
  for (const std::string& of : item.of) object["of"].push_back(shown_safely(of));
  object["times"] = item.times;
  put_place(object, item.span, sources);
  return object;
}

}  // namespace

std::string to_json(const BuildReport& report) {
  Json object;
  object["latchwork"] = report.tool_version;
  object["format"] = kJsonFormat;
  object["room"] = text_or_null(report.room);
  object["identity"] = text_or_null(report.identity);
  object["written_to"] = text_or_null(report.written_to);
  object["failure"] = text_or_null(report.failure);
  object["notes"] = Json::array();
  for (const std::string& note : report.notes) object["notes"].push_back(shown_safely(note));
  object["controllers"] = Json::array();
  for (const BuildReport::Folder& folder : report.folders)
    object["controllers"].push_back(folder_json(folder));
  object["findings"] = findings_json(report.findings, report.sources);
  object["verdicts"] = verdicts_json(report.verdicts, report.sources);
  object["undecided"] = open_json(report.open, report.sources);
  return document(object);
}

std::string to_json(const RehearsalReport& report) {
  const auto failed =
      std::count_if(report.played.begin(), report.played.end(),
                    [](const RehearsalReport::Played& played) { return played.failure.has_value(); });
  Json object;
  object["latchwork"] = report.tool_version;
  object["format"] = kJsonFormat;
  object["room"] = text_or_null(report.room);
  object["findings"] = findings_json(report.findings, report.sources);
  object["rehearsals"] = Json::array();
  for (const RehearsalReport::Played& played : report.played)
    object["rehearsals"].push_back(played_json(played, report.sources));
  object["exercised"] = Json::array();
  if (report.coverage != nullptr)
    for (const Covered& item : report.coverage->items())
      object["exercised"].push_back(covered_json(item, report.sources));
  Json stats;
  stats["played"] = report.played.size();
  stats["failed"] = failed;
  stats["items"] = object["exercised"].size();
  stats["items_exercised"] =
      std::count_if(object["exercised"].begin(), object["exercised"].end(),
                    [](const Json& item) { return item["times"].get<std::uint64_t>() > 0; });
  object["stats"] = std::move(stats);
  return document(object);
}

}  // namespace lw::report
