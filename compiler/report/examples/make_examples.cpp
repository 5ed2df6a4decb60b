// Writes the examples of `latchwork explain` as C++: make_examples FINDINGS CASES OUT.
//
// FINDINGS is compiler/text/findings.def, of which the families and the order are taken; CASES is
// tests/cases. Of each code the pair CODE-slug.latch and ok-CODE-slug.latch is taken whose twin expects no
// finding at all, the one of the fewest lines, then bytes, then by name. A code without such a pair has an
// empty example; tests/codes.py and tests/explain.py say whether it may. A script of CMake's own was
// rejected: it splits text at semicolons.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <optional>
#include <set>
#include <sstream>
#include <string>
#include <tuple>
#include <vector>

namespace {

namespace fs = std::filesystem;

std::string read(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

bool begins(const std::string& text, const std::string& with) { return text.rfind(with, 0) == 0; }

struct Room {
  std::string text;  // without directives and expected output
  std::size_t lines = 0;
  bool clean = false;  // expects no finding
};

Room room_of(const fs::path& path) {
  Room room;
  std::string blank;
  for (const std::string& line : lines_of(read(path))) {
    if (line == "#: output") break;
    if (line == "#: expects nothing") room.clean = true;
    if (begins(line, "#:")) continue;
    if (line.empty()) {
      blank += '\n';
      continue;
    }
    room.text += (room.text.empty() ? "" : blank) + line + '\n';
    blank.clear();
    ++room.lines;
  }
  return room;
}

// Of all files of the cases: those of one code, shortest first.
struct Pair {
  Room bad, good;
  fs::path path;
};

std::optional<Pair> shortest(const std::vector<fs::path>& cases, const std::string& code) {
  std::optional<Pair> best;
  for (const fs::path& path : cases) {
    if (!begins(path.filename().string(), code + "-")) continue;
    const fs::path twin = path.parent_path() / ("ok-" + path.filename().string());
    if (!fs::exists(twin)) continue;
    Pair pair{room_of(path), room_of(twin), path};
    if (!pair.good.clean) continue;
    const auto key = [](const Pair& of) {
      return std::make_tuple(of.bad.lines, of.bad.text.size(), of.path.string());
    };
    if (!best || key(pair) < key(*best)) best = std::move(pair);
  }
  return best;
}

// The files that a text uses, by the paths as the example would name them; what is not there is left out.
void add_used(const fs::path& folder, const fs::path& shown, const std::string& text, const fs::path& self,
              std::map<std::string, std::string>& used) {
  for (const std::string& line : lines_of(text)) {
    if (!begins(line, "use \"")) continue;
    const std::string path = line.substr(5, line.find('"', 5) - 5);
    const fs::path file = folder / path;
    if (!fs::is_regular_file(file) || fs::equivalent(file, self)) continue;
    const std::string name = (shown / path).lexically_normal().generic_string();
    if (!used.emplace(name, read(file)).second) continue;
    add_used(file.parent_path(), (shown / path).parent_path(), read(file), self, used);
  }
}

std::string literal(const std::string& text) {
  if (text.empty()) return "{}";
  std::string out = "{";
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size() - 1) + 1;
    out += "\n        \"";
    for (std::size_t at = begin; at < end; ++at) {
      const auto byte = static_cast<unsigned char>(text[at]);
      if (byte >= ' ' && byte < 127 && byte != '"' && byte != '\\' && byte != '?') {
        out += text[at];
      } else {
        char octal[8];
        std::snprintf(octal, sizeof octal, "\\%03o", byte);
        out += octal;
      }
    }
    out += '"';
    begin = end;
  }
  return out + ", " + std::to_string(text.size()) + '}';
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) {
    std::fprintf(stderr, "usage: make_examples FINDINGS CASES OUT\n");
    return 2;
  }
  std::vector<fs::path> cases;
  for (const auto& entry : fs::recursive_directory_iterator(argv[2]))
    if (entry.path().extension() == ".latch") cases.push_back(entry.path());
  std::sort(cases.begin(), cases.end());

  std::string examples, family;
  std::map<std::string, std::string> used;
  std::size_t count = 0;
  for (const std::string& line : lines_of(read(argv[1]))) {
    if (begins(line, "// ---- ")) family = line.substr(8, line.find_first_of(",-", 8) - 8);
    while (!family.empty() && family.back() == ' ') family.pop_back();
    if (!begins(line, "LW_FINDING(")) continue;
    const std::string code = line.substr(11, line.find(',') - 11);
    const std::optional<Pair> pair = shortest(cases, code);
    std::map<std::string, std::string> own;
    if (pair) {
      const fs::path folder = pair->path.parent_path();
      const fs::path twin = folder / ("ok-" + pair->path.filename().string());
      add_used(folder, "", pair->bad.text, pair->path, own);
      add_used(folder, "", pair->good.text, twin, own);
    }
    std::string uses;
    for (const auto& [path, text] : own) uses += path + '\n';
    used.insert(own.begin(), own.end());
    examples += "    {" + literal(code) + ", " + literal(family) + ",\n     " +
                literal(pair ? pair->bad.text : "") + ",\n     " + literal(pair ? pair->good.text : "") +
                ",\n     " + literal(uses) + "},\n";
    ++count;
  }
  std::ostringstream out;
  out << "// Written by make_examples from findings.def and tests/cases.\n#include "
         "\"report/examples.hpp\"\n\n"
      << "namespace lw::report {\n\nconst Example kExamples[] = {\n"
      << examples << "};\nconst std::size_t kExampleCount = " << count
      << ";\n\nconst UsedFile kUsedFiles[] = {\n";
  for (const auto& [path, text] : used)
    out << "    {" << literal(path) << ",\n     " << literal(text) << "},\n";
  out << "};\nconst std::size_t kUsedFileCount = " << used.size() << ";\n\n}  // namespace lw::report\n";
  std::ofstream file(argv[3], std::ios::binary);
  file << out.str();
  file.close();
  if (!file || count == 0 || used.empty()) {
    std::fprintf(stderr, "make_examples: %s\n", count == 0 ? "no findings there" : "could not be written");
    return 1;
  }
  return 0;
}
