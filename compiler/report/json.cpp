// The JSON of `lint --json`: see machine.hpp, and docs/lint.schema.json for each member.
#include "report/json.hpp"

#include <algorithm>

#include "report/machine.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

Json point(const Position& position) { return {{"line", position.line}, {"column", position.column}}; }

}  // namespace

void put_place(Json& object, Span span, const SourceSet& sources) {
  const bool known = static_cast<std::size_t>(span.file) < sources.count();
  if (!known) {
    object["file"] = object["line"] = object["column"] = object["end"] = nullptr;
    return;
  }
  const Position begin = sources.position(span);
  object["file"] = sources.name(span.file);
  object["line"] = begin.line;
  object["column"] = begin.column;
  object["end"] = point(sources.position(span.file, span.end));
}

Json playthrough_json(const std::vector<Event>& events) {
  if (events.empty()) return nullptr;
  Json list = Json::array();
  for (const Event& event : events) {
    Json entry;
    entry["time"] = shown_safely(event.time);
    entry["happens"] = shown_safely(event.happens);
    entry["answers"] = shown_safely(event.answers);
    entry["line"] = event.line == 0 ? Json(nullptr) : Json(event.line);
    list.push_back(std::move(entry));
  }
  return list;
}

Json finding_json(const Finding& finding, const SourceSet& sources) {
  Json object;
  object["code"] = code_name(finding.code);
  object["severity"] = severity_name(finding.severity);
  put_place(object, finding.span, sources);
  object["message"] = shown_safely(finding.message);
  object["note"] = shown_safely(finding.note);
  object["reason"] = shown_safely(finding.reason);
  object["remedy"] = Json::array();
  for (const std::string& remedy : finding.remedies) object["remedy"].push_back(shown_safely(remedy));
  object["related"] = Json::array();
  for (const Place& other : finding.places) {
    Json related;
    put_place(related, other.span, sources);
    related["note"] = shown_safely(other.note);
    object["related"].push_back(std::move(related));
  }
  object["playthrough"] = playthrough_json(finding.playthrough);
  object["rehearsal"] = finding.rehearsal.empty() ? Json(nullptr) : Json(shown_safely(finding.rehearsal));
  if (finding.accepted) {
    Json accepted;
    put_place(accepted, finding.accepted->span, sources);
    accepted["reason"] = shown_safely(finding.accepted->reason);
    object["accepted"] = std::move(accepted);
  } else {
    object["accepted"] = nullptr;
  }
  return object;
}

namespace {

const char* decision_name(Decision decision) {
  switch (decision) {
    case Decision::proved:
      return "proved";
    case Decision::refuted:
      return "refuted";
    case Decision::undecided:
      return "undecided";
    case Decision::not_asked:
      return "not_asked";
  }
  return "";
}

Json verdict_json(const Verdict& verdict, const SourceSet& sources) {
  Json object;
  object["promise"] = shown_safely(verdict.promise);
  object["verdict"] = decision_name(verdict.decision);
  object["bound"] = shown_safely(verdict.bound);
  object["freedoms"] = verdict.freedoms;
  object["playthrough"] = playthrough_json(verdict.playthrough);
  put_place(object, verdict.span, sources);
  return object;
}

}  // namespace

Json findings_json(const Findings& findings, const SourceSet& sources) {
  Json list = Json::array();
  for (const Finding& finding : findings) list.push_back(finding_json(finding, sources));
  return list;
}

Json verdicts_json(const Verdicts& verdicts, const SourceSet& sources) {
  Json list = Json::array();
  for (const Verdict& verdict : verdicts) list.push_back(verdict_json(verdict, sources));
  return list;
}

Json open_json(const OpenQuestions& open, const SourceSet& sources) {
  Json list = Json::array();
  for (const OpenQuestion& question : open) {
    Json object;
    object["question"] = shown_safely(question.what);
    object["bound"] = shown_safely(question.bound);
    put_place(object, question.span, sources);
    list.push_back(std::move(object));
  }
  return list;
}

std::string document(const Json& object) {
  return object.dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

namespace {

Json measures_json(const Measures& measures, const SourceSet& sources) {
  const auto or_null = [](const std::optional<std::int64_t>& number) {
    return number ? Json(*number) : Json(nullptr);
  };
  Json list = Json::array();
  for (const Measure& measure : measures) {
    Json object;
    object["measure"] = measure_name(measure.kind);
    object["of"] = measure.of.empty() ? Json(nullptr) : Json(shown_safely(measure.of));
    object["unit"] = measure_unit(measure.kind);
    object["decided"] = measure.exact();
    object["least"] = or_null(measure.least);
    object["most"] = or_null(measure.most);
    object["limit"] = or_null(measure.limit);
    object["powered"] = Json::array();
    for (const std::string& name : measure.powered) object["powered"].push_back(shown_safely(name));
    object["bound"] = shown_safely(measure.bound);
    object["freedoms"] = measure.freedoms;
    object["playthrough"] = playthrough_json(measure.playthrough);
    object["rehearsal"] = measure.rehearsal.empty() ? Json(nullptr) : Json(shown_safely(measure.rehearsal));
    put_place(object, measure.span, sources);
    list.push_back(std::move(object));
  }
  return list;
}

Json stats_json(const LintReport& report) {
  const auto open = [&](Severity severity) {
    return std::count_if(report.findings.begin(), report.findings.end(), [severity](const Finding& finding) {
      return !finding.accepted && finding.severity == severity;
    });
  };
  const auto decided = [&](Decision decision) {
    return std::count_if(report.verdicts.begin(), report.verdicts.end(),
                         [decision](const Verdict& verdict) { return verdict.decision == decision; });
  };
  Json stats;
  stats["errors"] = open(Severity::error);
  stats["warnings"] = open(Severity::warning);
  stats["notes"] = open(Severity::note);
  stats["accepted"] = std::count_if(report.findings.begin(), report.findings.end(),
                                    [](const Finding& finding) { return finding.accepted.has_value(); });
  stats["promises"] = report.verdicts.size();
  stats["promises_proved"] = decided(Decision::proved);
  stats["promises_refuted"] = decided(Decision::refuted);
  stats["promises_undecided"] = decided(Decision::undecided);
  stats["promises_not_asked"] = decided(Decision::not_asked);
  stats["rehearsals_played"] = report.rehearsals_played;
  stats["rehearsals_failed"] = report.rehearsals_failed;
  stats["files"] = report.sources.count();
  const auto total = [&](std::size_t LintReport::Totals::*which) {
    return report.totals ? Json((*report.totals).*which) : Json(nullptr);
  };
  stats["props"] = total(&LintReport::Totals::props);
  stats["states"] = total(&LintReport::Totals::states);
  stats["rules"] = total(&LintReport::Totals::rules);
  return stats;
}

}  // namespace

std::string to_json(const LintReport& report) {
  Json object;
  object["latchwork"] = report.tool_version;
  object["format"] = kJsonFormat;
  object["room"] = report.room ? Json(shown_safely(*report.room)) : Json(nullptr);
  object["findings"] = findings_json(report.findings, report.sources);
  object["verdicts"] = verdicts_json(report.verdicts, report.sources);
  object["undecided"] = open_json(report.open, report.sources);
  object["measures"] = report.measures ? measures_json(*report.measures, report.sources) : Json(nullptr);
  object["stats"] = stats_json(report);
  return document(object);
}

}  // namespace lw::report
