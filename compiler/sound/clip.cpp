// Reads sound files by libsndfile. See clip.hpp for what is promised; tests/unit/sound/clip_test.cpp.
#include "sound/clip.hpp"

#include <fcntl.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <limits>
#include <memory>
#include <system_error>
#include <vector>

namespace lw::sound {
namespace {

struct CloseSound {
  void operator()(SNDFILE* file) const { sf_close(file); }
};
using Sound = std::unique_ptr<SNDFILE, CloseSound>;

std::string lower_case(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

/// The words that players and boards use; for the rest libsndfile's own file extension.
std::string kind_of(int format) {
  const int sub = format & SF_FORMAT_SUBMASK;
  switch (format & SF_FORMAT_TYPEMASK) {
    case SF_FORMAT_WAV:
    case SF_FORMAT_WAVEX:
      return "wav";
    case SF_FORMAT_OGG:
      return sub == SF_FORMAT_OPUS ? "opus" : "ogg";
    case SF_FORMAT_MPEG:
      return sub == SF_FORMAT_MPEG_LAYER_III ? "mp3" : "mp2";
    case SF_FORMAT_RF64:
      return "rf64";
    default:
      break;
  }
  int count = 0;
  sf_command(nullptr, SFC_GET_FORMAT_MAJOR_COUNT, &count, sizeof count);
  for (int i = 0; i < count; ++i) {
    SF_FORMAT_INFO info{};
    info.format = i;
    if (sf_command(nullptr, SFC_GET_FORMAT_MAJOR, &info, sizeof info) != 0) continue;
    if ((info.format & SF_FORMAT_TYPEMASK) == (format & SF_FORMAT_TYPEMASK))
      return lower_case(info.extension);
  }
  return "other";
}

std::string encoding_of(int format) {
  SF_FORMAT_INFO info{};
  info.format = format & SF_FORMAT_SUBMASK;
  if (sf_command(nullptr, SFC_GET_FORMAT_INFO, &info, sizeof info) != 0 || info.name == nullptr) return "";
  return info.name;
}

std::string system_words(int error) { return std::generic_category().message(error); }

/// Opened without blocking and looked at afterwards, so that a pipe of that name cannot hang the compiler.
int open_plain_file(const std::string& path, ClipError& error) {
  const int fd = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
  if (fd < 0) {
    const int cause = errno;
    const bool missing = cause == ENOENT || cause == ENOTDIR;
    error = {missing ? ClipFault::missing : ClipFault::unreadable,
             missing ? "is not there" : "cannot be read: " + system_words(cause)};
    return -1;
  }
  struct stat info {};
  if (::fstat(fd, &info) != 0) {
    error = {ClipFault::unreadable, "cannot be read: " + system_words(errno)};
  } else if (S_ISDIR(info.st_mode)) {
    error = {ClipFault::unreadable, "is a folder"};
  } else if (!S_ISREG(info.st_mode)) {
    error = {ClipFault::unreadable, "is not a plain file"};
  } else if (info.st_size == 0) {
    error = {ClipFault::empty, "is an empty file"};
  } else {
    return fd;
  }
  ::close(fd);
  return -1;
}

bool last_frame_reads(SNDFILE* file, const SF_INFO& info) {
  if (info.seekable == 0) return true;
  if (sf_seek(file, info.frames - 1, SEEK_SET) != info.frames - 1) return false;
  std::vector<float> frame(static_cast<std::size_t>(info.channels));
  return sf_readf_float(file, frame.data(), 1) == 1;
}

}  // namespace

bool operator==(const ClipInfo& a, const ClipInfo& b) {
  return a.kind == b.kind && a.encoding == b.encoding && a.frames == b.frames && a.rate_hz == b.rate_hz &&
         a.channels == b.channels && a.length_ms == b.length_ms;
}

std::optional<std::int64_t> length_ms(std::int64_t frames, std::int32_t rate_hz) {
  if (rate_hz <= 0 || frames < 0) return std::nullopt;
  const std::int64_t seconds = frames / rate_hz;
  const std::int64_t rest = frames % rate_hz;
  if (seconds > std::numeric_limits<std::int64_t>::max() / 1000 - 1) return std::nullopt;
  return seconds * 1000 + (rest * 1000 + rate_hz - 1) / rate_hz;
}

std::optional<ClipInfo> read_clip(const std::string& path, ClipError& error) {
  const int fd = open_plain_file(path, error);
  if (fd < 0) return std::nullopt;
  SF_INFO info{};
  const Sound file(sf_open_fd(fd, SFM_READ, &info, SF_TRUE));
  if (file == nullptr) {
    error = {ClipFault::not_sound, "is not a sound file that can be read"};
    return std::nullopt;
  }
  if (info.frames == 0) {
    error = {ClipFault::empty, "holds no sound"};
    return std::nullopt;
  }
  const auto length = length_ms(info.frames, info.samplerate);
  if (!length || info.channels <= 0) {
    error = {ClipFault::damaged, "states no length that can be true"};
    return std::nullopt;
  }
  if (!last_frame_reads(file.get(), info)) {
    error = {ClipFault::damaged, "breaks off before its end: it states " + std::to_string(*length) + " ms"};
    return std::nullopt;
  }
  ClipInfo clip;
  clip.kind = kind_of(info.format);
  clip.encoding = encoding_of(info.format);
  clip.frames = info.frames;
  clip.rate_hz = info.samplerate;
  clip.channels = info.channels;
  clip.length_ms = *length;
  return clip;
}

}  // namespace lw::sound
