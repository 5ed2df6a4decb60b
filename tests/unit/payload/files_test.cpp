// The real file operations: what they refuse, and that none of them follows a link or waits for a pipe.
#include "payload/files.hpp"

#include <fcntl.h>
#include <sys/stat.h>

#include <cerrno>

#include "fixture.hpp"

namespace {

using namespace lw::payload;
using namespace lw::payload::test;

TEST_CASE("what is looked at is told apart, links not followed") {
  const Folder folder;
  Files files;
  put(folder / "file", "x");
  fs::create_directory(folder / "folder");
  fs::create_symlink("folder", folder / "link");
  REQUIRE(::mkfifo((folder / "pipe").c_str(), 0600) == 0);
  std::optional<EntryKind> kind;
  const auto look = [&](const std::string& name) {
    CHECK(files.look(folder / name, kind) == 0);
    return kind;
  };
  CHECK(look("file") == EntryKind::file);
  CHECK(look("folder") == EntryKind::folder);
  CHECK(look("link") == EntryKind::link);
  CHECK(look("pipe") == EntryKind::other);
  CHECK(look("none") == std::nullopt);
  CHECK(look("file/none") == std::nullopt);

  std::vector<Entry> entries;
  REQUIRE(files.list(folder.path(), entries) == 0);
  REQUIRE(entries.size() == 4);
  CHECK(entries[0].name == "file");
  CHECK(entries[2].name == "link");
  CHECK(entries[2].kind == EntryKind::link);
  CHECK(entries[3].kind == EntryKind::other);
  CHECK(files.list(folder / "file", entries) == ENOTDIR);
  CHECK(files.list(folder / "none", entries) == ENOENT);
}

TEST_CASE("only plain files open to be read") {
  const Folder folder;
  Files files;
  put(folder / "file", "hello");
  fs::create_symlink("file", folder / "link");
  REQUIRE(::mkfifo((folder / "pipe").c_str(), 0600) == 0);
  int fd = -1;
  std::uint64_t size = 0;
  CHECK(files.open_to_read(folder / "pipe", Links::follow, fd, size) == EINVAL);
  CHECK(files.open_to_read(folder.path(), Links::follow, fd, size) == EINVAL);
  CHECK(files.open_to_read("/dev/zero", Links::follow, fd, size) == EINVAL);
  CHECK(files.open_to_read(folder / "link", Links::refuse, fd, size) == ELOOP);
  CHECK(files.open_to_read(folder / "none", Links::follow, fd, size) == ENOENT);
  CHECK(fd == -1);
  REQUIRE(files.open_to_read(folder / "link", Links::follow, fd, size) == 0);
  CHECK(size == 5);
  CHECK(files.close(fd) == 0);
}

TEST_CASE("a file is read whole up to a limit") {
  const Folder folder;
  Files files;
  const std::string text(200000, 'x');
  put(folder / "file", text);
  std::string bytes;
  CHECK(read_whole(files, folder / "file", 200000, bytes) == 0);
  CHECK(bytes == text);
  CHECK(read_whole(files, folder / "file", 199999, bytes) == EFBIG);
  CHECK(read_whole(files, folder / "none", 10, bytes) == ENOENT);
  // Files of this kind say they are empty, and are not: the limit holds all the same.
  CHECK(read_whole(files, "/proc/self/status", 10, bytes) == EFBIG);
}

TEST_CASE("a file is made once") {
  const Folder folder;
  Files files;
  OpenFile file(files);
  REQUIRE(files.create(folder / "new", file.fd()) == 0);
  CHECK(files.write(file.fd(), "abc", 3) == 0);
  CHECK(files.sync(file.fd()) == 0);
  CHECK(file.close() == 0);
  CHECK(file.close() == 0);
  CHECK(get(folder / "new") == "abc");
  OpenFile again(files);
  CHECK(files.create(folder / "new", again.fd()) == EEXIST);
  CHECK(files.write(-1, "abc", 3) == EBADF);
  CHECK(files.sync_folder(folder.path()) == 0);
  CHECK(files.sync_folder(folder / "new") == ENOTDIR);
  CHECK(get(folder / "new") == "abc");
}

TEST_CASE("a full device is reported by the write") {
  Files files;
  const int full = ::open("/dev/full", O_WRONLY);
  REQUIRE(full >= 0);
  CHECK(files.write(full, "abc", 3) == ENOSPC);
  CHECK(files.close(full) == 0);
}

TEST_CASE("paths are joined as people write them") {
  CHECK(join_path(".", "out") == "out");
  CHECK(join_path("", "out") == "out");
  CHECK(join_path("/", "out") == "/out");
  CHECK(join_path("a", "out") == "a/out");
  CHECK(join_path("a/", "out") == "a/out");
}

}  // namespace
