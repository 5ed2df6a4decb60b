// Manifests: their very text, there and back, and every kind of text that is none.
#include "payload/manifest.hpp"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "payload/digest.hpp"

namespace {

using namespace lw::payload;

const std::string kDigest(64, 'a');

ControllerManifest controller_manifest() {
  ControllerManifest manifest;
  manifest.origin = {"The Assay Office", "00c0ffee00000001", "1", "0.1.0"};
  manifest.controller = "front";
  manifest.board = "bench8";
  manifest.files = {{"CLIP0001.WAV", 19244, kDigest, ClipOf{"dull", 600}},
                    {"SYMBOLS.JSN", 2, kDigest, std::nullopt},
                    {"TABLE.LWT", 5, kDigest, std::nullopt}};
  return manifest;
}

RoomManifest room_manifest() {
  RoomManifest manifest;
  manifest.origin = controller_manifest().origin;
  manifest.controllers = {{"front", "front", "bench8", kDigest}, {"con_", "con", "bench8", kDigest}};
  manifest.undecided = {"one", "two"};
  return manifest;
}

TEST_CASE("a controller's manifest is this text") {
  CHECK(to_json(controller_manifest()) == R"({
  "board": "bench8",
  "controller": "front",
  "files": [
    {
      "clip": "dull",
      "file": "CLIP0001.WAV",
      "length_ms": 600,
      "sha256": ")" + kDigest + R"(",
      "size": 19244
    },
    {
      "file": "SYMBOLS.JSN",
      "sha256": ")" + kDigest + R"(",
      "size": 2
    },
    {
      "file": "TABLE.LWT",
      "sha256": ")" + kDigest + R"(",
      "size": 5
    }
  ],
  "identity": "00c0ffee00000001",
  "kind": "latchwork controller",
  "language": "1",
  "room": "The Assay Office",
  "tool": "0.1.0",
  "version": 1
}
)");
}

TEST_CASE("a room's manifest is this text") {
  CHECK(to_json(room_manifest()) == R"({
  "controllers": [
    {
      "board": "bench8",
      "controller": "front",
      "folder": "front",
      "manifest_sha256": ")" + kDigest + R"("
    },
    {
      "board": "bench8",
      "controller": "con",
      "folder": "con_",
      "manifest_sha256": ")" + kDigest + R"("
    }
  ],
  "identity": "00c0ffee00000001",
  "kind": "latchwork room",
  "language": "1",
  "room": "The Assay Office",
  "tool": "0.1.0",
  "undecided": [
    "one",
    "two"
  ],
  "version": 1
}
)");
}

TEST_CASE("what was written reads back to the same text") {
  std::string why;
  const auto controller = parse_controller_manifest(to_json(controller_manifest()), why);
  REQUIRE(controller.has_value());
  CHECK(to_json(*controller) == to_json(controller_manifest()));
  const auto room = parse_room_manifest(to_json(room_manifest()), why);
  REQUIRE(room.has_value());
  CHECK(to_json(*room) == to_json(room_manifest()));
}

TEST_CASE("a room's name with quotes, accents, and wrong bytes still makes JSON") {
  RoomManifest manifest = room_manifest();
  manifest.origin.room =
      "L'\xc3\xa9p\xc3\xa9"
      "e \"noire\"\n\x01 \xff";
  std::string why;
  const auto read = parse_room_manifest(to_json(manifest), why);
  REQUIRE(read.has_value());
  CHECK(read->origin.room ==
        "L'\xc3\xa9p\xc3\xa9"
        "e \"noire\"\n\x01 \xef\xbf\xbd");
}

/// The controller's manifest with one thing changed by a JSON patch (RFC 6902).
std::string changed(const char* patch) {
  return nlohmann::json::parse(to_json(controller_manifest())).patch(nlohmann::json::parse(patch)).dump();
}
std::string changed_room(const char* patch) {
  return nlohmann::json::parse(to_json(room_manifest())).patch(nlohmann::json::parse(patch)).dump();
}

void refused(const std::string& text, const std::string& reason) {
  std::string why;
  CHECK_FALSE(parse_controller_manifest(text, why).has_value());
  CHECK(why == reason);
}
void room_refused(const std::string& text, const std::string& reason) {
  std::string why;
  CHECK_FALSE(parse_room_manifest(text, why).has_value());
  CHECK(why == reason);
}

