// What a sound file is, as libsndfile reads it: its kind and how long it plays.
//
// Model, table and payload all need this, so it stands below them and sees nothing of the compiler. How long
// a clip lasts stands in the table (5.7), so the length is that of the file itself, rounded up to a whole
// millisecond: a voice is never said to be quiet while it still sounds. Rejected: trusting a header's length,
// since a file that was cut short would then play "longer" than it sounds; so the last frame is read. Tests:
// tests/unit/sound/clip_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace lw::sound {

struct ClipInfo {
  std::string kind;      // as a board's `sounds` names it: "wav", "ogg", "mp3", "flac", ...
  std::string encoding;  // libsndfile's words, e.g. "Signed 16 bit PCM"
  std::int64_t frames = 0;
  std::int32_t rate_hz = 0;
  std::int32_t channels = 0;
  std::int64_t length_ms = 0;  // rounded up; at least 1
};
bool operator==(const ClipInfo& a, const ClipInfo& b);
inline bool operator!=(const ClipInfo& a, const ClipInfo& b) { return !(a == b); }

enum class ClipFault : std::uint8_t {
  missing,     // nothing of that name
  unreadable,  // a folder, a device, no permission, a fault of the disk
  not_sound,   // not a sound file, or of a kind that libsndfile does not read
  empty,       // holds no sound
  damaged,     // breaks off before the length that it states
};

struct ClipError {
  ClipFault fault{};
  std::string reason;  // an end of a sentence that begins with the file's name: "is a folder"
};

/// Reads the file's head and its last frame; nothing on a ClipError. Never blocks on a pipe or a device.
std::optional<ClipInfo> read_clip(const std::string& path, ClipError& error);

/// Milliseconds of `frames` at `rate_hz`, rounded up; nothing when the rate is not above 0, frames are
/// negative, or the result does not fit.
std::optional<std::int64_t> length_ms(std::int64_t frames, std::int32_t rate_hz);

}  // namespace lw::sound
