// The samples' sounds: make_sounds gives the committed bytes again, and every sound it knows is a usable
// clip.
#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <string>

#include "sound/clip.hpp"

namespace {

namespace fs = std::filesystem;

std::string bytes_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE(in.good());
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST_CASE("make_sounds gives the bytes of every committed sound, and only usable clips") {
  std::string pattern = (fs::temp_directory_path() / "lw_sounds_XXXXXX").string();
  REQUIRE(::mkdtemp(pattern.data()) != nullptr);
  const fs::path made = pattern;
  REQUIRE(std::system((std::string(LATCHWORK_MAKE_SOUNDS) + " '" + made.string() + "'").c_str()) == 0);

  std::size_t committed = 0;
  for (const auto& entry : fs::recursive_directory_iterator(fs::path(LATCHWORK_SOURCE_DIR) / "samples")) {
    if (entry.path().extension() != ".wav") continue;
    CAPTURE(entry.path().string());
    ++committed;
    CHECK(bytes_of(entry.path()) == bytes_of(made / entry.path().filename()));
  }
  CHECK(committed >= 3);  // ring and dull of one room, ring of another

  std::map<std::string, std::int64_t> length_ms;
  for (const auto& entry : fs::directory_iterator(made)) {
    CAPTURE(entry.path().string());
    lw::sound::ClipError error;
    const auto clip = lw::sound::read_clip(entry.path().string(), error);
    REQUIRE(clip.has_value());
    CHECK(clip->kind == "wav");
    CHECK(clip->encoding == "Signed 16 bit PCM");
    CHECK(clip->channels == 1);
    CHECK(clip->rate_hz == 16000);
    CHECK(clip->length_ms >= 200);
    CHECK(clip->length_ms <= 3000);
    CHECK(fs::file_size(entry.path()) < 100 * 1024);
    length_ms[entry.path().stem().string()] = clip->length_ms;
  }
  for (const char* name : {"alarm", "blast", "cheer", "choir", "clank", "clunk", "creak", "dull", "hint",
                           "ring", "rumble", "thud", "tick", "whistle"}) {
    CAPTURE(name);
    CHECK(length_ms.count(name) == 1);
  }
  CHECK(length_ms["dull"] == 600);
  CHECK(length_ms["ring"] == 1500);
  fs::remove_all(made);
}

TEST_CASE("make_sounds refuses a name it does not know") {
  CHECK(std::system((std::string(LATCHWORK_MAKE_SOUNDS) + " /tmp bagpipes 2> /dev/null").c_str()) != 0);
}

}  // namespace
