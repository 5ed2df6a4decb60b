// Writes the payload of a whole room: a folder a controller, ready to be copied to its card, and the room's
// manifest.
//
//   OUT/ROOM.JSN              what folder is whose, the SHA-256 of each manifest, what is undecided
//   OUT/CONTROLLER/           TABLE.LWT, SYMBOLS.JSN, CLIP0001.WAV ... in the order of the table,
//   MANIFEST.JSN
//
// The same input gives the same bytes: no dates, no paths. It stands whole or not at all (place.hpp). A
// clip's file is named by what its bytes are, not by the name it came under, and is read once more after the
// copy, so a file that changes while the room is built is refused. Tests: tests/unit/payload/pack_test.cpp,
// pack_failure_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "payload/files.hpp"
#include "payload/manifest.hpp"

namespace lw::payload {

struct PayloadClip {
  std::string name;
  std::string source;                     // where the sound file lies
  std::optional<std::int64_t> length_ms;  // as the table says; another length is refused
};

struct PayloadController {
  std::string name, board;
  std::vector<std::uint8_t> table;
  std::string symbols;             // JSON
  std::vector<PayloadClip> clips;  // in the order of the table
};

struct PayloadRoom {
  Origin origin;
  std::vector<std::string> undecided;
  std::vector<PayloadController> controllers;  // one at least
};

enum class Outcome : std::uint8_t {
  failed,       // what stood there stands: `reason` says why
  unconfirmed,  // the new payload stands, but the disk did not confirm it
  written,
};

struct PackedController {
  std::string name, folder;
  std::vector<FileEntry> files;  // the manifest last
  std::uint64_t bytes = 0;       // of those
};

struct PackResult {
  Outcome outcome = Outcome::failed;
  std::string reason;              // of the first two: a sentence without its full stop
  std::vector<std::string> notes;  // what else the user should know, likewise
  std::vector<PackedController> controllers;
  std::string room_manifest_sha256;
};

/// Writes or replaces `out`, whose parent folder must be there.
PackResult pack(const PayloadRoom& room, const std::string& out, Files& files);
PackResult pack(const PayloadRoom& room, const std::string& out);

}  // namespace lw::payload
