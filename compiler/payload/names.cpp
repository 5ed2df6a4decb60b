// Names of files and folders of a payload. See names.hpp; tests/unit/payload/names_test.cpp.
#include "payload/names.hpp"

#include <algorithm>
#include <cassert>
#include <set>

namespace lw::payload {
namespace {

bool is_capital(char c) { return c >= 'A' && c <= 'Z'; }
bool is_small(char c) { return c >= 'a' && c <= 'z'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Names that DOS and Windows keep for devices, with or without an extension.
bool is_device(std::string_view name) {
  const std::string stem = fold_case(name.substr(0, name.find('.')));
  if (stem == "CON" || stem == "PRN" || stem == "AUX" || stem == "NUL") return true;
  return stem.size() == 4 && (stem.substr(0, 3) == "COM" || stem.substr(0, 3) == "LPT") && is_digit(stem[3]);
}

bool folder_letter(char c) { return is_capital(c) || is_small(c) || is_digit(c) || c == '_' || c == '-'; }

std::string plain_folder_name(std::string_view controller) {
  std::string name(controller.substr(0, kLongestFolderName));
  for (char& c : name) {
    if (!folder_letter(c)) c = '_';
  }
  if (name.empty()) name = "controller";
  if (is_device(name)) name += "_";
  return name;
}

}  // namespace

std::string clip_file_name(std::size_t row, std::string_view kind) {
  assert(row < kMostClips);
  const std::string number = std::to_string(row + 1);
  std::string extension;
  for (const char c : fold_case(kind)) {
    if (extension.size() < 3 && (is_capital(c) || is_digit(c))) extension.push_back(c);
  }
  if (extension.empty()) extension = "SND";
  return "CLIP" + std::string(4 - number.size(), '0') + number + "." + extension;
}

bool is_card_file_name(std::string_view name) {
  if (name == kTableFile || name == kSymbolFile || name == kManifestFile) return true;
  if (name.size() < 10 || name.size() > 12 || name.substr(0, 4) != "CLIP" || name[8] != '.') return false;
  const std::string_view number = name.substr(4, 4), extension = name.substr(9);
  return std::all_of(number.begin(), number.end(), is_digit) && number != "0000" &&
         std::all_of(extension.begin(), extension.end(), [](char c) { return is_capital(c) || is_digit(c); });
}

bool is_folder_name(std::string_view name) {
  return !name.empty() && name.size() <= kLongestFolderName && !is_device(name) &&
         std::all_of(name.begin(), name.end(), folder_letter);
}

std::vector<std::string> folder_names(const std::vector<std::string>& controllers) {
  std::vector<std::string> names;
  std::set<std::string> taken;
  for (const std::string& controller : controllers) {
    const std::string wanted = plain_folder_name(controller);
    std::string name = wanted;
    for (std::size_t i = 2; taken.count(fold_case(name)) != 0; ++i) {
      const std::string suffix = "_" + std::to_string(i);
      name = wanted.substr(0, kLongestFolderName - suffix.size()) + suffix;
    }
    taken.insert(fold_case(name));
    names.push_back(name);
  }
  return names;
}

std::string fold_case(std::string_view name) {
  std::string out(name);
  for (char& c : out) {
    if (is_small(c)) c = static_cast<char>(c - 'a' + 'A');
  }
  return out;
}

bool is_housekeeping(std::string_view name) {
  const std::string folded = fold_case(name);
  for (const char* known : {"SYSTEM VOLUME INFORMATION", "$RECYCLE.BIN", "RECYCLER", "DESKTOP.INI",
                            "THUMBS.DB", "FOUND.000", "LOST.DIR", "LOST+FOUND", ".DS_STORE", ".TRASHES",
                            ".FSEVENTSD", ".SPOTLIGHT-V100", ".TEMPORARYITEMS", ".DIRECTORY"}) {
    if (folded == known) return true;
  }
  return folded.rfind("._", 0) == 0 || folded.rfind(".TRASH-", 0) == 0;
}

}  // namespace lw::payload
