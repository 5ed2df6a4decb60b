// What verify says of payloads, controllers' folders and cards: whole, damaged in every way, and hostile.
#include "payload/verify.hpp"

#include <sys/stat.h>

#include <cerrno>
#include <nlohmann/json.hpp>

#include "fixture.hpp"
#include "payload/digest.hpp"
#include "payload/names.hpp"

namespace {

using namespace lw::payload;
using namespace lw::payload::test;

/// Each thing found as "difference path: reason".
std::vector<std::string> lines(const Verification& verification) {
  std::vector<std::string> out;
  for (const Found& each : verification.found) {
    out.push_back(std::string(difference_name(each.difference)) + " " + each.path +
                  (each.reason.empty() ? "" : ": " + each.reason));
  }
  return out;
}
using Lines = std::vector<std::string>;

constexpr char kNotThoseBytes[] = ": its bytes are not those that were written";

/// A fresh payload for each damage.
struct Payload {
  Folder folder;
  std::string out = folder / "out";
  Payload() { pack_well(small_room(), out); }
  std::string operator/(const std::string& name) const { return out + "/" + name; }
  Verification look() const { return verify(out); }
};

TEST_CASE("a whole payload is clean") {
  const Payload payload;
  const Verification seen = payload.look();
  CHECK(seen.clean());
  CHECK(seen.subject == Subject::room);
  CHECK(seen.found.empty());
  CHECK(seen.origin.room == "The Assay Office");
  CHECK(seen.origin.identity == "00c0ffee00000001");
  CHECK(seen.controllers == std::vector<std::string>{"front", "vault"});
  CHECK(seen.undecided.size() == 1);
  CHECK(seen.files == 6);
  CHECK(seen.bytes == 48044 + 19244 + 2 * small_room().controllers[0].symbols.size() + 5 + 6);
  CHECK(verification_text(seen, "out") ==
        "out: the payload of \"The Assay Office\", as it was built\n"
        "  2 controllers, 6 files and 67329 bytes as written by latchwork 0.1.0\n"
        "  identity 00c0ffee00000001, language 1\n"
        "  not decided when it was built: promise \"nobody gets stuck\": promises are not decided yet\n");
}

TEST_CASE("what is missing, altered and foreign is told apart, all of it at once") {
  const Payload payload;
  fs::remove(payload / "front/CLIP0002.WAV");
  std::string table = get(payload / "front/TABLE.LWT");
  table[0] = static_cast<char>(table[0] ^ 1);
  put(payload / "front/TABLE.LWT", table);
  put(payload / "front/SYMBOLS.JSN", "{}");
  put(payload / "vault/CLIP0001.WAV", "x");
  put(payload / "notes.txt", "x");
  fs::create_directory(payload / "old");
  const Verification seen = payload.look();
  CHECK_FALSE(seen.clean());
  CHECK(lines(seen) == Lines{"missing front/CLIP0002.WAV: clip `dull`",
                             "altered front/SYMBOLS.JSN: it has 2 bytes, and 15 were written",
                             std::string("altered front/TABLE.LWT") + kNotThoseBytes,
                             "foreign vault/CLIP0001.WAV", "foreign notes.txt", "foreign old/"});
  CHECK(seen.files == 3);
  CHECK(verification_text(seen, "my room") ==
        "my room: the payload of \"The Assay Office\", NOT as it was built\n"
        "  missing     front/CLIP0002.WAV  clip `dull`\n"
        "  altered     front/SYMBOLS.JSN   it has 2 bytes, and 15 were written\n"
        "  altered     front/TABLE.LWT     its bytes are not those that were written\n"
        "  foreign     vault/CLIP0001.WAV\n"
        "  foreign     notes.txt\n"
        "  foreign     old/\n"
        "  2 controllers, 3 files and 48065 bytes as written by latchwork 0.1.0\n"
        "  identity 00c0ffee00000001, language 1\n"
        "  not decided when it was built: promise \"nobody gets stuck\": promises are not decided yet\n");
}

TEST_CASE("a controller's folder can be missing, or be something else") {
  const Payload payload;
  fs::remove_all(payload / "vault");
  CHECK(lines(payload.look()) == Lines{"missing vault/: controller `vault`"});
  put(payload / "vault", "x");
  CHECK(lines(payload.look()) == Lines{"altered vault: it is not a folder"});
  fs::remove(payload / "vault");
  fs::create_symlink("front", payload / "vault");
  CHECK(lines(payload.look()) == Lines{"altered vault: it is not a folder"});
}

TEST_CASE("a file that became a folder, a link or a pipe is altered, and nothing is followed or waited for") {
  const Payload payload;
  fs::remove(payload / "front/TABLE.LWT");
  fs::create_directory(payload / "front/TABLE.LWT");
  CHECK(lines(payload.look()) == Lines{"altered front/TABLE.LWT/: it is not a plain file"});
  fs::remove(payload / "front/TABLE.LWT");
  fs::create_symlink("/dev/zero", payload / "front/TABLE.LWT");
  CHECK(lines(payload.look()) == Lines{"altered front/TABLE.LWT: it is not a plain file"});
  fs::remove(payload / "front/TABLE.LWT");
  REQUIRE(::mkfifo((payload / "front/TABLE.LWT").c_str(), 0600) == 0);
  CHECK(lines(payload.look()) == Lines{"altered front/TABLE.LWT: it is not a plain file"});
  for (const char* manifest : {"front/MANIFEST.JSN", "ROOM.JSN"}) {
    fs::remove(payload / manifest);
    REQUIRE(::mkfifo((payload / manifest).c_str(), 0600) == 0);
    CHECK(lines(payload.look())[0] == std::string("altered ") + manifest + ": it is not a plain file");
  }
}

TEST_CASE(
    "a controller's manifest is held against the room's, and vouches for nothing when it is not the one") {
  const Payload payload;
  std::string manifest = get(payload / "front/MANIFEST.JSN");
  put(payload / "front/MANIFEST.JSN", manifest + " ");
  const Lines expected = {
      "altered front/MANIFEST.JSN: its bytes are not those that were written, so what stands beside it "
      "cannot be checked",
      "unchecked front/CLIP0001.WAV", "unchecked front/CLIP0002.WAV", "unchecked front/SYMBOLS.JSN",
      "unchecked front/TABLE.LWT"};
  CHECK(lines(payload.look()) == expected);
  CHECK(payload.look().files == 2);

  fs::remove(payload / "front/MANIFEST.JSN");
  const Lines found = lines(payload.look());
  REQUIRE(found.size() == 5);
  CHECK(found[0] == "missing front/MANIFEST.JSN: so what stands beside it cannot be checked");
  CHECK(found[4] == "unchecked front/TABLE.LWT");
}

TEST_CASE("manifests of two rooms do not go together even where the sums are right") {
  const Payload payload, other;
  auto top = nlohmann::json::parse(get(payload / "ROOM.JSN"));
  pack_well(small_room(2), other.out);
  fs::copy(other / "vault", payload / "vault",
           fs::copy_options::recursive | fs::copy_options::overwrite_existing);
  top["controllers"][1]["manifest_sha256"] = sha256_hex(get(payload / "vault/MANIFEST.JSN"));
  put(payload / "ROOM.JSN", top.dump());
  CHECK(lines(payload.look())[0] ==
        "altered vault/MANIFEST.JSN: it belongs to another controller or another room than the room's "
        "manifest says");
}

TEST_CASE("one controller's files in another's folder are not right even where the sums are") {
  const Payload payload;
  auto top = nlohmann::json::parse(get(payload / "ROOM.JSN"));
  fs::remove_all(payload / "vault");
  fs::copy(payload / "front", payload / "vault");
  top["controllers"][1]["manifest_sha256"] = top["controllers"][0]["manifest_sha256"];
  put(payload / "ROOM.JSN", top.dump());
  CHECK(lines(payload.look())[0] ==
        "altered vault/MANIFEST.JSN: it belongs to another controller or another room than the room's "
        "manifest says");
}

TEST_CASE("a card that holds one controller's files is clean, whatever computers put beside them") {
  const Payload payload;
  const std::string card = payload.folder / "card";
  fs::copy(payload / "front", card);
  fs::create_directory(card + "/System Volume Information");
  put(card + "/System Volume Information/WPSettings.dat", "x");
  put(card + "/._TABLE.LWT", "x");
  fs::create_directory(card + "/.Trashes");
  const Verification seen = verify(card);
  CHECK(seen.clean());
  CHECK(seen.subject == Subject::controller);
  CHECK(seen.controllers == std::vector<std::string>{"front"});
  CHECK(lines(seen) ==
        Lines{"ignored .Trashes/", "ignored ._TABLE.LWT", "ignored System Volume Information/"});
  CHECK(seen.manifest_sha256 == sha256_hex(get(card + "/MANIFEST.JSN")));
  CHECK(verification_text(seen, "/media/card") ==
        "/media/card: the files of controller `front` of \"The Assay Office\", as it was built\n"
        "  ignored     .Trashes/\n"
        "  ignored     ._TABLE.LWT\n"
        "  ignored     System Volume Information/\n"
        "  1 controller, 4 files and 67308 bytes as written by latchwork 0.1.0\n"
        "  identity 00c0ffee00000001, language 1\n"
        "  SHA-256 of its manifest, as ROOM.JSN of its payload must have it:\n"
        "    " +
            seen.manifest_sha256 + "\n");

  put(card + "/HOLIDAY.JPG", "x");
  CHECK_FALSE(verify(card).clean());
  CHECK(lines(verify(card))[2] == "foreign HOLIDAY.JPG");
}

TEST_CASE("a card that shows its names in small letters is the same card") {
  const Payload payload;
  const std::string card = payload.folder / "card";
  fs::create_directory(card);
  for (const auto& entry : fs::directory_iterator(payload / "front")) {
    std::string name = entry.path().filename().string();
    for (char& c : name) c = static_cast<char>(std::tolower(c));
    fs::copy_file(entry.path(), card + "/" + name);
  }
  CHECK(verify(card).clean());
  CHECK(verify(card).files == 4);
  put(card + "/TABLE.LWT", "not the table");  // where case counts, the very name is the file
  CHECK(lines(verify(card)) ==
        Lines{"altered TABLE.LWT: it has 13 bytes, and 5 were written", "foreign table.lwt"});

  fs::create_directory(payload / "FRONT");
  CHECK(lines(payload.look()) == Lines{"foreign FRONT/"});
  fs::remove(payload / "FRONT");

  fs::rename(payload / "ROOM.JSN", payload / "room.jsn");
  fs::rename(payload / "vault", payload / "VAULT");
  CHECK(payload.look().clean());
}

TEST_CASE("a folder that is no payload says so") {
  const Folder folder;
  const auto reason = [](const std::string& path) {
    const Verification seen = verify(path);
    CHECK(seen.subject == Subject::nothing);
    CHECK_FALSE(seen.clean());
    return seen.reason;
  };
  CHECK(reason(folder.path()) == "is not a payload: it holds neither ROOM.JSN nor MANIFEST.JSN");
  CHECK_FALSE(verify(folder.path()).unreadable);
  CHECK(reason(folder / "none") == "is not there");
  CHECK(verify(folder / "none").unreadable);
  put(folder / "file", "x");
  CHECK(reason(folder / "file") == "is not a folder");
  CHECK(reason("") == "is not there");
  CHECK(reason(std::string(5000, 'a')) == "cannot be read: File name too long");
  CHECK(verification_text(verify(folder / "none"), "none") == "none is not there\n");
}

TEST_CASE("a payload that a broken-off build left aside is told of") {
  const Payload payload;
  fs::rename(payload.out, payload.folder / ".out.latchwork-old");
  CHECK(payload.look().reason == "is not there; a build that was broken off left the payload before it as " +
                                     (payload.folder / ".out.latchwork-old") +
                                     ", and the next build brings it back");
}

TEST_CASE("an unreadable file, folder or manifest is called so") {
  class Unreadable : public Files {
   public:
    explicit Unreadable(std::string victim) : victim_(std::move(victim)) {}
    int list(const std::string& path, std::vector<Entry>& entries) override {
      return path == victim_ ? EACCES : Files::list(path, entries);
    }
    int open_to_read(const std::string& path, Links links, int& fd, std::uint64_t& size) override {
      return path == victim_ ? EACCES : Files::open_to_read(path, links, fd, size);
    }

   private:
    std::string victim_;
  };
  class BadBlocks : public Files {
   public:
    int read(int, char*, std::size_t, std::size_t&) override { return EIO; }
  };
  const Payload payload;
  const auto found = [&](const std::string& victim) {
    Unreadable files(payload / victim);
    return lines(verify(payload.out, files));
  };
  CHECK(found("front/TABLE.LWT") == Lines{"unreadable front/TABLE.LWT: Permission denied"});
  CHECK(found("vault") == Lines{"unreadable vault/: Permission denied"});
  CHECK(found("vault/MANIFEST.JSN") == Lines{"unreadable vault/MANIFEST.JSN: Permission denied",
                                             "unchecked vault/SYMBOLS.JSN", "unchecked vault/TABLE.LWT"});
  CHECK(found("ROOM.JSN") ==
        Lines{"unreadable ROOM.JSN: Permission denied", "unchecked front/", "unchecked vault/"});
  BadBlocks files;
  CHECK(lines(verify(payload.out, files)) ==
        Lines{"unreadable ROOM.JSN: Input/output error", "unchecked front/", "unchecked vault/"});
}

TEST_CASE("a manifest cut short, hostile or none at all never vouches for anything") {
  const Payload payload;
  const std::string room = get(payload / "ROOM.JSN"), card = get(payload / "front/MANIFEST.JSN");
  for (std::size_t size = 0; size + 1 < room.size(); size += 7) {
    put(payload / "ROOM.JSN", room.substr(0, size));
    const Lines found = lines(payload.look());
    REQUIRE(found.size() == 3);
    CHECK(found[0].rfind("altered ROOM.JSN: it is cut short or damaged: it is no JSON from byte ", 0) == 0);
    CHECK(found[1] == "unchecked front/");
  }
  for (std::size_t size = 0; size + 1 < card.size(); size += 7) {
    put(payload / "front/MANIFEST.JSN", card.substr(0, size));
    const Lines found = lines(verify(payload / "front"));
    REQUIRE(found.size() == 5);
    CHECK(found[0].rfind("altered MANIFEST.JSN: it is cut short or damaged: it is no JSON from byte ", 0) ==
          0);
  }
  put(payload / "ROOM.JSN", std::string(kLargestManifest + 1, '['));
  CHECK(lines(payload.look())[0] == "unreadable ROOM.JSN: it is too large to be a manifest");
  put(payload / "ROOM.JSN", std::string(kLargestManifest, '['));
  CHECK(lines(payload.look())[0].rfind("altered ROOM.JSN: it is cut short", 0) == 0);
}

TEST_CASE("a manifest cannot lead verify out of its folder") {
  const Payload payload;
  put(payload.folder / "TABLE.LWT", "outside");
  auto manifest = nlohmann::json::parse(get(payload / "front/MANIFEST.JSN"));
  for (const char* name : {"../../TABLE.LWT", "/etc/hostname", ".."}) {
    manifest["files"][0]["file"] = name;
    put(payload / "front/MANIFEST.JSN", manifest.dump());
    CHECK(lines(verify(payload / "front"))[0] ==
          "altered MANIFEST.JSN: it is not a manifest of a payload: `file` is a name that no payload has");
  }
  auto top = nlohmann::json::parse(get(payload / "ROOM.JSN"));
  top["controllers"][0]["folder"] = "../out";
  put(payload / "ROOM.JSN", top.dump());
  CHECK(lines(payload.look())[0] ==
        "altered ROOM.JSN: it is not a manifest of a payload: `folder` is a name that no payload has");
}

TEST_CASE("no byte of a payload can change unnoticed") {
  const Payload payload;
  for (const char* name :
       {"front/TABLE.LWT", "front/SYMBOLS.JSN", "front/MANIFEST.JSN", "vault/MANIFEST.JSN"}) {
    const std::string whole = get(payload / name);
    for (std::size_t at = 0; at<whole.size(); at += whole.size()> 100 ? 31 : 1) {
      std::string changed = whole;
      changed[at] = static_cast<char>(changed[at] ^ 0x10);
      put(payload / name, changed);
      CAPTURE(name);
      CAPTURE(at);
      const Verification seen = payload.look();
      CHECK_FALSE(seen.clean());
      REQUIRE_FALSE(seen.found.empty());
      CHECK(seen.found[0].path == name);
      CHECK(seen.found[0].difference == Difference::altered);
    }
    put(payload / name, whole);
  }
  CHECK(payload.look().clean());
}

TEST_CASE("nothing that a folder or a manifest says reaches a terminal as a control character") {
  const Payload payload;
  put(payload / "\x1b[2J\xff\n", "x");
  auto top = nlohmann::json::parse(get(payload / "ROOM.JSN"));
  top["room"] = "\x1b]0;title\x07 \xc2\x9b";
  top["tool"] = "\x1b[31m";
  top["language"] = "\r";
  top["undecided"] = {"\x1b[1m"};
  put(payload / "ROOM.JSN", top.dump());
  const Verification seen = payload.look();
  CHECK(seen.found.size() == 1);
  const std::string text = verification_text(seen,
                                             "\x1b"
                                             "out");
  CHECK(text.find('\x1b') == std::string::npos);
  CHECK(text.find('\x07') == std::string::npos);
  CHECK(text.find('\r') == std::string::npos);
  CHECK(text.find("\xc2\x9b") == std::string::npos);
  CHECK(text.find('\xff') == std::string::npos);
}

}  // namespace
