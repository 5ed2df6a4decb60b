// See coverage.hpp.
#include "report/coverage.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "text/utf8.hpp"

namespace lw::report {
namespace {

using Kind = Covered::Kind;

constexpr std::size_t kMostColumns = 72;  // of a line's words

/// The line as it is written, on one line, without its comments, cut where it is long.
std::string words_of(std::string_view text) {
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
  if (display_width(words) <= kMostColumns) return shown_safely(words);
  std::size_t end = 0, columns = 0;
  while (end < words.size()) {
    const CodePoint point = code_point_at(words, end);
    columns += static_cast<std::size_t>(code_point_width(point.value));
    if (columns >= kMostColumns) break;
    end += point.size;
  }
  return shown_safely(words.substr(0, end)) + "…";
}

std::string where(const Covered& item) {
  std::string text = fmt::format("`{}`", item.of.front());
  if (item.of.size() > 1) text += fmt::format(" and {} more", item.of.size() - 1);
  return text;
}

std::string row(const Covered& item, const SourceSet& sources) {
  const Position at = sources.position(item.span);
  std::string text =
      fmt::format("{}:{}:{}: ", shown_safely(sources.name(item.span.file)), at.line, at.column);
  const std::string words = words_of(sources.text(item.span));
  if (item.kind == Kind::state)
    text += fmt::format("state `{}` of {}", words, where(item));
  else if (item.kind == Kind::wakes)
    text += fmt::format("the chain wakes {}: `{}`", where(item), words);
  else if (item.kind == Kind::leave)
    text += fmt::format("leaving {}: `{}`", where(item), words);
  else
    text += fmt::format("in {}: `{}`", where(item), words);
  return text;
}

const char* never(Kind kind) {
  switch (kind) {
    case Kind::state:
      return " was never entered";
    case Kind::rule:
      return " was never taken";
    case Kind::keep:
      return " never asked";
    case Kind::leave:
    case Kind::wakes:
      return " never happened";
    case Kind::tell:
      return " was never told";
    case Kind::ready:
      return " was never found unmet";
  }
  return "";
}

std::string counted(std::size_t count, const char* noun) {
  return fmt::format("{} {}{}", count, noun, count == 1 ? "" : "s");
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
    text += fmt::format("  {}{}", row(items[n], sources), never(items[n].kind));
    if (follows[n] != 0) text += fmt::format(", nor its {}", counted(follows[n], "line"));
    text += '\n';
  }
  return text;
}

std::string exercised(const Coverage& coverage, const SourceSet& sources) {
  std::uint64_t most = 0;
  for (const Covered& item : coverage.items()) most = std::max(most, item.times);
  const std::size_t width = std::max<std::size_t>(std::to_string(most).size(), 5);
  std::string text = fmt::format("  {:>{}}  what\n", "times", width);
  for (const Covered& item : coverage.items())
    text += fmt::format("  {:>{}}  {}\n", item.times, width, row(item, sources));
  return text;
}

}  // namespace lw::report
