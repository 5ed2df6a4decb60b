// Puts a finished folder where a payload stands. See place.hpp; tests/unit/payload/place_test.cpp.
#include "payload/place.hpp"

#include <algorithm>
#include <cerrno>

#include "payload/names.hpp"
#include "payload/verify.hpp"

namespace lw::payload {
namespace {

bool fail(std::string& why, const std::string& what, int error) {
  why = what + ": " + system_words(error);
  return false;
}

struct Sweepings {
  std::vector<std::string> files;    // in the order of removal
  std::vector<std::string> folders;  // likewise
};

bool in_the_way(const std::string& path, std::string& why) {
  why = path + " is in the way, and no build made it: look at it and move it away";
  return false;
}

/// What sweep() would remove; false when there is anything else.
bool collect(Files& files, const std::string& folder, Sweepings& out, std::string& why) {
  std::vector<Entry> entries;
  if (const int error = files.list(folder, entries)) return fail(why, folder + " cannot be read", error);
  for (const Entry& entry : entries) {
    const std::string path = join_path(folder, entry.name);
    if (entry.kind == EntryKind::file && fold_case(entry.name) == kRoomManifestFile) {
      out.files.insert(out.files.begin(), path);  // first, so that what is left is no payload any more
      continue;
    }
    if (entry.kind != EntryKind::folder || !is_folder_name(entry.name)) return in_the_way(path, why);
    std::vector<Entry> inner;
    if (const int error = files.list(path, inner)) return fail(why, path + " cannot be read", error);
    for (const Entry& file : inner) {
      const std::string inner_path = join_path(path, file.name);
      if (file.kind != EntryKind::file || !is_card_file_name(fold_case(file.name)))
        return in_the_way(inner_path, why);
      out.files.push_back(inner_path);
    }
    out.folders.push_back(path);
  }
  out.folders.push_back(folder);
  return true;
}

bool bring_back_or_sweep(Files& files, const Place& place, std::vector<std::string>& notes,
                         std::string& why) {
  std::optional<EntryKind> standing;
  if (const int error = files.look(place.path(), standing))
    return fail(why, place.path() + " cannot be looked at", error);
  std::vector<Entry> entries;
  if (const int error = files.list(place.aside(), entries)) {
    return fail(why, place.aside() + " cannot be read", error);
  }
  // A sweep takes the room's manifest first, so with it the folder is what stood at the place, and all of
  // that.
  const bool whole = std::any_of(entries.begin(), entries.end(),
                                 [](const Entry& each) { return fold_case(each.name) == kRoomManifestFile; });
  if (standing || !whole) return sweep(files, place.aside(), why);
  int error = files.rename_folder(place.aside(), place.path());
  if (error == 0) error = files.sync_folder(place.parent);
  if (error != 0)
    return fail(why,
                "the payload that a broken-off build left as " + place.aside() + " cannot be brought back",
                error);
  notes.push_back("a build that was broken off had moved the payload aside; it was brought back first");
  return true;
}

bool no_exchange_here(int error) { return error == ENOSYS || error == EINVAL || error == EOPNOTSUPP; }

/// Old aside, new in: for where names cannot be exchanged.
bool step_aside(Files& files, const Place& place, std::string& why) {
  if (const int error = files.rename_folder(place.path(), place.aside())) {
    return fail(why, place.path() + " cannot be moved aside", error);
  }
  const int error = files.rename_folder(place.fresh(), place.path());
  if (error == 0) return true;
  fail(why, "the new payload cannot be moved to " + place.path(), error);
  if (files.rename_folder(place.aside(), place.path()) != 0) {
    why += "; the payload before it stands whole as " + place.aside() + ", and the next build brings it back";
  }
  return false;
}

}  // namespace

std::optional<Place> place_of(const std::string& path, std::string& why) {
  std::string trimmed = path;
  while (trimmed.size() > 1 && trimmed.back() == '/') trimmed.pop_back();
  const std::size_t slash = trimmed.rfind('/');
  Place place;
  place.name = slash == std::string::npos ? trimmed : trimmed.substr(slash + 1);
  place.parent = slash == std::string::npos ? "." : slash == 0 ? "/" : trimmed.substr(0, slash);
  if (place.name.empty() || place.name == "." || place.name == "..") {
    why = "a payload needs a folder of its own: name one";
    return std::nullopt;
  }
  return place;
}

bool clear_leftovers(Files& files, const Place& place, std::vector<std::string>& notes, std::string& why) {
  for (const std::string& path : {place.aside(), place.fresh()}) {
    std::optional<EntryKind> kind;
    if (const int error = files.look(path, kind)) return fail(why, path + " cannot be looked at", error);
    if (!kind) continue;
    if (kind != EntryKind::folder) return in_the_way(path, why);
    const bool cleared =
        path == place.aside() ? bring_back_or_sweep(files, place, notes, why) : sweep(files, path, why);
    if (!cleared) return false;
  }
  return true;
}

std::optional<Standing> look_at_place(Files& files, const Place& place, std::string& why) {
  std::optional<EntryKind> kind;
  if (const int error = files.look(place.path(), kind)) {
    fail(why, place.path() + " cannot be looked at", error);
    return std::nullopt;
  }
  if (!kind) return Standing::nothing;
  if (kind != EntryKind::folder) {
    why = place.path() +
          (kind == EntryKind::link ? " is a link: name the folder itself" : " is there, and is not a folder");
    return std::nullopt;
  }
  std::vector<Entry> entries;
  if (const int error = files.list(place.path(), entries)) {
    fail(why, place.path() + " cannot be read", error);
    return std::nullopt;
  }
  if (entries.empty()) return Standing::empty_folder;
  const Verification standing = verify(place.path(), files);
  if (standing.subject != Subject::room) {
    why = place.path() +
          " is there, and is not a room's payload: nothing in it was touched; name another folder";
    return std::nullopt;
  }
  const auto kept = std::find_if(standing.found.begin(), standing.found.end(),
                                 [](const Found& each) { return each.difference != Difference::missing; });
  if (kept == standing.found.end()) return Standing::payload;
  why = place.path() + " is there, and in it " + kept->path + " is not what a build wrote";
  if (!kept->reason.empty()) why += " (" + kept->reason + ")";
  why += ": nothing was touched; move it away, or name another folder";
  return std::nullopt;
}

Moved put_in_place(Files& files, const Place& place, Standing standing, std::vector<std::string>& notes,
                   std::string& why) {
  std::string old;
  if (standing == Standing::payload) {
    old = place.fresh();
    const int error = files.exchange(place.fresh(), place.path());
    if (no_exchange_here(error)) {
      old = place.aside();
      if (!step_aside(files, place, why)) return Moved::no;
    } else if (error != 0) {
      fail(why, "the new payload cannot take the place of " + place.path(), error);
      return Moved::no;
    }
  } else if (const int error = files.rename_folder(place.fresh(), place.path())) {
    fail(why, "the new payload cannot be moved to " + place.path(), error);
    return Moved::no;
  }
  if (const int error = files.sync_folder(place.parent)) {
    fail(why, "the new payload stands as " + place.path() + ", but the disk did not confirm it", error);
    return Moved::unconfirmed;
  }
  std::string kept;
  if (!old.empty() && !sweep(files, old, kept)) {
    notes.push_back("the payload before this one still stands as " + old + ": " + kept);
  }
  return Moved::yes;
}

bool sweep(Files& files, const std::string& folder, std::string& why) {
  Sweepings sweepings;
  if (!collect(files, folder, sweepings, why)) return false;
  for (const std::string& path : sweepings.files) {
    if (const int error = files.remove_file(path)) return fail(why, path + " cannot be removed", error);
  }
  for (const std::string& path : sweepings.folders) {
    if (const int error = files.remove_folder(path)) return fail(why, path + " cannot be removed", error);
  }
  return true;
}

}  // namespace lw::payload
