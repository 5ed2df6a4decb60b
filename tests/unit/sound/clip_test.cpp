// read_clip: lengths of files written byte by byte here, kinds of files that libsndfile writes, and every
// refusal.
#include "sound/clip.hpp"

#include <doctest/doctest.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <limits>
#include <string>
#include <vector>

namespace {

using namespace lw::sound;
namespace fs = std::filesystem;

class Folder {
 public:
  Folder() {
    std::string pattern = (fs::temp_directory_path() / "lw_sound_XXXXXX").string();
    REQUIRE(::mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  ~Folder() { fs::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::string operator/(const std::string& name) const { return (path_ / name).string(); }

 private:
  fs::path path_;
};

void put(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
  REQUIRE(fs::file_size(path) == bytes.size());
}

std::string little(std::uint32_t value, int bytes) {
  std::string out;
  for (int i = 0; i < bytes; ++i) out.push_back(static_cast<char>(value >> (8 * i) & 0xff));
  return out;
}

/// A RIFF WAVE file of 16-bit PCM as the format's own description lays it out (Microsoft and IBM, 1991).
std::string wav_bytes(std::uint32_t frames, std::uint32_t rate_hz, std::uint32_t channels) {
  const std::uint32_t frame = 2 * channels;
  std::string data;
  for (std::uint32_t i = 0; i < frames * channels; ++i) data += little(i % 251, 2);
  return "RIFF" + little(36 + frames * frame, 4) + "WAVEfmt " + little(16, 4) + little(1, 2) +
         little(channels, 2) + little(rate_hz, 4) + little(rate_hz * frame, 4) + little(frame, 2) +
         little(16, 2) + "data" + little(frames * frame, 4) + data;
}

ClipInfo read_well(const std::string& path) {
  ClipError error;
  const auto clip = read_clip(path, error);
  INFO(path << " " << error.reason);
  REQUIRE(clip.has_value());
  return *clip;
}

void refused(const std::string& path, ClipFault fault, const std::string& reason) {
  ClipError error;
  CHECK_FALSE(read_clip(path, error).has_value());
  CHECK(error.fault == fault);
  CHECK(error.reason == reason);
}

TEST_CASE("a length is rounded up to a whole millisecond") {
  CHECK(length_ms(13230, 22050) == 600);
  CHECK(length_ms(13231, 22050) == 601);
  CHECK(length_ms(13229, 22050) == 600);
  CHECK(length_ms(1, 192000) == 1);
  CHECK(length_ms(0, 8000) == 0);
  CHECK(length_ms(441, 44100) == 10);
  CHECK_FALSE(length_ms(1, 0).has_value());
  CHECK_FALSE(length_ms(1, -8000).has_value());
  CHECK_FALSE(length_ms(-1, 8000).has_value());
  constexpr auto kMost = std::numeric_limits<std::int64_t>::max();
  CHECK_FALSE(length_ms(kMost, 1).has_value());
  CHECK_FALSE(length_ms(kMost, 999).has_value());
  CHECK(length_ms(kMost, 1000000) == kMost / 1000 + 1);
}

TEST_CASE("a wav file written byte by byte reads as what it is") {
  const Folder folder;
  struct Row {
    std::uint32_t frames, rate_hz, channels;
    std::int64_t length_ms;
  };
  for (const Row& row : {Row{13230, 22050, 1, 600}, Row{13231, 22050, 1, 601}, Row{24000, 16000, 2, 1500},
                         Row{1, 8000, 1, 1}, Row{44101, 44100, 2, 1001}}) {
    put(folder / "a.wav", wav_bytes(row.frames, row.rate_hz, row.channels));
    const ClipInfo clip = read_well(folder / "a.wav");
    CHECK(clip.kind == "wav");
    CHECK(clip.encoding == "Signed 16 bit PCM");
    CHECK(clip.frames == row.frames);
    CHECK(clip.rate_hz == static_cast<std::int32_t>(row.rate_hz));
    CHECK(clip.channels == static_cast<std::int32_t>(row.channels));
    CHECK(clip.length_ms == row.length_ms);
  }
}

TEST_CASE("the kind is that of the bytes, whatever the name says") {
  const Folder folder;
  struct Row {
    int format;
    const char* kind;
  };
  for (const Row& row :
       {Row{SF_FORMAT_WAV | SF_FORMAT_FLOAT, "wav"}, Row{SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, "wav"},
        Row{SF_FORMAT_RF64 | SF_FORMAT_PCM_16, "rf64"}, Row{SF_FORMAT_AIFF | SF_FORMAT_PCM_16, "aiff"},
        Row{SF_FORMAT_AU | SF_FORMAT_ULAW, "au"}, Row{SF_FORMAT_FLAC | SF_FORMAT_PCM_16, "flac"},
        Row{SF_FORMAT_OGG | SF_FORMAT_VORBIS, "ogg"}, Row{SF_FORMAT_OGG | SF_FORMAT_OPUS, "opus"},
        Row{SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, "mp3"},
        Row{SF_FORMAT_W64 | SF_FORMAT_PCM_16, "w64"}}) {
    CAPTURE(row.kind);
    SF_INFO info{};
    info.samplerate = 48000;
    info.channels = 1;
    info.format = row.format;
    REQUIRE(sf_format_check(&info) != 0);
    const std::string path = folder / "misnamed.wav";
    SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
    REQUIRE(file != nullptr);
    const std::vector<float> silence(48000, 0.25F);
    REQUIRE(sf_writef_float(file, silence.data(), 48000) == 48000);
    REQUIRE(sf_close(file) == 0);
    const ClipInfo clip = read_well(path);
    CHECK(clip.kind == row.kind);
    CHECK_FALSE(clip.encoding.empty());
    CHECK(clip.rate_hz == 48000);
    CHECK(clip.length_ms >= 1000);  // a lossy coder may pad its last block
    CHECK(clip.length_ms <= 1100);
  }
}

TEST_CASE("what cannot be used says why") {
  const Folder folder;
  refused(folder / "none.wav", ClipFault::missing, "is not there");
  put(folder / "file", "x");
  refused(folder / "file/none.wav", ClipFault::missing, "is not there");
  fs::create_directory(folder / "folder.wav");
  refused(folder / "folder.wav", ClipFault::unreadable, "is a folder");
  put(folder / "nothing.wav", "");
  refused(folder / "nothing.wav", ClipFault::empty, "is an empty file");
  put(folder / "silent.wav", wav_bytes(0, 8000, 1));
  refused(folder / "silent.wav", ClipFault::empty, "holds no sound");
  put(folder / "text.wav", "This is a letter, not a sound.\n");
  refused(folder / "text.wav", ClipFault::not_sound, "is not a sound file that can be read");
  put(folder / "head.wav", wav_bytes(100, 8000, 1).substr(0, 20));
  refused(folder / "head.wav", ClipFault::not_sound, "is not a sound file that can be read");
  refused(std::string(5000, 'a'), ClipFault::unreadable, "cannot be read: File name too long");
  fs::create_symlink("loop.wav", folder / "loop.wav");
  refused(folder / "loop.wav", ClipFault::unreadable, "cannot be read: Too many levels of symbolic links");
}

TEST_CASE("a pipe is refused and not waited for") {
  const Folder folder;
  REQUIRE(::mkfifo((folder / "pipe.wav").c_str(), 0600) == 0);
  refused(folder / "pipe.wav", ClipFault::unreadable, "is not a plain file");
}

TEST_CASE("a wav file that was cut short lasts as long as what is left of it") {
  const Folder folder;
  put(folder / "cut.wav", wav_bytes(8000, 8000, 1).substr(0, 44 + 2 * 800));
  CHECK(read_well(folder / "cut.wav").length_ms == 100);
}

TEST_CASE("a coded file that was cut short is refused, or lasts as long as what is left of it") {
  const Folder folder;
  for (const int format : {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, SF_FORMAT_OGG | SF_FORMAT_VORBIS}) {
    SF_INFO info{};
    info.samplerate = 16000;
    info.channels = 1;
    info.format = format;
    const std::string path = folder / "whole";
    SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
    REQUIRE(file != nullptr);
    std::vector<short> noise(64000);
    std::uint32_t state = 1;
    for (short& value : noise) {
      state = state * 1664525 + 1013904223;
      value = static_cast<short>(state >> 18);
    }
    REQUIRE(sf_writef_short(file, noise.data(), 64000) == 64000);
    REQUIRE(sf_close(file) == 0);
    fs::resize_file(path, fs::file_size(path) / 2);
    ClipError error;
    const auto clip = read_clip(path, error);
    CAPTURE(format);
    if (clip) {
      CHECK(clip->length_ms < 3000);
    } else {
      CHECK(error.fault == ClipFault::damaged);
    }
  }
}

TEST_CASE("no prefix and no single changed byte of a file's head does harm, and no file stays open") {
  const Folder folder;
  const std::string whole = wav_bytes(64, 8000, 1);
  const auto open_files = [] {
    return std::distance(fs::directory_iterator("/proc/self/fd"), fs::directory_iterator());
  };
  const auto before = open_files();
  for (std::size_t size = 1; size < whole.size(); ++size) {
    put(folder / "cut.wav", whole.substr(0, size));
    ClipError error;
    const auto clip = read_clip(folder / "cut.wav", error);
    if (clip) {
      CHECK(clip->frames <= 64);
    } else {
      CHECK_FALSE(error.reason.empty());
    }
  }
  for (std::size_t at = 0; at < 44; ++at) {
    for (const int flip : {0x01, 0x80, 0xff}) {
      std::string changed = whole;
      changed[at] = static_cast<char>(changed[at] ^ flip);
      put(folder / "changed.wav", changed);
      ClipError error;
      const auto clip = read_clip(folder / "changed.wav", error);
      if (clip) {
        CHECK(clip->length_ms >= 1);
        CHECK(clip->rate_hz > 0);
      } else {
        CHECK_FALSE(error.reason.empty());
      }
    }
  }
  CHECK(open_files() == before);
}

}  // namespace
