// Manifests to JSON and back. See manifest.hpp; tests/unit/payload/manifest_test.cpp.
#include "payload/manifest.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "payload/names.hpp"

namespace lw::payload {
namespace {

using Json = nlohmann::json;

constexpr char kControllerKind[] = "latchwork controller";
constexpr char kRoomKind[] = "latchwork room";
constexpr std::uint64_t kVersion = 1;

std::string written(const Json& json) {
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

Json start(const char* kind, const Origin& origin) {
  return {{"kind", kind},
          {"version", kVersion},
          {"room", origin.room},
          {"identity", origin.identity},
          {"language", origin.language},
          {"tool", origin.tool}};
}

bool is_hex(std::string_view text) {
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
}

/// Takes values out of one JSON object; the first that is not as it should be fails the whole.
class Reader {
 public:
  Reader(const Json& json, std::string& why) : json_(json), why_(why) {}

  bool text(const char* key, std::string& out) {
    const Json* value = find(key);
    if (value == nullptr) return false;
    if (!value->is_string()) return wrong(key, "is not a text");
    out = value->get<std::string>();
    return true;
  }
  bool sha256(const char* key, std::string& out) {
    if (!text(key, out)) return false;
    return (out.size() == 64 && is_hex(out)) || wrong(key, "is not a SHA-256 of 64 small hexadecimal digits");
  }
  bool number(const char* key, std::uint64_t& out) {
    const Json* value = find(key);
    if (value == nullptr) return false;
    if (!value->is_number_unsigned()) return wrong(key, "is not a whole number from 0");
    out = value->get<std::uint64_t>();
    return true;
  }
  const Json* list(const char* key) {
    const Json* value = find(key);
    if (value == nullptr || value->is_array()) return value;
    wrong(key, "is not a list");
    return nullptr;
  }
  bool has(const char* key) const { return json_.contains(key); }
  bool wrong(const char* key, const std::string& what) {
    why_ = std::string("is not a manifest of a payload: `") + key + "` " + what;
    return false;
  }

 private:
  const Json* find(const char* key) {
    if (!json_.is_object()) {
      why_ = "is not a manifest of a payload: an object is missing";
      return nullptr;
    }
    const auto found = json_.find(key);
    if (found == json_.end()) {
      wrong(key, "is missing");
      return nullptr;
    }
    return &*found;
  }

  const Json& json_;
  std::string& why_;
};

/// The one place where the library's exception is caught.
std::optional<Json> parse_json(std::string_view text, std::string& why) {
  if (text.size() > kLargestManifest) {
    why = "is too large to be a manifest";
    return std::nullopt;
  }
  std::size_t bad = text.find('\0');  // which the library would take for the end
  if (bad == std::string_view::npos) {
    try {
      return Json::parse(text);
    } catch (const Json::parse_error& error) {
      bad = error.byte - 1;  // it counts from 1
    }
  }
  why = "is cut short or damaged: it is no JSON from byte " + std::to_string(bad + 1) + " on";
  return std::nullopt;
}

bool read_start(Reader& reader, const char* kind, Origin& origin) {
  std::string found;
  std::uint64_t version = 0;
  if (!reader.text("kind", found)) return false;
  if (found != kind) return reader.wrong("kind", std::string("is not \"") + kind + "\"");
  if (!reader.number("version", version)) return false;
  if (version != kVersion) {
    return reader.wrong(
        "version", "is " + std::to_string(version) + ", and this tool reads " + std::to_string(kVersion));
  }
  if (!reader.text("room", origin.room) || !reader.text("identity", origin.identity) ||
      !reader.text("language", origin.language) || !reader.text("tool", origin.tool)) {
    return false;
  }
  const bool identity = !origin.identity.empty() && origin.identity.size() <= 64 && is_hex(origin.identity);
  return identity || reader.wrong("identity", "is not made of hexadecimal digits");
}

bool read_file(Reader reader, FileEntry& entry) {
  if (!reader.text("file", entry.file) || !reader.number("size", entry.size) ||
      !reader.sha256("sha256", entry.sha256)) {
    return false;
  }
  if (!is_card_file_name(entry.file) || entry.file == kManifestFile) {
    return reader.wrong("file", "is a name that no payload has");
  }
  if (!reader.has("clip")) return true;
  entry.clip.emplace();
  std::uint64_t length_ms = 0;
  if (!reader.text("clip", entry.clip->name) || !reader.number("length_ms", length_ms)) return false;
  entry.clip->length_ms = static_cast<std::int64_t>(length_ms);
  return entry.clip->length_ms >= 0 || reader.wrong("length_ms", "is beyond all bounds");
}

bool read_folder(Reader reader, FolderEntry& entry) {
  if (!reader.text("folder", entry.folder) || !reader.text("controller", entry.controller) ||
      !reader.text("board", entry.board) || !reader.sha256("manifest_sha256", entry.manifest_sha256)) {
    return false;
  }
  return is_folder_name(entry.folder) || reader.wrong("folder", "is a name that no payload has");
}

}  // namespace

std::string to_json(const ControllerManifest& manifest) {
  Json json = start(kControllerKind, manifest.origin);
  json["controller"] = manifest.controller;
  json["board"] = manifest.board;
  Json files = Json::array();
  for (const FileEntry& entry : manifest.files) {
    Json file = {{"file", entry.file}, {"size", entry.size}, {"sha256", entry.sha256}};
    if (entry.clip) {
      file["clip"] = entry.clip->name;
      file["length_ms"] = entry.clip->length_ms;
    }
    files.push_back(std::move(file));
  }
  json["files"] = std::move(files);
  return written(json);
}

std::string to_json(const RoomManifest& manifest) {
  Json json = start(kRoomKind, manifest.origin);
  Json controllers = Json::array();
  for (const FolderEntry& entry : manifest.controllers) {
    controllers.push_back({{"folder", entry.folder},
                           {"controller", entry.controller},
                           {"board", entry.board},
                           {"manifest_sha256", entry.manifest_sha256}});
  }
  json["controllers"] = std::move(controllers);
  json["undecided"] = manifest.undecided;
  return written(json);
}

std::optional<ControllerManifest> parse_controller_manifest(std::string_view text, std::string& why) {
  const auto json = parse_json(text, why);
  if (!json) return std::nullopt;
  Reader reader(*json, why);
  ControllerManifest manifest;
  if (!read_start(reader, kControllerKind, manifest.origin) ||
      !reader.text("controller", manifest.controller) || !reader.text("board", manifest.board)) {
    return std::nullopt;
  }
  const Json* files = reader.list("files");
  if (files == nullptr) return std::nullopt;
  std::set<std::string> names;
  for (const Json& file : *files) {
    FileEntry entry;
    if (!read_file(Reader(file, why), entry)) return std::nullopt;
    if (!names.insert(entry.file).second) {
      reader.wrong("files", "names " + entry.file + " twice");
      return std::nullopt;
    }
    manifest.files.push_back(std::move(entry));
  }
  for (const char* needed : {kTableFile, kSymbolFile}) {
    if (names.count(needed) == 0) {
      reader.wrong("files", std::string("does not name ") + needed);
      return std::nullopt;
    }
  }
  return manifest;
}

std::optional<RoomManifest> parse_room_manifest(std::string_view text, std::string& why) {
  const auto json = parse_json(text, why);
  if (!json) return std::nullopt;
  Reader reader(*json, why);
  RoomManifest manifest;
  if (!read_start(reader, kRoomKind, manifest.origin)) return std::nullopt;
  const Json* controllers = reader.list("controllers");
  if (controllers == nullptr) return std::nullopt;
  std::set<std::string> folders;
  for (const Json& controller : *controllers) {
    FolderEntry entry;
    if (!read_folder(Reader(controller, why), entry)) return std::nullopt;
    if (!folders.insert(fold_case(entry.folder)).second) {
      reader.wrong("controllers", "names " + entry.folder + " twice");
      return std::nullopt;
    }
    manifest.controllers.push_back(std::move(entry));
  }
  if (manifest.controllers.empty()) {
    reader.wrong("controllers", "is empty");
    return std::nullopt;
  }
  const Json* undecided = reader.list("undecided");
  if (undecided == nullptr) return std::nullopt;
  for (const Json& text_of : *undecided) {
    if (!text_of.is_string()) {
      reader.wrong("undecided", "holds something that is not a text");
      return std::nullopt;
    }
    manifest.undecided.push_back(text_of.get<std::string>());
  }
  return manifest;
}

}  // namespace lw::payload
