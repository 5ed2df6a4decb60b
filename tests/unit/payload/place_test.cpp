// Names beside a place, what a sweep takes and what it never touches, and the exchange on this very file
// system.
#include "payload/place.hpp"

#include <cerrno>

#include "fixture.hpp"
#include "payload/verify.hpp"

namespace {

using namespace lw::payload;
using namespace lw::payload::test;

TEST_CASE("a place is taken apart into the folder around and its name") {
  struct Row {
    const char *path, *parent, *name, *shown, *fresh;
  };
  for (const Row& row : {Row{"out", ".", "out", "out", ".out.latchwork-new"},
                         Row{"./out/", ".", "out", "out", ".out.latchwork-new"},
                         Row{"a/b//", "a", "b", "a/b", "a/.b.latchwork-new"},
                         Row{"/out", "/", "out", "/out", "/.out.latchwork-new"},
                         Row{"../out", "..", "out", "../out", "../.out.latchwork-new"}}) {
    CAPTURE(row.path);
    std::string why;
    const auto place = place_of(row.path, why);
    REQUIRE(place.has_value());
    CHECK(place->parent == row.parent);
    CHECK(place->name == row.name);
    CHECK(place->path() == row.shown);
    CHECK(place->fresh() == row.fresh);
  }
}

TEST_CASE("a sweep takes a payload, whole or in part, in either case") {
  const Folder folder;
  Files files;
  std::string why;
  pack_well(small_room(), folder / "out");
  CHECK(sweep(files, folder / "out", why));
  CHECK(fs::is_empty(folder.path()));

  fs::create_directories(folder / "part/front");
  put(folder / "part/front/table.lwt", "x");
  put(folder / "part/room.jsn", "x");
  CHECK(sweep(files, folder / "part", why));
  CHECK(fs::is_empty(folder.path()));
}

TEST_CASE(
    "a sweep takes the room's manifest first, so that what it leaves when it is broken off is no payload") {
  class OnlyOne : public Files {
   public:
    int remove_file(const std::string& path) override {
      return removed++ == 0 ? Files::remove_file(path) : EIO;
    }
    int removed = 0;
  };
  const Folder folder;
  PayloadRoom room = small_room();
  room.controllers[0].name = "ATRIUM";  // which comes before ROOM.JSN in the order of names
  pack_well(room, folder / "out");
  OnlyOne files;
  std::string why;
  CHECK_FALSE(sweep(files, folder / "out", why));
  CHECK(why == (folder / "out/ATRIUM/CLIP0001.WAV") + " cannot be removed: Input/output error");
  CHECK_FALSE(fs::exists(folder / "out/ROOM.JSN"));
  CHECK(verify(folder / "out").subject == Subject::nothing);
}

TEST_CASE("a sweep touches nothing where there is anything that no build writes") {
  const Folder folder;
  Files files;
  const auto kept = [&](const std::string& what) {
    const Snapshot before = snapshot(folder.path());
    std::string why;
    CHECK_FALSE(sweep(files, folder / "out", why));
    CHECK(why == (folder / what) + " is in the way, and no build made it: look at it and move it away");
    CHECK(snapshot(folder.path()) == before);
  };
  pack_well(small_room(), folder / "out");
  put(folder / "out/letter.txt", "dear reader");
  kept("out/letter.txt");
  fs::remove(folder / "out/letter.txt");
  put(folder / "out/vault/letter.txt", "dear reader");
  kept("out/vault/letter.txt");
  fs::remove(folder / "out/vault/letter.txt");
  fs::create_directory(folder / "out/vault/CLIP0001.WAV");
  kept("out/vault/CLIP0001.WAV");
  fs::remove(folder / "out/vault/CLIP0001.WAV");
  fs::create_symlink(folder.path(), folder / "out/link");
  kept("out/link");
  fs::remove(folder / "out/link");
  fs::create_symlink(folder / "out/front/TABLE.LWT", folder / "out/vault/CLIP0001.WAV");
  kept("out/vault/CLIP0001.WAV");
}

TEST_CASE("what is in the way of a build under its own names beside the place is not touched") {
  const Folder folder;
  for (const char* name : {".out.latchwork-new", ".out.latchwork-old"}) {
    put(folder / name, "mine");
    PackResult result = pack(small_room(), folder / "out");
    CHECK(result.outcome == Outcome::failed);
    CHECK(result.reason ==
          (folder / name) + " is in the way, and no build made it: look at it and move it away");
    CHECK(get(folder / name) == "mine");
    fs::remove(folder / name);

    fs::create_directory(folder / name);
    put(folder / name + "/diary.txt", "mine");
    result = pack(small_room(), folder / "out");
    CHECK(result.outcome == Outcome::failed);
    CHECK(get(folder / name + "/diary.txt") == "mine");
    fs::remove_all(folder / name);
  }
  CHECK(fs::is_empty(folder.path()));
}

TEST_CASE("a file that comes into the old payload while the new one takes its place is kept, and told of") {
  class LateGuest : public Files {
   public:
    int exchange(const std::string& a, const std::string& b) override {
      put(b + "/guest.txt", "just arrived");
      return Files::exchange(a, b);
    }
  };
  const Folder folder;
  pack_well(small_room(1), folder / "out");
  LateGuest files;
  const PackResult result = pack(small_room(2), folder / "out", files);
  CHECK(result.outcome == Outcome::written);
  REQUIRE(result.notes.size() == 1);
  const std::string left = fs::exists(folder / ".out.latchwork-new") ? folder / ".out.latchwork-new"
                                                                     : folder / ".out.latchwork-old";
  CHECK(result.notes[0] == "the payload before this one still stands as " + left + ": " + left +
                               "/guest.txt is in the way, and no build made it: look at it and move it away");
  CHECK(get(left + "/guest.txt") == "just arrived");
  CHECK(verify(folder / "out").origin.identity == "00c0ffee00000002");
}

TEST_CASE("what was moved aside by a build that was broken off comes back, and the user is told") {
  const Folder folder;
  pack_well(small_room(1), folder / "out");
  fs::rename(folder / "out", folder / ".out.latchwork-old");
  PayloadRoom broken = small_room(2);
  broken.controllers[0].clips[0].source = folder / "none.wav";
  const PackResult result = pack(broken, folder / "out");
  CHECK(result.outcome == Outcome::failed);
  REQUIRE(result.notes.size() == 1);
  CHECK(result.notes[0] ==
        "a build that was broken off had moved the payload aside; it was brought back first");
  CHECK(verify(folder / "out").origin.identity == "00c0ffee00000001");
  CHECK_FALSE(fs::exists(folder / ".out.latchwork-old"));
}

TEST_CASE("two names are exchanged at once where the system can, and a rename never takes another's place") {
  const Folder folder(fs::temp_directory_path());
  Files files;
  fs::create_directories(folder / "a/inner");
  fs::create_directories(folder / "b/other");
  const int error = files.exchange(folder / "a", folder / "b");
  if (error == 0) {
    CHECK(fs::exists(folder / "b/inner"));
    CHECK(fs::exists(folder / "a/other"));
  } else {
    CHECK((error == ENOSYS || error == EINVAL || error == EOPNOTSUPP));
    CHECK(fs::exists(folder / "a/inner"));
  }
  CHECK(files.exchange(folder / "a", folder / "none") != 0);
  CHECK(fs::exists(folder / "a"));
  CHECK(files.rename_folder(folder / "a", folder / "b") == ENOTEMPTY);
  put(folder / "file", "x");
  CHECK(files.rename_folder(folder / "a", folder / "file") == ENOTDIR);
  CHECK(get(folder / "file") == "x");
}

}  // namespace
