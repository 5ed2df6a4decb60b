// Holds a payload against its manifests. See verify.hpp; tests/unit/payload/verify_test.cpp.
#include "payload/verify.hpp"

#include <algorithm>
#include <cerrno>
#include <optional>

#include "payload/digest.hpp"
#include "payload/names.hpp"
#include "payload/place.hpp"
#include "text/source.hpp"
#include "text/utf8.hpp"

namespace lw::payload {
namespace {

/// A folder's entries, of which those that the manifest names are taken out one by one.
class Contents {
 public:
  explicit Contents(std::vector<Entry> entries) : entries_(std::move(entries)) {}

  /// The very name if it is there, else the first that is the same to FAT.
  std::optional<Entry> take(const std::string& name) {
    auto found =
        std::find_if(entries_.begin(), entries_.end(), [&](const Entry& e) { return e.name == name; });
    if (found == entries_.end()) {
      const std::string folded = fold_case(name);
      found = std::find_if(entries_.begin(), entries_.end(),
                           [&](const Entry& e) { return fold_case(e.name) == folded; });
    }
    if (found == entries_.end()) return std::nullopt;
    Entry entry = *found;
    entries_.erase(found);
    return entry;
  }
  bool holds(const std::string& name) const { return Contents(*this).take(name).has_value(); }
  const std::vector<Entry>& rest() const { return entries_; }

 private:
  std::vector<Entry> entries_;
};

class Verifier {
 public:
  Verifier(Files& files, Verification& result) : files_(files), result_(result) {}

  void room(const std::string& folder, Contents contents, const Entry& manifest_entry);
  void controller(const std::string& folder, const std::string& shown, Contents contents,
                  const FolderEntry* expected);

 private:
  void found(Difference difference, const std::string& path, const std::string& reason) {
    result_.found.push_back({difference, path, reason});
  }
  void leave_unchecked(const std::string& shown, const Contents& contents);
  void leftover(const std::string& shown, const Contents& contents);
  void file(const std::string& path, const std::string& shown, const FileEntry& expected);
  std::optional<ControllerManifest> manifest(const std::string& folder, const std::string& shown,
                                             Contents& contents, const FolderEntry* expected);

