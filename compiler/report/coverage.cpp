// See coverage.hpp.
#include "report/coverage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "report/prose.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

using Kind = Covered::Kind;

constexpr std::size_t kColumns = 80;  // of all rows that begin with no place

/// The line as it is written, on one line, without its comments, cut where it is long.
std::string words_of(std::string_view text, std::size_t most_columns) {
  std::string words;
  bool quoted = false, space = false;
  for (std::size_t n = 0; n < text.size(); ++n) {
    if (text[n] == '"') quoted = !quoted;
    if (!quoted && text[n] == '#')
      while (n < text.size() && text[n] != '\n') ++n;
    if (n >= text.size()) break;
    if (text[n] == ' ' || text[n] == '\t' || text[n] == '\r' || text[n] == '\n') {
      space = !words.empty();
      continue;
    }
    if (space) words += ' ';
    space = false;
    words += text[n];
  }
  if (display_width(words) <= most_columns) return shown_safely(words);
  std::size_t end = 0, columns = 0;
  while (end < words.size()) {
    const CodePoint point = code_point_at(words, end);
    columns += static_cast<std::size_t>(code_point_width(point.value));
    if (columns >= most_columns) break;
    end += point.size;
  }
  return shown_safely(words.substr(0, end)) + "…";
}

/// Where it stands, or what it is: "in `bomb in calm, tense`", "state `locked` of `levers`".
std::string what(const Covered& item, const SourceSet& sources) {
  std::string of = fmt::format("`{}`", item.of.front());
  if (item.of.size() > 1) of += fmt::format(" and {} more", item.of.size() - 1);
  switch (item.kind) {
    case Kind::state:
      return fmt::format("state `{}` of {}", sources.text(item.span), of);
    case Kind::leave:
      return "on leaving " + of;
    case Kind::wakes:
      return of + " by the chain";
    default:
      return "in " + of;
  }
}

const char* never(Kind kind) {
  switch (kind) {
    case Kind::state:
      return "never entered";
    case Kind::rule:
      return "never taken";
    case Kind::keep:
      return "never asked";
    case Kind::leave:
      return "never done";
    case Kind::wakes:
      return "never woken";
    case Kind::tell:
      return "never told";
    case Kind::ready:
      return "never found unmet";
  }
  return "";
}

}  // namespace

std::string coverage_count(const Coverage& coverage) {
  const Coverage::Totals all = coverage.all();
  const Coverage::Totals done = coverage.exercised();
  const bool complete = all.sum() == done.sum();
  const auto part = [&](std::size_t exercised, std::size_t count, const char* noun) {
    return complete ? counted(count, noun) : fmt::format("{} of {}", exercised, counted(count, noun));
  };
  const std::string states = part(done.states, all.states, "state");
  const std::string rules = part(done.rules, all.rules, "rule");
  const std::string text =
      all.lines == 0 ? fmt::format("{} and {}", rules, states)
                     : fmt::format("{}, {} and {}", rules, states, part(done.lines, all.lines, "other line"));
  return text + (complete ? ", all exercised" : " exercised");
}

std::string unexercised(const Coverage& coverage, const SourceSet& sources) {
  const std::vector<Covered>& items = coverage.items();
  // What stands only in states that were never entered follows from that, and is counted with the first.
  std::vector<std::size_t> follows(items.size());
  std::vector<bool> told(items.size());
  for (std::size_t n = 0; n < items.size(); ++n) {
    const std::vector<std::size_t>& in = items[n].stands_in;
    told[n] = items[n].times == 0;
    if (!told[n] || in.empty()) continue;
    if (std::any_of(in.begin(), in.end(), [&](std::size_t state) { return items[state].times != 0; }))
      continue;
    told[n] = false;
    ++follows[in.front()];
  }
  std::string text;
  for (std::size_t n = 0; n < items.size(); ++n) {
    if (!told[n]) continue;
    const Covered& item = items[n];
    const Position at = sources.position(item.span);
    text += fmt::format("  {}:{}:{}: {} {}", shown_safely(sources.name(item.span.file)), at.line, at.column,
                        what(item, sources), never(item.kind));
    if (follows[n] != 0) text += fmt::format(", nor its {}", counted(follows[n], "line"));
    text += '\n';
    if (item.kind == Kind::state) continue;
    text += fmt::format("      {}\n", words_of(sources.text(item.span), kColumns - 6));
  }
  return text;
}

std::string exercised(const Coverage& coverage, const SourceSet& sources) {
  std::string text;
  std::optional<FileId> file;
  for (const Covered& item : coverage.items()) {
    if (file != item.span.file) {
      text += fmt::format("{}{}\n   line   times\n", text.empty() ? "" : "\n",
                          shown_safely(sources.name(item.span.file)));
      file = item.span.file;
    }
    const std::string words = item.kind == Kind::state ? what(item, sources)
                              : item.kind == Kind::wakes
                                  ? fmt::format("{}: {}", what(item, sources), sources.text(item.span))
                              : item.kind == Kind::leave ? fmt::format("leave {}", sources.text(item.span))
                                                         : std::string(sources.text(item.span));
    text += fmt::format("{:>7} {:>7}  {}\n", sources.position(item.span).line, item.times,
                        words_of(words, kColumns - 17));
  }
  return text;
}

}  // namespace lw::report
