// What pack writes, byte for byte, what it replaces and what it refuses to touch.
#include "payload/pack.hpp"

#include <sys/stat.h>

#include <nlohmann/json.hpp>
#include <thread>

#include "fixture.hpp"
#include "payload/digest.hpp"
#include "payload/names.hpp"
#include "payload/verify.hpp"

namespace {

using namespace lw::payload;
using namespace lw::payload::test;

TEST_CASE("a payload holds table, symbols, clips and manifests under their own names, and nothing else") {
  const Folder folder;
  const PayloadRoom room = small_room();
  const PackResult result = pack(room, folder / "out");
  REQUIRE(result.outcome == Outcome::written);
  CHECK(result.reason.empty());
  CHECK(result.notes.empty());
  const Snapshot all = snapshot(folder.path());
  std::vector<std::string> names;
  for (const auto& each : all) names.push_back(each.first);
  CHECK(names == std::vector<std::string>{
                     "out/", "out/ROOM.JSN", "out/front/", "out/front/CLIP0001.WAV", "out/front/CLIP0002.WAV",
                     "out/front/MANIFEST.JSN", "out/front/SYMBOLS.JSN", "out/front/TABLE.LWT", "out/vault/",
                     "out/vault/MANIFEST.JSN", "out/vault/SYMBOLS.JSN", "out/vault/TABLE.LWT"});
  CHECK(all.at("out/front/TABLE.LWT") ==
        std::string(room.controllers[0].table.begin(), room.controllers[0].table.end()));
  CHECK(all.at("out/front/SYMBOLS.JSN") == room.controllers[0].symbols);
  CHECK(all.at("out/front/CLIP0001.WAV") == get(sample_sound("ring.wav")));
  CHECK(all.at("out/front/CLIP0002.WAV") == get(sample_sound("dull.wav")));

  const auto manifest = nlohmann::json::parse(all.at("out/front/MANIFEST.JSN"));
  CHECK(manifest["room"] == "The Assay Office");
  CHECK(manifest["controller"] == "front");
  CHECK(manifest["board"] == "bench8");
  CHECK(manifest["identity"] == "00c0ffee00000001");
  CHECK(manifest["language"] == "1");
  CHECK(manifest["tool"] == "0.1.0");
  REQUIRE(manifest["files"].size() == 4);
  std::string last;
  for (const auto& file : manifest["files"]) {
    CHECK(last < file["file"].get<std::string>());
    last = file["file"];
    const std::string& bytes = all.at("out/front/" + file["file"].get<std::string>());
    CHECK(file["size"] == bytes.size());
    CHECK(file["sha256"] == sha256_hex(bytes));
  }
  CHECK(manifest["files"][0]["clip"] == "ring");
  CHECK(manifest["files"][0]["length_ms"] == 1500);
  CHECK(manifest["files"][1]["clip"] == "dull");
  CHECK(manifest["files"][1]["length_ms"] == 600);

  const auto top = nlohmann::json::parse(all.at("out/ROOM.JSN"));
  CHECK(result.room_manifest_sha256 == sha256_hex(all.at("out/ROOM.JSN")));
  CHECK(top["undecided"] == nlohmann::json(room.undecided));
  REQUIRE(top["controllers"].size() == 2);
  CHECK(top["controllers"][0]["folder"] == "front");
  CHECK(top["controllers"][0]["manifest_sha256"] == sha256_hex(all.at("out/front/MANIFEST.JSN")));
  CHECK(top["controllers"][1]["controller"] == "vault");
  CHECK(top["controllers"][1]["manifest_sha256"] == sha256_hex(all.at("out/vault/MANIFEST.JSN")));

  REQUIRE(result.controllers.size() == 2);
  CHECK(result.controllers[0].folder == "front");
  CHECK(result.controllers[0].files.size() == 5);
  std::uint64_t bytes = 0;
  for (const auto& each : all) {
    if (each.first.rfind("out/front/", 0) == 0) bytes += each.second.size();
  }
  CHECK(result.controllers[0].bytes == bytes);
  CHECK(verify(folder / "out").clean());
}

TEST_CASE("the same room gives the same bytes, wherever and whenever it is built") {
  const Folder one, two;
  pack_well(small_room(), one / "out");
  fs::create_directory(two / "deeper");
  fs::create_directory(two / "sounds");
  PayloadRoom room = small_room();
  for (PayloadClip& clip :
       room.controllers[0].clips) {  // the same bytes from elsewhere, under other names and dates
    const std::string moved = two / "sounds/" + clip.name + ".bin";
    fs::copy_file(clip.source, moved);
    fs::last_write_time(moved, fs::file_time_type(std::chrono::hours(1)));
    clip.source = moved;
  }
  const mode_t mask = ::umask(0077);
  pack_well(room, two / "deeper/other_name/");
  ::umask(mask);
  CHECK(snapshot(one / "out") == snapshot(two / "deeper/other_name"));
  for (const auto& each : snapshot(two / "deeper/other_name")) {
    if (each.first.find(".JSN") != std::string::npos)
      CHECK(each.second.find(two.path()) == std::string::npos);
  }
}

TEST_CASE("a relative path is taken from the working folder") {
  const Folder folder;
  const fs::path before = fs::current_path();
  fs::current_path(folder.path());
  const PackResult result = pack(small_room(), "out");
  const PackResult again = pack(small_room(2), "./out/");
  fs::current_path(before);
  CHECK(result.outcome == Outcome::written);
  CHECK(again.outcome == Outcome::written);
  CHECK(verify(folder / "out").origin.identity == "00c0ffee00000002");
}

TEST_CASE("a clip's file is named by what its bytes are") {
  const Folder folder;
  PayloadRoom room = small_room();
  fs::copy_file(sample_sound("dull.wav"), folder / "dull.ogg");
  room.controllers[0].clips = {{"dull", folder / "dull.ogg", std::nullopt}};
  pack_well(room, folder / "out");
  CHECK(get(folder / "out/front/CLIP0001.WAV") == get(sample_sound("dull.wav")));
}

TEST_CASE("controllers that FAT could not tell apart get folders of their own") {
  const Folder folder;
  PayloadRoom room = small_room();
  room.controllers[0].name = "con";
  room.controllers[1].name = "Con_";
  pack_well(room, folder / "out");
  const auto top = nlohmann::json::parse(get(folder / "out/ROOM.JSN"));
  CHECK(top["controllers"][0]["controller"] == "con");
  CHECK(top["controllers"][0]["folder"] == "con_");
  CHECK(top["controllers"][1]["controller"] == "Con_");
  CHECK(top["controllers"][1]["folder"] == "Con__2");
  CHECK(verify(folder / "out").clean());
}

/// The build fails with that reason and leaves everything around as it was.
void refused(const PayloadRoom& room, const Folder& folder, const std::string& out,
             const std::string& reason) {
  const Snapshot before = snapshot(folder.path());
  const PackResult result = pack(room, out);
  CHECK(result.outcome == Outcome::failed);
  CHECK(result.reason == reason);
  CHECK(result.controllers.empty());
  CHECK(snapshot(folder.path()) == before);
}

TEST_CASE("a clip that cannot go into the payload stops the build with the reason, and leaves nothing") {
  const Folder folder;
  PayloadRoom room = small_room();
  const auto with = [&](const PayloadClip& clip) {
    room.controllers[0].clips[1] = clip;
    return room;
  };
  const std::string none = folder / "none.wav", text = folder / "text.wav";
  put(text, "not a sound");
  refused(with({"dull", none, {}}), folder, folder / "out", "clip `dull`: " + none + " is not there");
  refused(with({"dull", text, {}}), folder, folder / "out",
          "clip `dull`: " + text + " is not a sound file that can be read");
  refused(with({"dull", sample_sound("dull.wav"), 601}), folder, folder / "out",
          "clip `dull`: " + sample_sound("dull.wav") +
              " lasts 600 ms, and the table says 601 ms: the file was changed while the room was built; "
              "build again");
}

TEST_CASE("more clips than there are names for are refused") {
  const Folder folder;
  PayloadRoom room = small_room();
  room.controllers[0].clips.resize(kMostClips + 1);
  refused(room, folder, folder / "out", "controller `front` has 10000 clips, and a payload holds 9999");
}

TEST_CASE("a payload is replaced whole by the next, also when files of it are missing") {
  const Folder folder(fs::temp_directory_path()), expected;
  pack_well(small_room(2), expected / "out");
  pack_well(small_room(1), folder / "out");
  pack_well(small_room(2), folder / "out");
  CHECK(snapshot(folder.path()) == snapshot(expected.path()));

  pack_well(small_room(1), folder / "out");
  fs::remove(folder / "out/front/TABLE.LWT");
  fs::remove_all(folder / "out/vault");
  pack_well(small_room(2), folder / "out");
  CHECK(snapshot(folder.path()) == snapshot(expected.path()));

  PayloadRoom smaller = small_room(2);  // nothing of a controller that is no more
  smaller.controllers.pop_back();
  pack_well(smaller, folder / "out");
  CHECK_FALSE(fs::exists(folder / "out/vault"));
  CHECK(verify(folder / "out").clean());
}

TEST_CASE("an empty folder is filled") {
  const Folder folder;
  fs::create_directory(folder / "out");
  pack_well(small_room(), folder / "out");
  CHECK(verify(folder / "out").clean());
  CHECK(snapshot(folder.path()).count("out/ROOM.JSN") == 1);
}

TEST_CASE("nothing of the user's gives way to a payload") {
  const Folder folder;
  const std::string out = folder / "out";
  const PayloadRoom room = small_room(2);
  const std::string touched = ": nothing was touched; move it away, or name another folder";

  put(out, "a file");
  refused(room, folder, out, out + " is there, and is not a folder");
  fs::remove(out);

  fs::create_directory(out);
  put(out + "/letter.txt", "dear reader");
  refused(room, folder, out,
          out + " is there, and is not a room's payload: nothing in it was touched; name another folder");
  fs::remove_all(out);

  fs::create_directory(folder / "elsewhere");
  fs::create_symlink(folder / "elsewhere", out);
  refused(room, folder, out, out + " is a link: name the folder itself");
  fs::remove(out);

  pack_well(small_room(1), out);
  refused(
      room, folder, out + "/front",
      out + "/front is there, and is not a room's payload: nothing in it was touched; name another folder");

  put(out + "/notes.txt", "the horn is on the left");
  refused(room, folder, out, out + " is there, and in it notes.txt is not what a build wrote" + touched);
  fs::remove(out + "/notes.txt");

  put(out + "/vault/CLIP0001.WAV", get(sample_sound("ring.wav")));
  refused(room, folder, out,
          out + " is there, and in it vault/CLIP0001.WAV is not what a build wrote" + touched);
  fs::remove(out + "/vault/CLIP0001.WAV");

  put(out + "/front/CLIP0002.WAV", get(sample_sound("ring.wav")));
  refused(room, folder, out,
          out +
              " is there, and in it front/CLIP0002.WAV is not what a build wrote (it has 48044 bytes, and "
              "19244 were written)" +
              touched);
  put(out + "/front/CLIP0002.WAV", get(sample_sound("dull.wav")));

  fs::rename(out + "/vault/MANIFEST.JSN",
             folder / "kept");  // what stands beside it can no longer be told from the user's
  refused(room, folder, out,
          out + " is there, and in it vault/SYMBOLS.JSN is not what a build wrote" + touched);
  fs::rename(folder / "kept", out + "/vault/MANIFEST.JSN");

  put(out + "/ROOM.JSN", "{}");
  refused(room, folder, out,
          out +
              " is there, and in it ROOM.JSN is not what a build wrote (it is not a manifest of a payload: "
              "`kind` is missing)" +
              touched);
}

TEST_CASE("a path that cannot be a payload's place is refused") {
  const Folder folder;
  const PayloadRoom room = small_room();
  const std::string own = "a payload needs a folder of its own: name one";
  for (const char* bad : {"", "/", "//", ".", "..", "./", "out/.."}) {
    CAPTURE(bad);
    refused(room, folder, bad, own);
  }
  refused(room, folder, folder / "none/out", "there is no folder " + folder / "none" + ": make it first");
  put(folder / "file", "x");
  refused(room, folder, folder / "file/out",
          "the folder " + (folder / "file") + " cannot be opened: Not a directory");
  const std::string long_name(300, 'n');
  const PackResult result = pack(room, folder / long_name);
  CHECK(result.outcome == Outcome::failed);
  CHECK(result.reason.find("File name too long") != std::string::npos);
}

TEST_CASE("builds into one folder at one time wait for each other, and one of them stands whole") {
  const Folder folder, expected;
  std::vector<PackResult> results(6);
  std::vector<std::thread> builds;
  for (std::size_t i = 0; i < results.size(); ++i) {
    builds.emplace_back([&, i] { results[i] = pack(small_room(static_cast<int>(i) + 1), folder / "out"); });
  }
  for (std::thread& build : builds) build.join();
  for (const PackResult& result : results) {
    INFO(result.reason);
    CHECK(result.outcome == Outcome::written);
    CHECK(result.notes.empty());
  }
  const Verification standing = verify(folder / "out");
  CHECK(standing.clean());
  const int edition = standing.origin.identity.back() - '0';
  pack_well(small_room(edition), expected / "out");
  CHECK(snapshot(folder.path()) == snapshot(expected.path()));
}

}  // namespace
