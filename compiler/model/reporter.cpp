// Findings of resolving: each said once, those of a design with the place that uses it.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {

namespace {

/// Forms that are not whole and have no forms in them: of a prop, its broken lines and not the prop.
struct Broken {
  std::vector<Span>& spans;

  void inside(const std::vector<ast::Inside>& insides) const {
    for (const ast::Inside& inside : insides) {
      if (!inside.whole) spans.push_back(inside.span);
    }
  }
  void parts(const std::vector<ast::Part>& parts) const {
    for (const ast::Part& part : parts) {
      if (part.whole) continue;
      if (const auto* state = std::get_if<ast::State>(&part.form))
        inside(state->body);
      else if (const auto* in = std::get_if<ast::In>(&part.form))
        inside(in->body);
      else
        spans.push_back(part.span);
    }
  }
  void statement(const ast::Statement& statement) const {
    if (statement.whole) return;
    if (const auto* prop = std::get_if<ast::Prop>(&statement.form); prop != nullptr && !prop->design) {
      parts(prop->parts);
    } else if (const auto* design = std::get_if<ast::Design>(&statement.form)) {
      parts(design->parts);
    } else if (const auto* rehearsal = std::get_if<ast::Rehearsal>(&statement.form)) {
      for (const ast::Line& line : rehearsal->lines) {
        if (!line.whole) spans.push_back(line.span);
      }
    } else {
      spans.push_back(statement.span);
    }
  }
};

bool comes_before(Span a, Span b) { return std::tie(a.file, a.begin) < std::tie(b.file, b.begin); }

}  // namespace

Reporter::Reporter(const ast::Program& program, Findings& findings) : findings_(findings) {
  for (const ast::File& file : program.files) {
    for (const ast::Statement& statement : file.statements) Broken{broken_}.statement(statement);
  }
  std::sort(broken_.begin(), broken_.end(), comes_before);
}

bool Reporter::in_broken(Span span) const {
  const auto after = std::upper_bound(broken_.begin(), broken_.end(), span, comes_before);
  if (after == broken_.begin()) return false;
  const Span form = *std::prev(after);
  return form.file == span.file && span.begin < form.end;
}

void Reporter::say(Code code, Span span, std::string message, std::string reason,
                   std::vector<std::string> remedies, std::vector<Place> places) {
  const Severity severity = usual_severity(code);
  if (severity == Severity::error) failed_ = true;
  if (in_broken(span)) return;
  if (!said_.emplace(code, span.file, span.begin, span.end, message).second) return;
  if (used_at_) places.push_back({*used_at_, "the design is used here", false});
  std::sort(places.begin(), places.end(), [](const Place& a, const Place& b) {
    return std::tie(a.span.file, a.span.begin) < std::tie(b.span.file, b.span.begin);
  });
  Finding finding;
  finding.code = code;
  finding.severity = severity;
  finding.span = span;
  finding.message = std::move(message);
  finding.reason = std::move(reason);
  finding.remedies = std::move(remedies);
  finding.places = std::move(places);
  findings_.push_back(std::move(finding));
}

}  // namespace lw::model
