#include "byte_file.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <optional>
#include <sstream>
#include <stdexcept>

#include "table/bytes.hpp"

namespace lw::testing {
namespace {

struct HeaderField {
  const char* name;
  std::size_t at;
  std::vector<std::uint8_t> bytes;  // of the least table
};
const HeaderField kHeader[] = {
    {"magic", 0, {'L', 'W', 'T'}}, {"version", 3, {1}},
    {"size", 4, {0, 0}},           {"scan_ms", 6, {10, 0}},
    {"arena", 8, {16, 0}},         {"controller", 10, {0}},
    {"controllers", 11, {1}},      {"identity", 12, {0, 0, 0, 0, 0, 0, 0, 0}},
    {"crc", 20, {0, 0, 0, 0}},
};
const std::map<std::string, std::string> kSections = {
    {"outputs", "00 00"},    {"bodies", ""},    {"actions", ""}, {"link", "00 00 00 00 00 00 00"},
    {"session", "01 00 00"}, {"words", "00 00"}};

using Texts = std::map<std::string, std::string>;

/// `(00 01)*2` as `00 01 00 01`.
std::string repeated(std::string text) {
  for (std::size_t open; (open = text.find('(')) != std::string::npos;) {
    const std::size_t close = text.find(")*", open);
    std::size_t digits = 0;
    const int times = std::stoi(text.substr(close + 2), &digits);
    std::string all;
    for (int n = 0; n < times; ++n) all += text.substr(open + 1, close - open - 1) + " ";
    text.replace(open, close + 2 + digits - open, all);
  }
  return text;
}

/// Hex to bytes, of the left or the right side of each bracket; where the caret stands,
/// else the first bracket.
std::vector<std::uint8_t> bytes_of(const std::string& text, bool right, std::optional<std::size_t>& bracket) {
  const std::string plain = repeated(text);
  std::vector<std::uint8_t> bytes;
  std::optional<std::size_t> caret;
  int side = 0;  // 1 left of the bar, 2 right of it
  for (std::size_t n = 0; n < plain.size(); ++n) {
    const char c = plain[n];
    if (c == ' ') continue;
    if (c == '^') {
      caret = bytes.size();
    } else if (c == '[') {
      side = 1;
      if (!bracket) bracket = bytes.size();
    } else if (c == '|') {
      side = 2;
    } else if (c == ']') {
      side = 0;
    } else {
      std::size_t used = 0;
      const int byte = std::stoi(plain.substr(n, 2), &used, 16);
      if (used != 2) throw std::runtime_error("not two digits of hex: " + plain.substr(n, 2));
      if (side == 0 || (side == 2) == right) bytes.push_back(static_cast<std::uint8_t>(byte));
      ++n;
    }
  }
  if (caret) bracket = caret;
  return bytes;
}

/// `[bad|=]` and `=`: the side's text, or nothing when it is to be worked out.
std::optional<std::string> given(const Texts& texts, const std::string& name, bool right) {
  const auto found = texts.find(name);
  if (found == texts.end()) return std::nullopt;
  const std::string& text = found->second;
  const std::size_t worked_out = text.find("|=]");
  if (worked_out == std::string::npos) return text;
  if (right) return std::nullopt;
  return text.substr(0, worked_out) + "|]";
}

std::vector<std::uint8_t> table_of(const Texts& texts, bool right, std::optional<std::size_t>& at) {
  std::vector<std::uint8_t> bytes(format::kHeaderSize);
  const auto put = [&](std::size_t place, const std::vector<std::uint8_t>& what) {
    std::copy(what.begin(), what.end(), bytes.begin() + static_cast<std::ptrdiff_t>(place));
  };
  const auto note = [&](std::size_t from, const std::string& text, const std::optional<std::size_t>& place) {
    if (place && (!at || text.find('^') != std::string::npos)) at = from + *place;
  };
  const auto u16 = [](std::size_t n) {
    return std::vector<std::uint8_t>{static_cast<std::uint8_t>(n), static_cast<std::uint8_t>(n >> 8)};
  };
  for (std::size_t n = 0; n < format::kSectionCount; ++n) {
    const std::string name(format::kSections[n].name);
    const auto least = kSections.find(name);
    const auto found = texts.find(name);
    std::optional<std::size_t> bracket;
    const std::string& text = found != texts.end()       ? found->second
                              : least != kSections.end() ? least->second
                                                         : "00";
    const std::vector<std::uint8_t> section = bytes_of(text, right, bracket);
    note(bytes.size(), text, bracket);
    bytes.insert(bytes.end(), section.begin(), section.end());
    std::optional<std::size_t> of_length;
    const std::optional<std::string> length = given(texts, "length of " + name, right);
    put(24 + 2 * n, length ? bytes_of(*length, right, of_length) : u16(section.size()));
    note(24 + 2 * n, length.value_or(""), of_length);
  }
  bool crc = false;
  for (const HeaderField& field : kHeader) {
    const std::optional<std::string> text = given(texts, field.name, right);
    std::optional<std::size_t> bracket;
    if (text)
      put(field.at, bytes_of(*text, right, bracket));
    else
      put(field.at, std::string(field.name) == "size" ? u16(bytes.size()) : field.bytes);
    note(field.at, text.value_or(""), bracket);
    crc = crc || (text && std::string(field.name) == "crc");
  }
  if (!crc) set_crc(bytes);
  return bytes;
}

}  // namespace

ByteFile read_byte_file(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error(path + ": cannot be read");
  ByteFile result;
  Texts texts;
  std::string last;
  std::optional<std::size_t> at, first;
  try {
    for (std::string line; std::getline(file, line);) {
      if (line.rfind("#: ", 0) == 0) {
        std::istringstream words(line.substr(3));
        std::string what, value;
        words >> what >> value;
        if (what == "refused")
          result.refused = value;
        else if (what == "at")
          at = std::stoul(value);
        else if (what == "first")
          first = std::stoul(value);
        else
          throw std::runtime_error("no such directive: " + line);
        continue;
      }
      line = line.substr(0, line.find('#'));
      line.erase(line.find_last_not_of(' ') + 1);
      if (line.empty()) continue;
      const std::size_t colon = line.find(':');
      if (colon != std::string::npos) {
        last = line.substr(0, colon);
        if (!texts.emplace(last, line.substr(colon + 1)).second) throw std::runtime_error("twice: " + last);
      } else {
        texts.at(last) += " " + line;
      }
    }
    for (const auto& text : texts) {
      const bool known =
          std::any_of(std::begin(format::kSections), std::end(format::kSections),
                      [&](const format::SectionInfo& s) {
                        return text.first == s.name || text.first == "length of " + std::string(s.name);
                      }) ||
          std::any_of(std::begin(kHeader), std::end(kHeader),
                      [&](const HeaderField& f) { return text.first == f.name; });
      if (!known) throw std::runtime_error("no field or section " + text.first);
    }
    std::optional<std::size_t> bracket, ignored;
    result.bad = table_of(texts, false, bracket);
    result.right = table_of(texts, true, ignored);
    if (first) result.bad.resize(*first);
    if (!at && !bracket) throw std::runtime_error("nothing says where it is wrong");
    result.at = static_cast<std::uint32_t>(at ? *at : *bracket);
    if (result.refused.empty()) throw std::runtime_error("nothing says why it is refused");
  } catch (const std::exception& error) {
    throw std::runtime_error(path + ": " + error.what());
  }
  return result;
}

std::vector<std::string> files_in(const std::string& folder, const std::string& prefix) {
  std::vector<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    if (entry.path().filename().string().rfind(prefix, 0) == 0)
      names.push_back(entry.path().filename().string());
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace lw::testing
