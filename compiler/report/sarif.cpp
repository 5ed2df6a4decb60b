// SARIF 2.1.0: see machine.hpp.
#include <nlohmann/json.hpp>

#include "report/machine.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

using Json = nlohmann::ordered_json;

Json message(std::string text) { return {{"text", std::move(text)}}; }

// A path as a URI reference (RFC 3986): every byte that is not unreserved is percent-encoded, the parting `/`
// apart, so a colon in the first part is no scheme.
std::string uri_of(const std::string& path) {
  constexpr char kHex[] = "0123456789ABCDEF";
  std::string uri = !path.empty() && path.front() == '/' ? "file://" : "";
  for (const char c : path) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (letter || c == '-' || c == '.' || c == '_' || c == '~' || c == '/') {
      uri += c;
    } else {
      const auto byte = static_cast<unsigned char>(c);
      uri += {'%', kHex[byte >> 4], kHex[byte & 15]};
    }
  }
  return uri;
}

bool has_place(Span span, const SourceSet& sources) {
  return static_cast<std::size_t>(span.file) < sources.count();
}

Json location(Span span, const SourceSet& sources) {
  const Position begin = sources.position(span);
  const Position end = sources.position(span.file, span.end);
  Json physical;
  physical["artifactLocation"] = {{"uri", uri_of(sources.name(span.file))}};
  physical["region"] = {{"startLine", begin.line},
                        {"startColumn", begin.column},
                        {"endLine", end.line},
                        {"endColumn", end.column}};
  return {{"physicalLocation", std::move(physical)}};
}

Json locations(Span span, const SourceSet& sources) {
  Json list = Json::array();
  if (has_place(span, sources)) list.push_back(location(span, sources));
  return list;
}

Json rules() {
  Json list = Json::array();
  for (std::size_t n = 0; n < code_count(); ++n) {
    const auto code = static_cast<Code>(n);
    Json rule;
    rule["id"] = code_name(code);
    rule["shortDescription"] = message(code_title(code));
    rule["fullDescription"] = message(code_explanation(code));
    rule["defaultConfiguration"] = {{"level", severity_name(usual_severity(code))}};
    list.push_back(std::move(rule));
  }
  return list;
}

Json result_of(Code code, Span span, const SourceSet& sources) {
  Json result;
  result["ruleId"] = code_name(code);
  result["ruleIndex"] = static_cast<std::size_t>(code);
  result["kind"] = "fail";
  result["level"] = "none";
  result["message"] = message({});
  result["locations"] = locations(span, sources);
  return result;
}

// What happens and what the room does, an event a location, for want of a place where it happens.
Json code_flow(const std::vector<Event>& events) {
  Json steps = Json::array();
  std::string time;
  for (const Event& event : events) {
    if (!event.time.empty()) time = event.time;
    std::string text = time + ": " + event.happens;
    if (!event.happens.empty() && !event.answers.empty()) text += "; ";
    text += event.answers;
    if (event.line != 0) text += " (line " + std::to_string(event.line) + ")";
    steps.push_back({{"location", {{"message", message(shown_safely(text))}}}});
  }
  return {{"threadFlows", Json::array({{{"locations", std::move(steps)}}})}};
}

Json result_of(const Finding& finding, const SourceSet& sources) {
  Json result = result_of(finding.code, finding.span, sources);
  result["level"] = severity_name(finding.severity);
  std::string text = shown_safely(finding.message) + '.';
  if (!finding.reason.empty()) text += '\n' + shown_safely(finding.reason);
  for (std::size_t n = 0; n < finding.remedies.size(); ++n)
    text += (n == 0 ? "\nTo mend it: " : "\nOr: ") + shown_safely(finding.remedies[n]);
  result["message"] = message(std::move(text));
  Json related = Json::array();
  for (const Place& place : finding.places) {
    if (!has_place(place.span, sources)) continue;
    Json other = location(place.span, sources);
    other["id"] = related.size();
    if (!place.note.empty()) other["message"] = message(shown_safely(place.note));
    related.push_back(std::move(other));
  }
  if (!related.empty()) result["relatedLocations"] = std::move(related);
  if (!finding.playthrough.empty()) result["codeFlows"] = Json::array({code_flow(finding.playthrough)});
  // Of a run in which anything is suppressed, every result says whether it is.
  result["suppressions"] = Json::array();
  if (finding.accepted) {
    Json suppression{{"kind", "inSource"},
                     {"status", "accepted"},
                     {"justification", shown_safely(finding.accepted->reason)}};
    if (has_place(finding.accepted->span, sources))
      suppression["location"] = location(finding.accepted->span, sources);
    result["suppressions"].push_back(std::move(suppression));
  }
  return result;
}

Json result_of(const Verdict& verdict, const SourceSet& sources) {
  const bool proved = verdict.decision == Decision::proved;
  Json result = result_of(proved ? Code::broken_promise : Code::promise_undecided, verdict.span, sources);
  result["kind"] = proved ? "pass" : "open";
  const char* const is = proved                                    ? "proved: "
                         : verdict.decision == Decision::not_asked ? "not asked: "
                                                                   : "not decided: ";
  result["message"] = message("promise \"" + shown_safely(verdict.promise) + "\" is " + is +
                              shown_safely(verdict.bound) + '.');
  result["suppressions"] = Json::array();
  return result;
}

Json result_of(const OpenQuestion& question, const SourceSet& sources) {
  Json result = result_of(Code::promise_undecided, question.span, sources);
  result["kind"] = "open";
  result["message"] = message("not decided: " + shown_safely(question.what) + ", since " +
                              shown_safely(question.bound) + '.');
  result["suppressions"] = Json::array();
  return result;
}

}  // namespace

std::string to_sarif(const LintReport& report) {
  Json run;
  run["tool"]["driver"] = {
      {"name", "Latchwork"}, {"semanticVersion", report.tool_version}, {"rules", rules()}};
  run["invocations"] = Json::array({{{"executionSuccessful", true}}});
  run["columnKind"] = "unicodeCodePoints";
  run["results"] = Json::array();
  for (const Finding& finding : report.findings) run["results"].push_back(result_of(finding, report.sources));
  // A promise that is refuted is among the findings.
  for (const Verdict& verdict : report.verdicts)
    if (verdict.decision != Decision::refuted) run["results"].push_back(result_of(verdict, report.sources));
  for (const OpenQuestion& question : report.open)
    run["results"].push_back(result_of(question, report.sources));
  Json log;
  log["$schema"] = "https://json.schemastore.org/sarif-2.1.0.json";
  log["version"] = "2.1.0";
  log["runs"] = Json::array({std::move(run)});
  return log.dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

}  // namespace lw::report
