// Writes payloads. See pack.hpp; tests/unit/payload/pack_test.cpp, pack_failure_test.cpp.
#include "payload/pack.hpp"

#include <cassert>
#include <cerrno>
#include <string_view>

#include "payload/digest.hpp"
#include "payload/names.hpp"
#include "payload/place.hpp"
#include "sound/clip.hpp"

namespace lw::payload {
namespace {

constexpr std::uint64_t kLargestOnFat = 0xffffffff;  // bytes in one file

/// Writes one payload's files into a folder of its own; the first that fails fails all.
class Writer {
 public:
  Writer(Files& files, PackResult& result) : files_(files), result_(result) {}

  bool room(const PayloadRoom& room, const std::string& folder);

 private:
  bool controller(const PayloadController& controller, const Origin& origin, const std::string& folder,
                  FolderEntry& entry, PackedController& packed);
  bool clip(const PayloadClip& clip, std::size_t row, const std::string& folder, FileEntry& entry);
  bool copy(const PayloadClip& clip, const std::string& path, FileEntry& entry);
  bool file(const std::string& path, std::string_view bytes);
  bool new_folder(const std::string& path);
  bool synced(const std::string& path);

  bool fail(const std::string& reason) {
    result_.reason = reason;
    return false;
  }
  bool fail(const std::string& what, int error) { return fail(what + ": " + system_words(error)); }