  Files& files_;
  Verification& result_;
};

std::string shown_entry(const std::string& shown, const Entry& entry) {
  return shown + entry.name + (entry.kind == EntryKind::folder ? "/" : "");
}

void Verifier::leftover(const std::string& shown, const Contents& contents) {
  for (const Entry& entry : contents.rest()) {
    const bool known = is_housekeeping(entry.name);
    found(known ? Difference::housekeeping : Difference::foreign, shown_entry(shown, entry), "");
  }
}

void Verifier::leave_unchecked(const std::string& shown, const Contents& contents) {
  for (const Entry& entry : contents.rest()) {
    const bool known = is_housekeeping(entry.name);
    found(known ? Difference::housekeeping : Difference::unchecked, shown_entry(shown, entry), "");
  }
}

void Verifier::file(const std::string& path, const std::string& shown, const FileEntry& expected) {
  OpenFile file(files_);
  std::uint64_t size = 0;
  if (const int error = files_.open_to_read(path, Links::refuse, file.fd(), size)) {
    return found(Difference::unreadable, shown, system_words(error));
  }
  if (size != expected.size) {
    return found(
        Difference::altered, shown,
        "it has " + std::to_string(size) + " bytes, and " + std::to_string(expected.size) + " were written");
  }
  Sha256 digest;
  std::vector<char> buffer(64 * 1024);
  for (;;) {
    std::size_t got = 0;
    if (const int error = files_.read(file.fd(), buffer.data(), buffer.size(), got)) {
      return found(Difference::unreadable, shown, system_words(error));
    }
    if (got == 0) break;
    digest.add({buffer.data(), got});
  }
  if (digest.hex() != expected.sha256) {
    return found(Difference::altered, shown, "its bytes are not those that were written");
  }
  ++result_.files;
  result_.bytes += size;
}

std::optional<ControllerManifest> Verifier::manifest(const std::string& folder, const std::string& shown,
                                                     Contents& contents, const FolderEntry* expected) {
  const auto entry = contents.take(kManifestFile);
  if (!entry) {
    found(Difference::missing, shown + kManifestFile, "so what stands beside it cannot be checked");
    return std::nullopt;
  }
  const std::string path = shown + entry->name;
  if (entry->kind != EntryKind::file) {
    found(Difference::altered, path, "it is not a plain file");
    return std::nullopt;
  }
  std::string text;
  if (const int error = read_whole(files_, join_path(folder, entry->name), kLargestManifest, text)) {
    found(Difference::unreadable, path,
          error == EFBIG ? "it is too large to be a manifest" : system_words(error));
    return std::nullopt;
  }
  const std::string digest = sha256_hex(text);
  if (expected == nullptr) result_.manifest_sha256 = digest;
  if (expected != nullptr && digest != expected->manifest_sha256) {
    found(Difference::altered, path,
          "its bytes are not those that were written, so what stands beside it cannot be checked");
    return std::nullopt;
  }
  std::string why;
  auto manifest = parse_controller_manifest(text, why);
  if (!manifest) {
    found(Difference::altered, path, "it " + why);
    return std::nullopt;
  }
  if (expected != nullptr && (manifest->controller != expected->controller ||
                              manifest->origin.identity != result_.origin.identity)) {
    found(Difference::altered, path,
          "it belongs to another controller or another room than the room's manifest says");
    return std::nullopt;
  }
  return manifest;
}

void Verifier::controller(const std::string& folder, const std::string& shown, Contents contents,
                          const FolderEntry* expected) {
  const auto manifest_read = manifest(folder, shown, contents, expected);
  if (!manifest_read) return leave_unchecked(shown, contents);
  if (expected == nullptr) {
    result_.origin = manifest_read->origin;
    result_.controllers = {manifest_read->controller};
  }
  for (const FileEntry& expected_file : manifest_read->files) {
    const auto entry = contents.take(expected_file.file);
    const std::string clip = expected_file.clip ? "clip `" + expected_file.clip->name + "`" : "";
    if (!entry) {
      found(Difference::missing, shown + expected_file.file, clip);
    } else if (entry->kind != EntryKind::file) {
      found(Difference::altered, shown_entry(shown, *entry), "it is not a plain file");
    } else {
      file(join_path(folder, entry->name), shown + entry->name, expected_file);
    }
  }
  leftover(shown, contents);
}

void Verifier::room(const std::string& folder, Contents contents, const Entry& manifest_entry) {
  const auto unusable = [&](Difference difference, const std::string& reason) {
    found(difference, manifest_entry.name, reason);
    leave_unchecked("", contents);
  };
  if (manifest_entry.kind != EntryKind::file) return unusable(Difference::altered, "it is not a plain file");
  std::string text, why;
  if (const int error = read_whole(files_, join_path(folder, manifest_entry.name), kLargestManifest, text)) {
    return unusable(Difference::unreadable,
                    error == EFBIG ? "it is too large to be a manifest" : system_words(error));
  }
  const auto manifest = parse_room_manifest(text, why);
  if (!manifest) return unusable(Difference::altered, "it " + why);
  result_.origin = manifest->origin;
  result_.undecided = manifest->undecided;
  for (const FolderEntry& expected : manifest->controllers) {
    result_.controllers.push_back(expected.controller);
    const auto entry = contents.take(expected.folder);
    if (!entry) {
      found(Difference::missing, expected.folder + "/", "controller `" + expected.controller + "`");
      continue;
    }
    const std::string shown = entry->name + "/";
    if (entry->kind != EntryKind::folder) {
      found(Difference::altered, entry->name, "it is not a folder");
      continue;
    }
    std::vector<Entry> entries;
    const std::string path = join_path(folder, entry->name);
    if (const int error = files_.list(path, entries)) {
      found(Difference::unreadable, shown, system_words(error));
      continue;
    }
    controller(path, shown, Contents(std::move(entries)), &expected);
  }
  leftover("", contents);
}

std::string counted(std::uint64_t count, const char* one) {
  return std::to_string(count) + " " + one + (count == 1 ? "" : "s");
}

}  // namespace

const char* difference_name(Difference difference) {
  switch (difference) {
    case Difference::missing:
      return "missing";
    case Difference::altered:
      return "altered";
    case Difference::foreign:
      return "foreign";
    case Difference::unreadable:
      return "unreadable";
    case Difference::unchecked:
      return "unchecked";
    case Difference::housekeeping:
      return "ignored";
  }
  return "";
}

bool Verification::clean() const {
  return subject != Subject::nothing && std::all_of(found.begin(), found.end(), [](const Found& each) {
           return each.difference == Difference::housekeeping;
         });
}

Verification verify(const std::string& folder, Files& files) {
  Verification result;
  std::vector<Entry> entries;
  if (const int error = files.list(folder, entries)) {
    result.unreadable = true;
    result.reason = error == ENOENT    ? "is not there"
                    : error == ENOTDIR ? "is not a folder"
                                       : "cannot be read: " + system_words(error);
    std::string why;
    const auto place = error == ENOENT ? place_of(folder, why) : std::nullopt;
    std::optional<EntryKind> kind;
    if (place && files.look(place->aside(), kind) == 0 && kind == EntryKind::folder) {
      result.reason += "; a build that was broken off left the payload before it as " + place->aside() +
                       ", and the next build brings it back";
    }
    return result;
  }
  Contents contents(std::move(entries));
  Verifier verifier(files, result);
  if (const auto manifest = contents.take(kRoomManifestFile)) {
    result.subject = Subject::room;
    verifier.room(folder, std::move(contents), *manifest);
  } else if (contents.holds(kManifestFile)) {
    result.subject = Subject::controller;
    verifier.controller(folder, "", std::move(contents), nullptr);
  } else {
    result.reason =
        std::string("is not a payload: it holds neither ") + kRoomManifestFile + " nor " + kManifestFile;
  }
  return result;
}

Verification verify(const std::string& folder) {
  Files files;
  return verify(folder, files);
}

std::string verification_text(const Verification& verification, const std::string& shown) {
  const std::string name = shown_safely(shown);
  if (verification.subject == Subject::nothing) return name + " " + shown_safely(verification.reason) + "\n";
  std::string what = verification.subject == Subject::room ? "a room's payload" : "a controller's files";
  if (!verification.origin.room.empty()) {
    what = verification.subject == Subject::room
               ? "the payload of \"" + shown_safely(verification.origin.room) + "\""
               : "the files of controller `" + shown_safely(verification.controllers.front()) + "` of \"" +
                     shown_safely(verification.origin.room) + "\"";
  }
  std::string out =
      name + ": " + what + (verification.clean() ? ", as it was built\n" : ", NOT as it was built\n");
  std::size_t width = 0;
  for (const Found& each : verification.found)
    width = std::max(width, display_width(shown_safely(each.path)));
  for (const Found& each : verification.found) {
    std::string line = std::string("  ") + difference_name(each.difference);
    line.resize(14, ' ');
    const std::string path = shown_safely(each.path);
    line += path;
    if (!each.reason.empty())
      line += std::string(width - display_width(path) + 2, ' ') + shown_safely(each.reason);
    out += line + "\n";
  }
  if (!verification.origin.identity.empty()) {
    out += "  " + counted(verification.controllers.size(), "controller") + ", " +
           counted(verification.files, "file") + " and " + counted(verification.bytes, "byte") +
           " as written by latchwork " + shown_safely(verification.origin.tool) + "\n";
    out += "  identity " + verification.origin.identity + ", language " +
           shown_safely(verification.origin.language) + "\n";
  }
  if (!verification.manifest_sha256.empty()) {
    out += "  SHA-256 of its manifest, as ROOM.JSN of its payload must have it:\n    " +
           verification.manifest_sha256 + "\n";
  }
  for (const std::string& each : verification.undecided) {
    out += "  not decided when it was built: " + shown_safely(each) + "\n";
  }
  return out;
}

}  // namespace lw::payload
