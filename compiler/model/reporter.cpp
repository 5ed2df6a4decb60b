// Findings of resolving: each said once, those of a design with the place that uses it.
#include <algorithm>
#include <limits>

#include "model/workspace.hpp"

namespace lw::model {

namespace {

/// The text of forms that are not whole and have no forms in them: of a prop, its broken lines and not the
/// prop. A form of which little could be read is as long as the room between its neighbours.
struct Broken {
  std::vector<Span>& spans;

  template <class Form, class Visit>
  void list(const std::vector<Form>& forms, Span around, Visit&& broken) const {
    for (std::size_t i = 0; i < forms.size(); ++i) {
      if (forms[i].whole) continue;
      Span between = around;
      for (std::size_t j = i; j-- > 0;) {
        if (forms[j].span.begin == forms[j].span.end) continue;
        between.begin = std::max(between.begin, forms[j].span.end);
        break;
      }
      if (i + 1 < forms.size() && forms[i + 1].span.begin > between.begin)
        between.end = forms[i + 1].span.begin;
      broken(forms[i], between);
    }
  }
  void inside(const std::vector<ast::Inside>& insides, Span around) const {
    list(insides, around, [this](const ast::Inside&, Span between) { spans.push_back(between); });
  }
  void parts(const std::vector<ast::Part>& parts, Span around) const {
    list(parts, around, [this](const ast::Part& part, Span between) {
      if (const auto* state = std::get_if<ast::State>(&part.form)) {
        inside(state->body, {part.span.file, std::max(state->name.span.end, part.span.begin), part.span.end});
      } else if (const auto* in = std::get_if<ast::In>(&part.form)) {
        inside(in->body, part.span);
      } else {
        spans.push_back(between);
      }
    });
  }
  void statement(const ast::Statement& statement, Span between) const {
    const auto behind = [&statement](Span head) {
      return Span{statement.span.file, std::max(head.end, statement.span.begin), statement.span.end};
    };
    if (const auto* prop = std::get_if<ast::Prop>(&statement.form); prop != nullptr && !prop->design) {
      parts(prop->parts, behind(prop->controller.span));
    } else if (const auto* design = std::get_if<ast::Design>(&statement.form)) {
      parts(design->parts, behind(design->name.span));
    } else if (const auto* rehearsal = std::get_if<ast::Rehearsal>(&statement.form)) {
      list(rehearsal->lines, behind(rehearsal->title.span),
           [this](const ast::Line&, Span lines) { spans.push_back(lines); });
    } else {
      spans.push_back(between);
    }
  }
};

Finding more_than(std::size_t most, Span place) {
  Finding finding;
  finding.code = Code::syntax;
  finding.span = {place.file, place.begin, place.begin};
  finding.message = "more than " + std::to_string(most) + " mistakes in this room; what follows is not shown";
  finding.reason = "Perhaps it is not a room at all.";
  finding.remedies = {"mend the first ones, and run it again."};
  return finding;
}

bool comes_before(Span a, Span b) { return std::tie(a.file, a.begin) < std::tie(b.file, b.begin); }

}  // namespace

Reporter::Reporter(const ast::Program& program, Findings& findings) : findings_(findings) {
  for (const ast::File& file : program.files) {
    const Span all{file.id, 0, std::numeric_limits<std::uint32_t>::max()};
    const Broken broken{broken_};
    broken.list(file.statements, all, [&broken](const ast::Statement& statement, Span between) {
      broken.statement(statement, between);
    });
  }
  std::sort(broken_.begin(), broken_.end(), comes_before);
}

bool Reporter::in_broken(Span span) const {
  if (span.begin == span.end && !broken_.empty()) return true;  // of what was left out
  const auto after = std::upper_bound(broken_.begin(), broken_.end(), span, comes_before);
  if (after == broken_.begin()) return false;
  const Span form = *std::prev(after);
  return form.file == span.file && span.begin < form.end;
}

void Reporter::say(Code code, Span span, std::string message, std::string reason,
                   std::vector<std::string> remedies, std::vector<Place> places) {
  if (usual_severity(code) == Severity::error) failed_ = true;
  if (in_broken(span) || count_ > kMost) return;
  Finding finding;
  finding.code = code;
  finding.span = span;
  finding.message = std::move(message);
  finding.reason = std::move(reason);
  finding.remedies = std::move(remedies);
  finding.places = std::move(places);
  shorten(finding);
  if (!said_.emplace(code, span.file, span.begin, span.end, finding.message).second) return;
  if (++count_ > kMost)
    finding = more_than(kMost, span);
  else if (used_at_)
    finding.places.push_back({*used_at_, "the design is used here", false});
  finding.severity = usual_severity(finding.code);
  std::sort(finding.places.begin(), finding.places.end(),
            [](const Place& a, const Place& b) { return comes_before(a.span, b.span); });
  findings_.push_back(std::move(finding));
}

}  // namespace lw::model
