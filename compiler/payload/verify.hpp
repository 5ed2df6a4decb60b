// Says of a folder or a mounted card what is missing, altered or foreign, held against the manifests that
// stand in it.
//
// It reads and never writes. Names are compared as FAT compares them, so that a card which shows its names in
// small letters is the same card. What computers put on cards by themselves is told apart from what is
// foreign. A manifest that is not whole, or not one of ours, makes its folder one that cannot be checked;
// nothing in it is then taken for right. A card alone cannot vouch for its manifest: only the room's manifest
// holds that one's SHA-256. Tests: tests/unit/payload/verify_test.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "payload/files.hpp"
#include "payload/manifest.hpp"

namespace lw::payload {

enum class Difference : std::uint8_t {
  missing,
  altered,
  foreign,
  unreadable,    // the system would not let it be read
  unchecked,     // its manifest is missing, altered or unusable
  housekeeping,  // foreign, but put there by a computer's own system: no fault
};
const char* difference_name(Difference difference);

struct Found {
  Difference difference{};
  std::string path;    // from the folder that was asked about; a folder ends in "/"
  std::string reason;  // may be empty
};

enum class Subject : std::uint8_t {
  nothing,     // no folder, or none of ours: `reason` says why
  room,        // a payload for a whole room
  controller,  // one controller's folder, or its card
};

struct Verification {
  Subject subject = Subject::nothing;
  bool unreadable = false;  // of `nothing`: the folder is not there or cannot be read
  std::string reason;       // of `nothing`: the end of a sentence that begins with the folder's name
  Origin origin;
  std::vector<std::string> controllers;
  std::vector<std::string> undecided;  // of a room
  std::string manifest_sha256;         // of a controller's folder: to be held against its room's manifest
  std::uint64_t files = 0;             // that stand as they were written, manifests not counted
  std::uint64_t bytes = 0;             // of those
  std::vector<Found> found;            // room manifest's order, then by name

  /// Whether all stands as it was written and nothing foreign stands with it.
  bool clean() const;
};

Verification verify(const std::string& folder, Files& files);
Verification verify(const std::string& folder);

/// What was found in plain words, a line a thing, `shown` being the folder as the user named it. Ends in a
/// line end. Nothing that stands in a manifest or a name can send control characters to a terminal.
std::string verification_text(const Verification& verification, const std::string& shown);

}  // namespace lw::payload