TEST_CASE("a manifest with anything out of order is refused, and says what") {
  const std::string no = "is not a manifest of a payload: ";
  refused("[]", no + "an object is missing");
  refused("null", no + "an object is missing");
  refused("{}", no + "`kind` is missing");
  refused(to_json(room_manifest()), no + "`kind` is not \"latchwork controller\"");
  room_refused(to_json(controller_manifest()), no + "`kind` is not \"latchwork room\"");
  refused(changed(R"([{"op":"replace","path":"/kind","value":7}])"), no + "`kind` is not a text");
  refused(changed(R"([{"op":"replace","path":"/version","value":2}])"),
          no + "`version` is 2, and this tool reads 1");
  refused(changed(R"([{"op":"replace","path":"/version","value":-1}])"),
          no + "`version` is not a whole number from 0");
  refused(changed(R"([{"op":"replace","path":"/identity","value":"no"}])"),
          no + "`identity` is not made of hexadecimal digits");
  refused(changed(R"([{"op":"replace","path":"/identity","value":""}])"),
          no + "`identity` is not made of hexadecimal digits");
  refused(changed(R"([{"op":"remove","path":"/room"}])"), no + "`room` is missing");
  refused(changed(R"([{"op":"remove","path":"/controller"}])"), no + "`controller` is missing");
  refused(changed(R"([{"op":"replace","path":"/files","value":{}}])"), no + "`files` is not a list");
  refused(changed(R"([{"op":"replace","path":"/files/0","value":[]}])"), no + "an object is missing");
  refused(changed(R"([{"op":"remove","path":"/files/2"}])"), no + "`files` does not name TABLE.LWT");
  refused(changed(R"([{"op":"remove","path":"/files/1"}])"), no + "`files` does not name SYMBOLS.JSN");
  refused(changed(R"([{"op":"replace","path":"/files/2/file","value":"SYMBOLS.JSN"}])"),
          no + "`files` names SYMBOLS.JSN twice");
  refused(changed(R"([{"op":"replace","path":"/files/2/size","value":5.5}])"),
          no + "`size` is not a whole number from 0");
  refused(changed(R"([{"op":"replace","path":"/files/2/size","value":1e30}])"),
          no + "`size` is not a whole number from 0");
  refused(changed(R"([{"op":"replace","path":"/files/2/sha256","value":"aa"}])"),
          no + "`sha256` is not a SHA-256 of 64 small hexadecimal digits");
  refused(changed(R"([{"op":"remove","path":"/files/0/length_ms"}])"), no + "`length_ms` is missing");
  refused(changed(R"([{"op":"replace","path":"/files/0/length_ms","value":18446744073709551615}])"),
          no + "`length_ms` is beyond all bounds");
  room_refused(changed_room(R"([{"op":"replace","path":"/controllers","value":[]}])"),
               no + "`controllers` is empty");
  room_refused(changed_room(R"([{"op":"replace","path":"/controllers/1/folder","value":"FRONT"}])"),
               no + "`controllers` names FRONT twice");
  room_refused(changed_room(R"([{"op":"remove","path":"/controllers/1/manifest_sha256"}])"),
               no + "`manifest_sha256` is missing");
  room_refused(changed_room(R"([{"op":"replace","path":"/undecided/0","value":1}])"),
               no + "`undecided` holds something that is not a text");
  room_refused(changed_room(R"([{"op":"remove","path":"/undecided"}])"), no + "`undecided` is missing");
}

TEST_CASE("no name in a manifest leads out of its folder") {
  for (const char* name : {"../TABLE.LWT", "/etc/passwd", "..", ".", "", "front/TABLE.LWT", "MANIFEST.JSN",
                           "ROOM.JSN", "table.lwt", "CLIP0001.WAV/..", "C:TABLE.LWT", "..\\TABLE.LWT"}) {
    CAPTURE(name);
    auto json = nlohmann::json::parse(to_json(controller_manifest()));
    json["files"][0]["file"] = name;
    refused(json.dump(), "is not a manifest of a payload: `file` is a name that no payload has");
  }
  for (const char* name : {"..", ".", "", "/", "/tmp", "a/b", "../front", "front/", "nul", "a\\b", "a b"}) {
    CAPTURE(name);
    auto json = nlohmann::json::parse(to_json(room_manifest()));
    json["controllers"][0]["folder"] = name;
    room_refused(json.dump(), "is not a manifest of a payload: `folder` is a name that no payload has");
  }
}

TEST_CASE("a manifest cut anywhere is refused, as is one that is no JSON at all") {
  const std::string whole = to_json(controller_manifest());
  for (std::size_t size = 0; size + 1 < whole.size(); ++size) {
    std::string why;
    CHECK_FALSE(parse_controller_manifest(whole.substr(0, size), why).has_value());
    CHECK(why.rfind("is cut short or damaged: it is no JSON from byte ", 0) == 0);
  }
  refused("", "is cut short or damaged: it is no JSON from byte 1 on");
  refused("LWT\x01\x02", "is cut short or damaged: it is no JSON from byte 1 on");
  refused("{\"kind\": \"\xff\"}", "is cut short or damaged: it is no JSON from byte 11 on");
  refused(std::string("{}\0{}", 5), "is cut short or damaged: it is no JSON from byte 3 on");
  refused(std::string(kLargestManifest + 1, ' '), "is too large to be a manifest");
}

TEST_CASE("brackets nested by the million neither crash nor hang") {
  std::string why;
  CHECK_FALSE(parse_room_manifest(std::string(kLargestManifest, '['), why).has_value());
  std::string objects;
  for (int i = 0; i < 500000; ++i) objects += "{\"a\":";
  CHECK_FALSE(parse_room_manifest(objects, why).has_value());
  const std::string closed = std::string(2000000, '[') + std::string(2000000, ']');
  CHECK_FALSE(parse_room_manifest(closed, why).has_value());
  CHECK(why == "is not a manifest of a payload: an object is missing");
}

TEST_CASE("a manifest with any one byte changed reads as one of our own, or is refused with a reason") {
  const std::string whole = to_json(room_manifest());
  for (std::size_t at = 0; at < whole.size(); ++at) {
    for (const char byte : {'\0', '"', '}', '/', '.', '9', '\x80', static_cast<char>(whole[at] ^ 0x20)}) {
      std::string text = whole, why;
      text[at] = byte;
      const auto read = parse_room_manifest(text, why);
      if (read) {
        for (const FolderEntry& each : read->controllers)
          CHECK(each.folder.find_first_of("./\\") == std::string::npos);
      } else {
        CHECK_FALSE(why.empty());
      }
    }
  }
}

}  // namespace
