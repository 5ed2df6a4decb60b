// The place where a payload stands, and how a finished folder comes to stand there.
//
// A build writes beside its place, under .NAME.latchwork-new, and syncs all of it. Then:
//   nothing there, or an empty folder   one rename
//   a payload there                     one exchange of both names (renameat2, RENAME_EXCHANGE): at every
//   instant the
//                                       old or the new one stands whole. Where system or file system has no
//                                       exchange, the old one is renamed to .NAME.latchwork-old and the new
//                                       one to its name; a process that ends between the two leaves both
//                                       whole under the names beside it, and the next build brings the old
//                                       one back first.
// Then the old one is taken away. Half a payload never stands under the name. What a build that was broken
// off left is cleared by the next, under a lock on the folder around, so that two builds never share a name.
// Nothing of the user's is lost: only a payload that is as it was built gives way (files missing from it
// aside), and only names that a build gives are ever removed. Rejected: one folder a build and a link to it,
// as FAT has no links. Tests: tests/unit/payload/place_test.cpp, pack_failure_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "payload/files.hpp"

namespace lw::payload {

struct Place {
  std::string parent;  // "." for the working folder
  std::string name;

  std::string path() const { return join_path(parent, name); }
  std::string fresh() const { return join_path(parent, "." + name + ".latchwork-new"); }
  std::string aside() const { return join_path(parent, "." + name + ".latchwork-old"); }
};

/// Nothing for an empty path and for one that ends in "/", "." or ".." alone, none of which can be renamed.
std::optional<Place> place_of(const std::string& path, std::string& why);

/// Clears what an earlier build left; `notes` says what was brought back. The parent is locked.
bool clear_leftovers(Files& files, const Place& place, std::vector<std::string>& notes, std::string& why);

enum class Standing : std::uint8_t { nothing, empty_folder, payload };
/// What stands there and may give way; nothing, with the reason, for all else.
std::optional<Standing> look_at_place(Files& files, const Place& place, std::string& why);

enum class Moved : std::uint8_t {
  no,           // what stood there stands
  unconfirmed,  // the new one stands, but the disk did not confirm it
  yes,
};
/// Moves place.fresh() to place.path().
Moved put_in_place(Files& files, const Place& place, Standing standing, std::vector<std::string>& notes,
                   std::string& why);

/// Removes a folder that holds only what a build writes, whole or in part. Anything else in it: nothing is
/// touched.
bool sweep(Files& files, const std::string& folder, std::string& why);

}  // namespace lw::payload
