// File operations of Linux and other systems of the POSIX kind. See files.hpp;
// tests/unit/payload/files_test.cpp.
#include "payload/files.hpp"

#include <dirent.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <memory>
#include <system_error>

namespace lw::payload {
namespace {

int result(int returned) { return returned < 0 ? errno : 0; }

EntryKind kind_of(mode_t mode) {
  if (S_ISREG(mode)) return EntryKind::file;
  if (S_ISDIR(mode)) return EntryKind::folder;
  if (S_ISLNK(mode)) return EntryKind::link;
  return EntryKind::other;
}

struct CloseFolder {
  void operator()(DIR* folder) const { ::closedir(folder); }
};

}  // namespace

int Files::lock_folder(const std::string& path, int& fd) {
  fd = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd < 0) return errno;
  int error = 0;
  do {
    error = result(::flock(fd, LOCK_EX));
  } while (error == EINTR);
  if (error == ENOLCK || error == EOPNOTSUPP || error == ENOSYS || error == EINVAL) return 0;
  return error;
}

int Files::look(const std::string& path, std::optional<EntryKind>& kind) {
  struct stat info {};
  kind.reset();
  const int error = result(::lstat(path.c_str(), &info));
  if (error == ENOENT || error == ENOTDIR) return 0;
  if (error == 0) kind = kind_of(info.st_mode);
  return error;
}

int Files::list(const std::string& path, std::vector<Entry>& entries) {
  entries.clear();
  const std::unique_ptr<DIR, CloseFolder> folder(::opendir(path.c_str()));
  if (folder == nullptr) return errno;
  for (;;) {
    errno = 0;
    const dirent* next = ::readdir(folder.get());
    if (next == nullptr) {
      if (errno != 0) return errno;
      break;
    }
    const std::string name = next->d_name;
    if (name == "." || name == "..") continue;
    struct stat info {};
    if (::fstatat(::dirfd(folder.get()), name.c_str(), &info, AT_SYMLINK_NOFOLLOW) != 0) return errno;
    entries.push_back({name, kind_of(info.st_mode)});
  }
  std::sort(entries.begin(), entries.end(), [](const Entry& a, const Entry& b) { return a.name < b.name; });
  return 0;
}

int Files::open_to_read(const std::string& path, Links links, int& fd, std::uint64_t& size) {
  const int follow = links == Links::refuse ? O_NOFOLLOW : 0;
  fd = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY | follow);
  if (fd < 0) return errno;
  struct stat info {};
  int error = result(::fstat(fd, &info));
  if (error == 0 && !S_ISREG(info.st_mode)) error = EINVAL;
  if (error == 0) {
    size = static_cast<std::uint64_t>(info.st_size);
    return 0;
  }
  ::close(fd);
  fd = -1;
  return error;
}

int Files::read(int fd, char* buffer, std::size_t size, std::size_t& got) {
  got = 0;
  for (;;) {
    const ssize_t count = ::read(fd, buffer, size);
    if (count >= 0) {
      got = static_cast<std::size_t>(count);
      return 0;
    }
    if (errno != EINTR) return errno;
  }
}

int Files::create(const std::string& path, int& fd) {
  fd = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
  return fd < 0 ? errno : 0;
}

int Files::write(int fd, const char* bytes, std::size_t size) {
  while (size > 0) {
    const ssize_t count = ::write(fd, bytes, size);
    if (count < 0) {
      if (errno == EINTR) continue;
      return errno;
    }
    bytes += count;
    size -= static_cast<std::size_t>(count);
  }
  return 0;
}

int Files::sync(int fd) { return result(::fsync(fd)); }

int Files::close(int fd) { return result(::close(fd)); }

int Files::make_folder(const std::string& path) { return result(::mkdir(path.c_str(), 0777)); }

int Files::sync_folder(const std::string& path) {
  const int fd = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd < 0) return errno;
  const int error = result(::fsync(fd));
  ::close(fd);
  return error == EINVAL ? 0 : error;  // a file system that has no such thing says so
}

int Files::rename_folder(const std::string& from, const std::string& to) {
  return result(::rename(from.c_str(), to.c_str()));
}

int Files::exchange(const std::string& a, const std::string& b) {
#ifdef RENAME_EXCHANGE
  return result(::renameat2(AT_FDCWD, a.c_str(), AT_FDCWD, b.c_str(), RENAME_EXCHANGE));
#else
  static_cast<void>(a);
  static_cast<void>(b);
  return ENOSYS;
#endif
}

int Files::remove_file(const std::string& path) { return result(::unlink(path.c_str())); }

int Files::remove_folder(const std::string& path) { return result(::rmdir(path.c_str())); }

int OpenFile::close() {
  if (fd_ < 0) return 0;
  const int error = files_.close(fd_);
  fd_ = -1;
  return error;
}

std::string system_words(int error) { return std::generic_category().message(error); }

std::string join_path(const std::string& folder, const std::string& name) {
  if (folder.empty() || folder == ".") return name;
  return folder.back() == '/' ? folder + name : folder + "/" + name;
}

int read_whole(Files& files, const std::string& path, std::uint64_t limit, std::string& bytes) {
  bytes.clear();
  OpenFile file(files);
  std::uint64_t size = 0;
  if (const int error = files.open_to_read(path, Links::refuse, file.fd(), size)) return error;
  if (size > limit) return EFBIG;
  std::vector<char> buffer(64 * 1024);
  for (;;) {
    std::size_t got = 0;
    if (const int error = files.read(file.fd(), buffer.data(), buffer.size(), got)) return error;
    if (got == 0) return 0;
    if (bytes.size() + got > limit) return EFBIG;
    bytes.append(buffer.data(), got);
  }
}

}  // namespace lw::payload
