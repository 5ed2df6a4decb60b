// Findings explained: see explain.hpp.
#include "report/explain.hpp"

#include <algorithm>
#include <cassert>
#include <string_view>
#include <vector>

#include "report/examples.hpp"
#include "report/prose.hpp"
#include "text/source.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

struct Unfired {
  std::string_view code;
  const char* reason;
};
constexpr Unfired kUnfired[] = {
#define LW_FINDING(name, severity, title, explanation)
#define LW_UNFIRED(name, reason) {#name, reason},
#include "text/findings.def"
#undef LW_FINDING
};

const Example& example_of(Code code) {
  const Example& example = kExamples[static_cast<std::size_t>(code)];
  assert(kExampleCount == code_count() && example.code == code_name(code));
  return example;
}

std::string why_unfired(Code code) {
  for (const Unfired& unfired : kUnfired)
    if (unfired.code == code_name(code))
      return std::string("No room can show it in this version: ") + unfired.reason + '.';
  return {};
}

std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size() - 1);
    lines.push_back(text.substr(0, text[end] == '\n' ? end : end + 1));
    text.remove_prefix(end + 1);
  }
  return lines;
}

// Which lines of `text` are not those of `other`: all but a longest common part of both, in order.
std::vector<bool> changed(const std::vector<std::string_view>& text,
                          const std::vector<std::string_view>& other) {
  // common[i][j]: lines that text from i and other from j have in common.
  std::vector<std::vector<std::size_t>> common(text.size() + 1,
                                               std::vector<std::size_t>(other.size() + 1, 0));
  for (std::size_t i = text.size(); i-- > 0;)
    for (std::size_t j = other.size(); j-- > 0;)
      common[i][j] =
          text[i] == other[j] ? common[i + 1][j + 1] + 1 : std::max(common[i + 1][j], common[i][j + 1]);
  std::vector<bool> marked(text.size(), true);
  for (std::size_t i = 0, j = 0; i < text.size() && j < other.size();) {
    if (text[i] == other[j]) {
      marked[i] = false;
      ++i, ++j;
    } else {
      common[i + 1][j] >= common[i][j + 1] ? ++i : ++j;
    }
  }
  return marked;
}

std::string shown_room(std::string_view room, std::string_view other) {
  const std::vector<std::string_view> lines = lines_of(room);
  const std::vector<bool> marked = changed(lines, lines_of(other));
  std::string text;
  for (std::size_t n = 0; n < lines.size(); ++n) {
    std::string row = (marked[n] ? "  > " : "    ") + shown_safely(lines[n]);
    if (lines[n].empty()) row = marked[n] ? "  >" : "";
    text += row + '\n';
  }
  return text;
}

std::string_view used_text(std::string_view path) {
  for (std::size_t n = 0; n < kUsedFileCount; ++n)
    if (kUsedFiles[n].path == path) return kUsedFiles[n].text;
  return {};
}

// Families in the order in which they first appear, with their codes in the list's order.
struct Family {
  std::string_view name;
  std::vector<Code> codes;
};
std::vector<Family> families() {
  std::vector<Family> list;
  for (std::size_t n = 0; n < code_count(); ++n) {
    const auto code = static_cast<Code>(n);
    const std::string_view name = example_of(code).family;
    auto found = std::find_if(list.begin(), list.end(), [&](const Family& f) { return f.name == name; });
    if (found == list.end()) found = list.insert(list.end(), Family{name, {}});
    found->codes.push_back(code);
  }
  return list;
}

std::string fenced(std::string_view room) {
  std::string text = "```latch\n";
  for (const std::string_view line : lines_of(room)) text += shown_safely(line) + '\n';
  return text + "```\n";
}

}  // namespace

std::string explanation(Code code, std::size_t width) {
  const Example& example = example_of(code);
  std::string text = std::string(code_name(code)) + "  " + severity_name(usual_severity(code)) + ": " +
                     code_title(code) + "\n\n";
  text += paragraph(code_explanation(code), 2, width);
  if (example.bad.empty()) return text + '\n' + paragraph(why_unfired(code), 2, width);
  text += "\nA room with it:\n\n" + shown_room(example.bad, example.good);
  text += "\nThe same without it:\n\n" + shown_room(example.good, example.bad);
  for (const std::string_view path : lines_of(example.uses))
    text += "\nIn \"" + std::string(path) + "\":\n\n" + shown_room(used_text(path), used_text(path));
  return text;
}

std::string explanation_list(std::size_t width) {
  std::size_t longest = 0;
  for (std::size_t n = 0; n < code_count(); ++n)
    longest = std::max(longest, std::string_view(code_name(static_cast<Code>(n))).size());
  std::string text;
  for (const Family& family : families()) {
    text += (text.empty() ? "" : "\n") + std::string(family.name) + '\n';
    for (const Code code : family.codes) {
      const std::string_view name = code_name(code);
      const std::string severity = severity_name(usual_severity(code));
      text += "  " + std::string(name) + std::string(longest - name.size() + 2, ' ') + severity +
              std::string(9 - severity.size(), ' ');
      const std::vector<std::string> title =
          wrapped(code_title(code), std::max<std::size_t>(width, 60) - longest - 13);
      for (std::size_t n = 0; n < title.size(); ++n)
        text += (n == 0 ? "" : std::string(longest + 13, ' ')) + title[n] + '\n';
    }
  }
  return text;
}

std::string explanations_page() {
  std::string page =
      "# Findings\n\n"
      "Written by `latchwork explain --markdown`; `latchwork explain CODE` says the same of one. The words "
      "stand in\n"
      "compiler/text/findings.def. The rooms are cases that the tests run: the first of each pair has the "
      "finding, the\n"
      "second, one edit away, has none. The files that they use stand [at the "
      "end](#the-files-that-the-examples-use).\n"
      "Bytes that would not show are written out, as `<B1>`.\n";
  for (const Family& family : families()) {
    page += "\n## Of " + std::string(family.name) + "\n\n| code | | |\n| --- | --- | --- |\n";
    for (const Code code : family.codes) {
      const std::string name = code_name(code);
      page += "| [`" + name + "`](#" + name + ") | " + severity_name(usual_severity(code)) + " | " +
              code_title(code) + " |\n";
    }
    for (const Code code : family.codes) {
      const Example& example = example_of(code);
      page += "\n### " + std::string(code_name(code)) + "\n\n*" + severity_name(usual_severity(code)) +
              "*: " + code_title(code) + "\n\n";
      for (const std::string& line : wrapped(code_explanation(code), 120)) page += line + '\n';
      if (example.bad.empty()) {
        page += '\n';
        for (const std::string& line : wrapped(why_unfired(code), 120)) page += line + '\n';
        continue;
      }
      page += '\n' + fenced(example.bad) + "\nWithout it:\n\n" + fenced(example.good);
    }
  }
  page += "\n## The files that the examples use\n";
  for (std::size_t n = 0; n < kUsedFileCount; ++n)
    page += "\n`" + std::string(kUsedFiles[n].path) + "`:\n\n" + fenced(kUsedFiles[n].text);
  return page;
}

}  // namespace lw::report
