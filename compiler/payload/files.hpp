// The file operations that writing and checking a payload need, behind one seam.
//
// Each returns 0 or the system's error number, so that a test can make any one of them fail, or end the
// process there. Nothing else in payload/ touches the disk (sound/ reads clips by libsndfile). The real thing
// is the base class itself; a test derives from it. Rejected: std::filesystem, which can neither sync nor
// exchange, and follows links. Tests: tests/unit/payload/files_test.cpp, pack_failure_test.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace lw::payload {

enum class EntryKind : std::uint8_t { file, folder, link, other };

struct Entry {
  std::string name;
  EntryKind kind{};
};

enum class Links : std::uint8_t { follow, refuse };

class Files {
 public:
  Files() = default;
  Files(const Files&) = delete;
  Files& operator=(const Files&) = delete;
  virtual ~Files() = default;

  /// Waits for the only lock on a folder and holds it while `fd` is open (a process that ends lets go of it).
  /// On a file system without locks: 0, and `fd` holds none.
  virtual int lock_folder(const std::string& path, int& fd);
  /// Nothing in `kind` when there is nothing of that name; a link is not followed.
  virtual int look(const std::string& path, std::optional<EntryKind>& kind);
  /// The folder's entries without "." and "..", in the order of their bytes.
  virtual int list(const std::string& path, std::vector<Entry>& entries);

  /// Opens a plain file (else EINVAL), never waits for a pipe; `size` in bytes.
  virtual int open_to_read(const std::string& path, Links links, int& fd, std::uint64_t& size);
  /// `got` is 0 at the end of the file.
  virtual int read(int fd, char* buffer, std::size_t size, std::size_t& got);
  /// Makes a file that must not be there yet.
  virtual int create(const std::string& path, int& fd);
  virtual int write(int fd, const char* bytes, std::size_t size);
  virtual int sync(int fd);
  virtual int close(int fd);

  virtual int make_folder(const std::string& path);
  virtual int sync_folder(const std::string& path);
  /// A folder onto a free name, or onto an empty folder; never onto anything else.
  virtual int rename_folder(const std::string& from, const std::string& to);
  /// Both names at once; ENOSYS, EINVAL or EOPNOTSUPP where system or file system cannot.
  virtual int exchange(const std::string& a, const std::string& b);
  virtual int remove_file(const std::string& path);
  virtual int remove_folder(const std::string& path);
};

/// Closes what it holds; the error of closing a file that was written is asked for with close().
class OpenFile {
 public:
  explicit OpenFile(Files& files) : files_(files) {}
  ~OpenFile() { static_cast<void>(close()); }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;
  int& fd() { return fd_; }
  int close();

 private:
  Files& files_;
  int fd_ = -1;
};

/// What the system says of an error number, e.g. "No space left on device".
std::string system_words(int error);
/// "folder/name"; `name` alone in the working folder.
std::string join_path(const std::string& folder, const std::string& name);

/// A file whole, not following a link, EFBIG when it is larger than `limit`.
int read_whole(Files& files, const std::string& path, std::uint64_t limit, std::string& bytes);

}  // namespace lw::payload
