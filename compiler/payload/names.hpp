// The names that a payload gives its files and folders.
//
// What a card carries stands at its top under names of the oldest FAT kind: at most 8 and 3 capitals, digits
// and underscores, none of them a device's name. So any removable card and any small board's file reader can
// hold them. A controller's folder stays on the desk, where people look for it: it has the controller's own
// (long) name, changed only as far as FAT needs it. Rejected: FRONT~1 and the like for folders too, as nobody
// finds `vault` under it. The manifest of the room says which folder is whose. A name read from a manifest
// must be of these shapes, hence can never lead out of its folder. Tests: tests/unit/payload/names_test.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace lw::payload {

inline constexpr char kTableFile[] = "TABLE.LWT";
inline constexpr char kSymbolFile[] = "SYMBOLS.JSN";
inline constexpr char kManifestFile[] = "MANIFEST.JSN";
inline constexpr char kRoomManifestFile[] = "ROOM.JSN";
inline constexpr std::size_t kMostClips = 9999;
inline constexpr std::size_t kLongestFolderName = 64;  // bytes, as all are ASCII

/// Of the clip in `row` of the table, from 0, and of a kind as sound/ names it: row 0 of "wav" is
/// CLIP0001.WAV. `row` is below kMostClips.
std::string clip_file_name(std::size_t row, std::string_view kind);

/// Whether a controller's folder can hold a file of that name, manifest included.
bool is_card_file_name(std::string_view name);
/// Whether a payload can hold a controller's folder of that name.
bool is_folder_name(std::string_view name);

/// One folder name each, in the same order, no two alike once FAT has dropped case. Names that are lower case
/// letters, digits and underscores, none a device's, stay as they are.
std::vector<std::string> folder_names(const std::vector<std::string>& controllers);

/// The name as FAT compares it: without case.
std::string fold_case(std::string_view name);
/// What computers put on a card by themselves, such as `System Volume Information`.
bool is_housekeeping(std::string_view name);

}  // namespace lw::payload
