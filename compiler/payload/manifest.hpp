// What a payload says of itself: one manifest a controller, one for the room.
//
// JSON with sorted keys and no dates or paths, so that the same room gives the same bytes. Each lists what
// stands beside it with size and SHA-256; the room's holds the SHA-256 of each controller's. Reading trusts
// nothing: a manifest that parses has only names of the shapes in names.hpp, each once, so it can never lead
// out of its folder. Tests: tests/unit/payload/manifest_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lw::payload {

inline constexpr std::uint64_t kLargestManifest = 4 * 1024 * 1024;  // bytes

/// What every manifest says of the room it belongs to. Identity: hexadecimal digits, that of the table (9.5).
struct Origin {
  std::string room, identity, language, tool;
};

struct ClipOf {
  std::string name;            // in the room's text
  std::int64_t length_ms = 0;  // as it plays
};

struct FileEntry {
  std::string file;
  std::uint64_t size = 0;  // bytes
  std::string sha256;
  std::optional<ClipOf> clip;
};

struct ControllerManifest {
  Origin origin;
  std::string controller, board;
  std::vector<FileEntry> files;  // all but the manifest, in the order of their names
};

struct FolderEntry {
  std::string folder, controller, board, manifest_sha256;
};

struct RoomManifest {
  Origin origin;
  std::vector<FolderEntry> controllers;  // in the order of the room
  std::vector<std::string> undecided;    // what the compiler could not decide about the room
};

/// Texts that are not UTF-8 lose their wrong bytes to U+FFFD.
std::string to_json(const ControllerManifest& manifest);
std::string to_json(const RoomManifest& manifest);

/// Nothing, and in `why` the end of a sentence that begins with the manifest's name, for any other text.
std::optional<ControllerManifest> parse_controller_manifest(std::string_view text, std::string& why);
std::optional<RoomManifest> parse_room_manifest(std::string_view text, std::string& why);

}  // namespace lw::payload
