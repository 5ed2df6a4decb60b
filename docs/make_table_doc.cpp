// Writes the generated parts of docs/table.md from runtime/table.def: make_table_doc [--check] FILE.
//
// A part stands between `<!-- from table.def: WHAT -->` and `<!-- end -->`; the text around it is written by
// hand. Each row, list of kinds, and the lists of sections, limits and refusals must have its part, so that
// no line of table.def can be missing from the page. --check writes nothing and exits with 1 when the page is
// not what it would be.
#include <cstdio>
#include <cstring>
#include <fstream>
#include <iterator>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace {

struct Line {
  std::string part;  // "fields header", "input kinds", "limits"
  std::vector<std::string> cells;
};

std::string code(std::string text) { return text.empty() ? "" : "`" + text + "`"; }
std::string number(unsigned long n) { return std::to_string(n); }

std::vector<Line> lines() {
  std::vector<Line> all;
  unsigned place = 0;
#define LW_SECTION(name, sentence) all.push_back({"sections", {number(place++), code(#name), sentence}});
#include "runtime/table.def"
#define LW_FIELD(row, name, type, when, sentence) \
  all.push_back({"fields " #row, {code(#name), code(#type), when, sentence}});
#include "runtime/table.def"
#define LW_INPUT_KIND(name, value, sentence) \
  all.push_back({"input kinds", {number(value), code(#name), sentence}});
#define LW_LEVEL_KIND(name, value, sentence) \
  all.push_back({"level kinds", {number(value), code(#name), sentence}});
#define LW_OUTPUT_TEST(name, value, sentence) \
  all.push_back({"output tests", {number(value), code(#name), sentence}});
#define LW_RULE_KIND(name, value, sentence) \
  all.push_back({"rule kinds", {number(value), code(#name), sentence}});
#define LW_START_KIND(name, value, sentence) \
  all.push_back({"start kinds", {number(value), code(#name), sentence}});
#define LW_FACT_KIND(name, value, operands, sentence) \
  all.push_back({"fact kinds", {number(value), code(#name), operands, sentence}});
#define LW_ACTION(name, value, operands, sentence) \
  all.push_back({"actions", {number(value), code(#name), operands, sentence}});
#define LW_LIMIT(name, value, sentence) all.push_back({"limits", {code(#name), number(value), sentence}});
#define LW_REFUSAL(name, value, sentence) all.push_back({"refusals", {number(value), code(#name), sentence}});
#include "runtime/table.def"
  return all;
}

std::vector<std::string> heads(const std::string& part) {
  if (part.rfind("fields ", 0) == 0) return {"field", "type", "there", "says"};
  if (part == "sections") return {"", "section", "holds"};
  if (part == "limits") return {"limit", "most", "of"};
  if (part == "actions") return {"code", "action", "index; operands", "says"};
  if (part == "fact kinds") return {"code", "kind", "operands", "says"};
  return {"code", part == "refusals" ? "refusal" : part == "output tests" ? "test" : "kind", "says"};
}

std::string row(const std::vector<std::string>& cells) {
  std::string text = "|";
  for (const std::string& cell : cells) text += " " + cell + " |";
  return text + "\n";
}

std::string part_text(const std::vector<Line>& all, const std::string& part) {
  std::string text;
  for (const Line& line : all) {
    if (line.part != part) continue;
    if (text.empty()) {
      const std::vector<std::string> names = heads(part);
      text = row(names) + row(std::vector<std::string>(names.size(), "---"));
    }
    text += row(line.cells);
  }
  return text;
}

const std::string kBegin = "<!-- from table.def: ";
const std::string kEnd = "<!-- end -->\n";

/// The page with every part written anew; `why` is set when a part is unknown, open, missing or there twice.
std::string renewed(const std::string& page, std::string& why) {
  const std::vector<Line> all = lines();
  std::set<std::string> parts, seen;
  for (const Line& line : all) parts.insert(line.part);
  std::string text;
  std::size_t at = 0;
  for (;;) {
    const std::size_t begin = page.find(kBegin, at);
    if (begin == std::string::npos) break;
    const std::size_t name_end = page.find(" -->\n", begin);
    const std::size_t end = page.find(kEnd, begin);
    if (name_end == std::string::npos || end == std::string::npos) {
      why = "a part without its end";
      return page;
    }
    const std::string part = page.substr(begin + kBegin.size(), name_end - begin - kBegin.size());
    if (parts.count(part) == 0) why = "table.def has no \"" + part + "\"";
    if (!seen.insert(part).second) why = "\"" + part + "\" is there twice";
    text += page.substr(at, name_end + 5 - at) + part_text(all, part);
    at = end;
  }
  for (const std::string& part : parts)
    if (seen.count(part) == 0) why = "the page has no part \"" + part + "\"";
  return text + page.substr(at);
}

bool read(const char* path, std::string& text) {
  std::ifstream file(path, std::ios::binary);
  text.assign(std::istreambuf_iterator<char>(file), {});
  return static_cast<bool>(file);
}

}  // namespace

int main(int count, char** arguments) {
  const bool check = count == 3 && std::strcmp(arguments[1], "--check") == 0;
  if (count != 2 && !check) {
    std::fputs("usage: make_table_doc [--check] FILE\n", stderr);
    return 2;
  }
  const char* const path = arguments[count - 1];
  std::string page, why;
  if (!read(path, page)) {
    std::fprintf(stderr, "make_table_doc: %s cannot be read\n", path);
    return 2;
  }
  const std::string now = renewed(page, why);
  if (!why.empty()) {
    std::fprintf(stderr, "make_table_doc: %s: %s\n", path, why.c_str());
    return 1;
  }
  if (now == page) return 0;
  if (check) {
    std::fprintf(stderr, "make_table_doc: %s is not what runtime/table.def says; run make_table_doc %s\n",
                 path, path);
    return 1;
  }
  std::ofstream file(path, std::ios::binary);
  file << now;
  file.close();
  return file ? 0 : 2;
}
