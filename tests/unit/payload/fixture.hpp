// What the payload's tests share: a folder that goes away, a small room with real clips, and all bytes of a
// folder.
#pragma once

#include <doctest/doctest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <string>

#include "payload/pack.hpp"

namespace lw::payload::test {

namespace fs = std::filesystem;

/// Where files live in memory, if the system has such a place: thousands of builds are made and failed here.
inline fs::path quick_folder() {
  return ::access("/dev/shm", W_OK) == 0 ? fs::path("/dev/shm") : fs::temp_directory_path();
}

class Folder {
 public:
  explicit Folder(const fs::path& parent = quick_folder()) {
    std::string pattern = (parent / "lw_payload_XXXXXX").string();
    REQUIRE(::mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  ~Folder() { fs::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  const std::string& path() const { return path_; }
  std::string operator/(const std::string& name) const { return path_ + "/" + name; }

 private:
  std::string path_;
};

inline std::string sample_sound(const std::string& name) {
  return std::string(LATCHWORK_SOURCE_DIR) + "/samples/assay_office/sounds/" + name;
}

inline void put(const std::string& path, const std::string& bytes) {
  std::ofstream out(path, std::ios::binary | std::ios::trunc);
  out << bytes;
  out.close();
  REQUIRE(out.good());
}

inline std::string get(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE(in.good());
  return {std::istreambuf_iterator<char>(in), {}};
}

/// Every path below a folder, with the bytes of each file; folders end in "/".
using Snapshot = std::map<std::string, std::string>;
inline Snapshot snapshot(const std::string& folder) {
  Snapshot all;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    const std::string name = fs::relative(entry.path(), folder).string();
    if (entry.is_directory() && !entry.is_symlink()) {
      all[name + "/"];
    } else {
      all[name] = entry.is_regular_file() ? get(entry.path().string()) : "(no plain file)";
    }
  }
  return all;
}

/// Two controllers, one with two clips; `edition` changes table and symbols of both.
inline PayloadRoom small_room(int edition = 1) {
  PayloadRoom room;
  room.origin = {"The Assay Office", "00c0ffee0000000" + std::to_string(edition), "1", "0.1.0"};
  room.undecided = {"promise \"nobody gets stuck\": promises are not decided yet"};
  PayloadController front;
  front.name = "front";
  front.board = "bench8";
  front.table = {'L', 'W', 0, 1, static_cast<std::uint8_t>(edition)};
  front.symbols = "{\"edition\": " + std::to_string(edition) + "}\n";
  front.clips = {{"ring", sample_sound("ring.wav"), 1500}, {"dull", sample_sound("dull.wav"), 600}};
  PayloadController vault = front;
  vault.name = "vault";
  vault.table.push_back(9);
  vault.clips.clear();
  room.controllers = {front, vault};
  return room;
}

inline void pack_well(const PayloadRoom& room, const std::string& out) {
  const PackResult result = pack(room, out);
  INFO(result.reason);
  REQUIRE(result.outcome == Outcome::written);
}

}  // namespace lw::payload::test
