// The symbol file: one JSON object, keys in a fixed order, a row a line so that two builds can be compared by
// eye.
//
// A name with its place is ["name", file, line]. The keys stand once, in visitors that the writer and the
// reader share. A file may come from anywhere (a memory card): it is measured before it is parsed, and every
// value's kind is looked at before its use; nothing here throws. Tests: tests/unit/table/symbols_test.cpp.
#include "table/symbols.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace lw {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kMostBytes = 16u << 20;
constexpr int kMostDepth = 8;
constexpr const char* kKind = "latchwork_symbols";
constexpr int kVersion = 1;

template <class A>
void fields(A& a, BodySymbols& s) {
  a("body", s.body);
  a("rules", s.rules);
  a("keeps", s.keeps);
}
template <class A>
void fields(A& a, InputSymbols& s) {
  a("input", s.input);
  a("values", s.values);
}
template <class A>
void fields(A& a, OutputSymbols& s) {
  a("output", s.output);
  a("kind", s.kind);
  a("off", s.off_word);
  a("on", s.on_word);
}
template <class A>
void fields(A& a, PropSymbols& s) {
  a("prop", s.prop);
  a("states", s.states);
}
template <class A>
void fields(A& a, Symbols& s) {
  a("room", s.room);
  a("controller", s.controller);
  a("board", s.board);
  a("tool_version", s.tool_version);
  a("files", s.files);
  a("controllers", s.controllers);
  a("inputs", s.inputs);
  a("tags", s.tags);
  a("clips", s.clips);
  a("timers", s.timers);
  a("counters", s.counters);
  a("sequences", s.sequences);
  a("drives", s.drives);
  a("tails", s.tails);
  a("cues", s.cues);
  a("readies", s.readies);
  a("tells", s.tells);
  a("outputs", s.outputs);
  a("facts", s.facts);
  a("props", s.props);
  a("bodies", s.bodies);
  a("own_bits", s.own_bits);
}

struct Writer {
  Json json = Json::object();

  template <class T>
  void operator()(const char* key, T& value) {
    json[key] = made(value);
  }

 private:
  static Json made(std::string& text) { return text; }
  static Json made(Symbol& s) { return Json::array({s.name, s.file, s.line}); }
  template <class T>
  static Json made(std::vector<T>& all) {
    Json array = Json::array();
    for (T& one : all) array.push_back(made(one));
    return array;
  }
  template <class T>
  static Json made(T& record) {
    Writer inner;
    fields(inner, record);
    return inner.json;
  }
};

class Reader {
 public:
  Reader(const Json& json, std::string path, std::string& why)
      : json_(json), path_(std::move(path)), why_(why) {}

  template <class T>
  void operator()(const char* key, T& value) {
    if (!why_.empty()) return;
    const std::string path = path_.empty() ? key : path_ + "." + key;
    const auto found = json_.find(key);
    if (found == json_.end())
      why_ = fmt::format("`{}` is missing", path);
    else
      read(*found, path, value);
  }

 private:
  const Json& json_;
  std::string path_;
  std::string& why_;

  bool need(bool holds, const std::string& path, const char* what) {
    if (!holds && why_.empty()) why_ = fmt::format("`{}` is not {}", path, what);
    return holds;
  }
  void read(const Json& json, const std::string& path, std::string& text) {
    if (need(json.is_string(), path, "text")) text = json.get_ref<const std::string&>();
  }
  void read(const Json& json, const std::string& path, Symbol& s) {
    if (!need(json.is_array() && json.size() == 3, path, "a name, a file and a line")) return;
    read(json[0], path + "[0]", s.name);
    s.file = static_cast<std::uint16_t>(number(json[1], path + "[1]", 0xFFFF));
    s.line = static_cast<std::uint32_t>(number(json[2], path + "[2]", 0xFFFFFFFF));
  }
  std::uint64_t number(const Json& json, const std::string& path, std::uint64_t most) {
    const bool right = json.is_number_unsigned() && json.get<std::uint64_t>() <= most;
    return need(right, path, "a whole number in range") ? json.get<std::uint64_t>() : 0;
  }
  template <class T>
  void read(const Json& json, const std::string& path, std::vector<T>& all) {
    if (!need(json.is_array(), path, "a list")) return;
    for (std::size_t n = 0; n < json.size() && why_.empty(); ++n) {
      all.emplace_back();
      read(json[n], fmt::format("{}[{}]", path, n), all.back());
    }
  }
  template <class T>
  void read(const Json& json, const std::string& path, T& record) {
    if (!need(json.is_object(), path, "an object")) return;
    Reader inner(json, path, why_);
    fields(inner, record);
  }
};

std::string dump(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

/// Whether brackets outside of text nest no deeper than a symbol file's.
bool shallow(const std::string& text) {
  int depth = 0;
  bool in_text = false;
  for (std::size_t n = 0; n < text.size(); ++n) {
    const char c = text[n];
    if (in_text) {
      if (c == '\\') ++n;
      if (c == '"') in_text = false;
    } else if (c == '"') {
      in_text = true;
    } else if (c == '[' || c == '{') {
      if (++depth > kMostDepth) return false;
    } else if (c == ']' || c == '}') {
      --depth;
    }
  }
  return true;
}

/// A symbol's file must be one of the files; any number is right where there is no line.
struct FileCheck {
  std::size_t files;
  bool right = true;

  template <class T>
  void operator()(const char*, T& value) {
    look(value);
  }
  void look(std::string&) {}
  void look(Symbol& s) { right = right && (s.file < files || s.line == 0); }
  template <class T>
  void look(std::vector<T>& all) {
    for (T& one : all) look(one);
  }
  template <class T>
  void look(T& record) {
    fields(*this, record);
  }
};

}  // namespace

std::string symbols_to_json(const Symbols& symbols) {
  Symbols copy = symbols;
  Writer writer;
  fields(writer, copy);
  std::string text = fmt::format("{{\n\"{}\": {}", kKind, kVersion);
  for (const auto& [key, value] : writer.json.items()) {
    text += fmt::format(",\n\"{}\": ", key);
    if (!value.is_array() || value.empty()) {
      text += dump(value);
      continue;
    }
    const char* before = "[\n  ";
    for (const Json& row : value) {
      text += before + dump(row);
      before = ",\n  ";
    }
    text += "\n]";
  }
  return text + "\n}\n";
}

bool symbols_from_json(const std::string& text, Symbols& symbols, std::string& why) {
  why.clear();
  Json json;
  if (text.size() > kMostBytes)
    why = "it is larger than any symbol file";
  else if (!shallow(text))
    why = "its brackets nest deeper than a symbol file's";
  else if (json = Json::parse(text, nullptr, false); !json.is_object() || !json.contains(kKind))
    why = "this is not a symbol file";
  else if (json[kKind] != kVersion)
    why = "it is of a version that this tool does not know";
  if (!why.empty()) return false;
  Symbols read;
  Reader reader(json, "", why);
  fields(reader, read);
  if (!why.empty()) return false;
  FileCheck check{read.files.size()};
  fields(check, read);
  if (!check.right) {
    why = "a name's file is not in the list of files";
    return false;
  }
  symbols = std::move(read);
  return true;
}

}  // namespace lw