  Files& files_;
  PackResult& result_;
};

bool Writer::new_folder(const std::string& path) {
  const int error = files_.make_folder(path);
  return error == 0 || fail("the folder " + path + " cannot be made", error);
}

bool Writer::synced(const std::string& path) {
  const int error = files_.sync_folder(path);
  return error == 0 || fail("the disk did not confirm the folder " + path, error);
}

bool Writer::file(const std::string& path, std::string_view bytes) {
  OpenFile out(files_);
  int error = files_.create(path, out.fd());
  if (error == 0) error = files_.write(out.fd(), bytes.data(), bytes.size());
  if (error == 0) error = files_.sync(out.fd());
  if (error == 0) error = out.close();
  return error == 0 || fail(path + " cannot be written", error);
}

bool Writer::copy(const PayloadClip& clip, const std::string& path, FileEntry& entry) {
  OpenFile in(files_), out(files_);
  std::uint64_t size = 0;
  if (const int error = files_.open_to_read(clip.source, Links::follow, in.fd(), size)) {
    return fail("clip `" + clip.name + "`: " + clip.source + " cannot be read", error);
  }
  if (const int error = files_.create(path, out.fd())) return fail(path + " cannot be written", error);
  Sha256 digest;
  std::vector<char> buffer(64 * 1024);
  for (;;) {
    std::size_t got = 0;
    if (const int error = files_.read(in.fd(), buffer.data(), buffer.size(), got)) {
      return fail("clip `" + clip.name + "`: " + clip.source + " cannot be read", error);
    }
    if (got == 0) break;
    entry.size += got;
    if (entry.size > kLargestOnFat) {
      return fail("clip `" + clip.name + "`: " + clip.source +
                  " is larger than 4 GiB, more than a card's file can be");
    }
    digest.add({buffer.data(), got});
    if (const int error = files_.write(out.fd(), buffer.data(), got))
      return fail(path + " cannot be written", error);
  }
  entry.sha256 = digest.hex();
  int error = files_.sync(out.fd());
  if (error == 0) error = out.close();
  return error == 0 || fail(path + " cannot be written", error);
}

bool Writer::clip(const PayloadClip& clip, std::size_t row, const std::string& folder, FileEntry& entry) {
  sound::ClipError error;
  const auto before = sound::read_clip(clip.source, error);
  if (!before) return fail("clip `" + clip.name + "`: " + clip.source + " " + error.reason);
  if (clip.length_ms && *clip.length_ms != before->length_ms) {
    return fail("clip `" + clip.name + "`: " + clip.source + " lasts " + std::to_string(before->length_ms) +
                " ms, and the table says " + std::to_string(*clip.length_ms) +
                " ms: the file was changed while the room was built; build again");
  }
  entry.file = clip_file_name(row, before->kind);
  entry.clip = ClipOf{clip.name, before->length_ms};
  const std::string path = join_path(folder, entry.file);
  if (!copy(clip, path, entry)) return false;
  const auto after = sound::read_clip(path, error);
  if (!after || *after != *before) {
    return fail("clip `" + clip.name + "`: " + clip.source +
                " was changed while the room was built; build again");
  }
  return true;
}

bool Writer::controller(const PayloadController& controller, const Origin& origin, const std::string& folder,
                        FolderEntry& entry, PackedController& packed) {
  if (controller.clips.size() > kMostClips) {
    return fail("controller `" + controller.name + "` has " + std::to_string(controller.clips.size()) +
                " clips, and a payload holds " + std::to_string(kMostClips));
  }
  if (!new_folder(folder)) return false;
  ControllerManifest manifest;
  manifest.origin = origin;
  manifest.controller = controller.name;
  manifest.board = controller.board;
  // Clips by number, then symbols, then the table: the order of their names.
  for (std::size_t row = 0; row < controller.clips.size(); ++row) {
    manifest.files.emplace_back();
    if (!clip(controller.clips[row], row, folder, manifest.files.back())) return false;
  }
  const std::string_view table(reinterpret_cast<const char*>(controller.table.data()),
                               controller.table.size());
  for (const auto& [name, bytes] : {std::pair<const char*, std::string_view>{kSymbolFile, controller.symbols},
                                    std::pair<const char*, std::string_view>{kTableFile, table}}) {
    if (!file(join_path(folder, name), bytes)) return false;
    manifest.files.push_back({name, bytes.size(), sha256_hex(bytes), std::nullopt});
  }
  const std::string text = to_json(manifest);
  if (!file(join_path(folder, kManifestFile), text) || !synced(folder)) return false;
  entry.controller = controller.name;
  entry.board = controller.board;
  entry.manifest_sha256 = sha256_hex(text);
  packed.name = controller.name;
  packed.folder = entry.folder;
  packed.files = manifest.files;
  packed.files.push_back({kManifestFile, text.size(), entry.manifest_sha256, std::nullopt});
  for (const FileEntry& each : packed.files) packed.bytes += each.size;
  return true;
}

bool Writer::room(const PayloadRoom& room, const std::string& folder) {
  std::vector<std::string> names;
  for (const PayloadController& each : room.controllers) names.push_back(each.name);
  const std::vector<std::string> folders = folder_names(names);
  RoomManifest manifest;
  manifest.origin = room.origin;
  manifest.undecided = room.undecided;
  if (!new_folder(folder)) return false;
  for (std::size_t i = 0; i < room.controllers.size(); ++i) {
    FolderEntry entry;
    entry.folder = folders[i];
    PackedController packed;
    if (!controller(room.controllers[i], room.origin, join_path(folder, folders[i]), entry, packed))
      return false;
    manifest.controllers.push_back(entry);
    result_.controllers.push_back(packed);
  }
  const std::string text = to_json(manifest);
  result_.room_manifest_sha256 = sha256_hex(text);
  return file(join_path(folder, kRoomManifestFile), text) && synced(folder);
}

}  // namespace

PackResult pack(const PayloadRoom& room, const std::string& out, Files& files) {
  assert(!room.controllers.empty());
  PackResult result;
  const auto place = place_of(out, result.reason);
  if (!place) return result;
  OpenFile lock(files);
  if (const int error = files.lock_folder(place->parent, lock.fd())) {
    result.reason = error == ENOENT
                        ? "there is no folder " + place->parent + ": make it first"
                        : "the folder " + place->parent + " cannot be opened: " + system_words(error);
    return result;
  }
  if (!clear_leftovers(files, *place, result.notes, result.reason)) return result;
  const auto standing = look_at_place(files, *place, result.reason);
  if (!standing) return result;

  Moved moved = Moved::no;
  if (Writer(files, result).room(room, place->fresh())) {
    moved = put_in_place(files, *place, *standing, result.notes, result.reason);
  }
  if (moved == Moved::no) {
    std::string kept;
    std::optional<EntryKind> left;
    if (files.look(place->fresh(), left) == 0 && left && !sweep(files, place->fresh(), kept)) {
      result.notes.push_back("a part of the new payload was left, and the next build clears it: " + kept);
    }
    result.controllers.clear();
    result.room_manifest_sha256.clear();
    return result;
  }
  result.outcome = moved == Moved::yes ? Outcome::written : Outcome::unconfirmed;
  return result;
}

PackResult pack(const PayloadRoom& room, const std::string& out) {
  Files files;
  return pack(room, out, files);
}

}  // namespace lw::payload
