// A build that fails, or is killed, at any one of its file operations: what stood before or the new payload
// stands, whole, and the next build leaves the new one and nothing else. Each operation of a build is counted
// and made the last one.
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <set>

#include "fixture.hpp"
#include "payload/place.hpp"
#include "payload/verify.hpp"

namespace {

using namespace lw::payload;
using namespace lw::payload::test;

enum class Fault { none, once, from_then_on, killed };

/// The real operations, but the one numbered `at` fails, or ends the process; a write is then half done.
/// Nothing is synced for real, since a killed process loses nothing that a running system holds.
class FaultyFiles : public Files {
 public:
  FaultyFiles(Fault fault, int at, bool exchanges) : fault_(fault), at_(at), exchanges_(exchanges) {}
  int count() const { return count_; }
  const std::string& failed() const { return failed_; }

  int lock_folder(const std::string& path, int& fd) override {
    return gate("lock") ? error_ : Files::lock_folder(path, fd);
  }
  int look(const std::string& path, std::optional<EntryKind>& kind) override {
    return gate("look") ? error_ : Files::look(path, kind);
  }
  int list(const std::string& path, std::vector<Entry>& entries) override {
    return gate("list") ? error_ : Files::list(path, entries);
  }
  int open_to_read(const std::string& path, Links links, int& fd, std::uint64_t& size) override {
    return gate("open_to_read") ? error_ : Files::open_to_read(path, links, fd, size);
  }
  int read(int fd, char* buffer, std::size_t size, std::size_t& got) override {
    return gate("read") ? error_ : Files::read(fd, buffer, size, got);
  }
  int create(const std::string& path, int& fd) override {
    return gate("create") ? error_ : Files::create(path, fd);
  }
  int write(int fd, const char* bytes, std::size_t size) override {
    if (is_due()) Files::write(fd, bytes, size / 2);
    return gate("write") ? error_ : Files::write(fd, bytes, size);
  }
  int sync(int) override { return gate("sync") ? error_ : 0; }
  int close(int fd) override {
    const bool fails = gate("close");
    const int error = Files::close(fd);
    return fails ? error_ : error;
  }
  int make_folder(const std::string& path) override {
    return gate("make_folder") ? error_ : Files::make_folder(path);
  }
  int sync_folder(const std::string&) override { return gate("sync_folder") ? error_ : 0; }
  int rename_folder(const std::string& from, const std::string& to) override {
    return gate("rename_folder") ? error_ : Files::rename_folder(from, to);
  }
  int exchange(const std::string& a, const std::string& b) override {
    if (gate("exchange")) return error_;
    return exchanges_ ? Files::exchange(a, b) : ENOSYS;
  }
  int remove_file(const std::string& path) override {
    return gate("remove_file") ? error_ : Files::remove_file(path);
  }
  int remove_folder(const std::string& path) override {
    return gate("remove_folder") ? error_ : Files::remove_folder(path);
  }

 private:
  bool is_due() const {
    return fault_ != Fault::none && (count_ == at_ || (fault_ == Fault::from_then_on && count_ > at_));
  }
  bool gate(const char* operation) {
    const bool due = is_due();
    ++count_;
    if (!due) return false;
    if (failed_.empty()) failed_ = operation;
    if (fault_ == Fault::killed) ::raise(SIGKILL);
    return true;
  }

  Fault fault_;
  int at_;
  bool exchanges_;
  int count_ = 0;
  int error_ = EIO;
  std::string failed_;
};

enum class Before { nothing, empty_folder, payload, moved_aside, half_written, half_removed };

PayloadRoom room_of(int edition) {
  PayloadRoom room = small_room(edition);
  room.controllers[0].clips.erase(room.controllers[0].clips.begin());  // one clip is enough here
  return room;
}

/// A folder in the state that a build is to find, and the payloads that may stand in it.
class Stage {
 public:
  explicit Stage(Before before) : before_(before) {
    pack_well(room_of(1), made_ / "old");
    old_ = snapshot(made_ / "old");
    pack_well(room_of(2), made_ / "new");
    new_ = snapshot(made_ / "new");
    reset();
  }
  std::string out() const { return folder_ / "out"; }
  const std::string& path() const { return folder_.path(); }

  void reset() {
    fs::remove_all(out());
    fs::remove_all(place().fresh());
    fs::remove_all(place().aside());
    if (before_ == Before::nothing) return;
    if (before_ == Before::empty_folder) {
      fs::create_directory(out());
      return;
    }
    fs::copy(made_ / "old", out(), fs::copy_options::recursive);
    if (before_ == Before::moved_aside) {
      fs::rename(out(), place().aside());
      fs::copy(made_ / "new", place().fresh(), fs::copy_options::recursive);
    } else if (before_ == Before::half_written) {
      fs::copy(made_ / "new", place().fresh(), fs::copy_options::recursive);
      fs::resize_file(place().fresh() + "/front/TABLE.LWT", 1);
      fs::remove_all(place().fresh() + "/vault");
    } else if (before_ == Before::half_removed) {
      fs::copy(made_ / "new", place().aside(), fs::copy_options::recursive);
      fs::remove(place().aside() + "/ROOM.JSN");
      fs::remove(place().aside() + "/front/MANIFEST.JSN");
    }
  }

  bool has_old() const { return before_ != Before::nothing && before_ != Before::empty_folder; }
  bool stands_new() const { return fs::exists(out()) && snapshot(out()) == new_; }
  /// What stood before the build: the old payload under its name, or nothing that could be taken for a
  /// payload.
  bool stands_as_before() const {
    if (has_old()) return fs::exists(out()) && snapshot(out()) == old_;
    return !fs::exists(out()) || fs::is_empty(out());
  }
  bool stands_aside() const {
    return !fs::exists(out()) && fs::exists(place().aside()) && snapshot(place().aside()) == old_;
  }
  bool is_new_and_nothing_else() const {
    const auto entries = std::distance(fs::directory_iterator(path()), fs::directory_iterator());
    return entries == 1 && stands_new();
  }
  Place place() const {
    std::string why;
    return *place_of(out(), why);
  }

 private:
  Before before_;
  Folder folder_, made_;
  Snapshot old_, new_;
};

constexpr Before kAllBefore[] = {Before::nothing,     Before::empty_folder, Before::payload,
                                 Before::moved_aside, Before::half_written, Before::half_removed};

int count_operations(Stage& stage, bool exchanges) {
  stage.reset();
  FaultyFiles files(Fault::none, 0, exchanges);
  const PackResult result = pack(room_of(2), stage.out(), files);
  INFO(result.reason);
  REQUIRE(result.outcome == Outcome::written);
  REQUIRE(stage.is_new_and_nothing_else());
  return files.count();
}

/// The next build, with nothing in its way, ends well.
void check_next_build(Stage& stage) {
  FaultyFiles files(Fault::none, 0, true);
  const PackResult result = pack(room_of(2), stage.out(), files);
  INFO(result.reason);
  CHECK(result.outcome == Outcome::written);
  CHECK(stage.is_new_and_nothing_else());
}

void fail_everywhere(Fault fault, Before before, bool exchanges) {
  Stage stage(before);
  const int operations = count_operations(stage, exchanges);
  std::set<std::string> met;
  int failures = 0;
  const auto open_files = [] {
    return std::distance(fs::directory_iterator("/proc/self/fd"), fs::directory_iterator());
  };
  const auto open_before = open_files();
  for (int at = 0; at < operations; ++at) {
    stage.reset();
    FaultyFiles files(fault, at, exchanges);
    const PackResult result = pack(room_of(2), stage.out(), files);
    CAPTURE(at);
    CAPTURE(files.failed());
    CAPTURE(result.reason);
    met.insert(files.failed());
    switch (result.outcome) {
      case Outcome::written:
        CHECK(stage.stands_new());
        break;
      case Outcome::unconfirmed:
        CHECK(stage.stands_new());
        CHECK(result.reason.find("the disk did not confirm it: Input/output error") != std::string::npos);
        break;
      case Outcome::failed: {
        ++failures;
        CHECK_FALSE(result.reason.empty());
        CHECK(result.controllers.empty());
        // A former build's moving aside is undone by the first build that can; a move of its own by itself,
        // if it can.
        const bool aside = stage.stands_aside();
        CHECK((stage.stands_as_before() || aside));
        if (aside) CHECK((before == Before::moved_aside || (!exchanges && fault == Fault::from_then_on)));
        break;
      }
    }
    if (result.outcome != Outcome::written || fault == Fault::from_then_on) check_next_build(stage);
    check_next_build(stage);
  }
  CHECK(open_files() == open_before);
  CHECK(failures > 30);
  for (const char* operation : {"lock", "look", "read", "open_to_read", "create", "write", "sync", "close",
                                "make_folder", "sync_folder"}) {
    CAPTURE(operation);
    CHECK(met.count(operation) == 1);
  }
  CHECK(met.count("exchange") == (stage.has_old() ? 1 : 0));
  CHECK(met.count("rename_folder") ==
        (stage.has_old() && exchanges && before != Before::moved_aside ? 0 : 1));
  CHECK(met.count("remove_file") == (stage.has_old() ? 1 : 0));
}

TEST_CASE("whichever file operation fails once, the old payload or the new one stands whole") {
  for (const Before before : kAllBefore) {
    CAPTURE(static_cast<int>(before));
    fail_everywhere(Fault::once, before, true);
    fail_everywhere(Fault::once, before, false);
  }
}

TEST_CASE(
    "whichever file operation is the first to fail for good, the old payload or the new one stands whole") {
  for (const Before before : kAllBefore) {
    CAPTURE(static_cast<int>(before));
    fail_everywhere(Fault::from_then_on, before, true);
    fail_everywhere(Fault::from_then_on, before, false);
  }
}

/// Whether a process of its own was killed at that operation (else it ended its build).
bool killed_at(int at, const std::string& out, bool exchanges) {
  const pid_t child = ::fork();
  if (child == 0) {
    FaultyFiles files(Fault::killed, at, exchanges);
    pack(room_of(2), out, files);
    ::_exit(0);
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  return WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL;
}

void kill_everywhere(Before before, bool exchanges) {
  Stage stage(before);
  const int operations = count_operations(stage, exchanges);
  int as_before = 0, renewed = 0, aside = 0;
  for (int at = 0; at < operations; ++at) {
    for (const bool next_fails : {false, true}) {
      stage.reset();
      CAPTURE(at);
      REQUIRE(killed_at(at, stage.out(), exchanges));
      if (stage.stands_new()) {
        ++renewed;
      } else if (stage.stands_aside()) {
        ++aside;
        CHECK((before == Before::moved_aside || !exchanges));
        CHECK(verify(stage.out()).reason.find("and the next build brings it back") != std::string::npos);
      } else {
        ++as_before;
        CHECK(stage.stands_as_before());
      }
      if (next_fails) {  // a build that cannot end still brings back what was moved aside
        const bool was_new = stage.stands_new();
        PayloadRoom broken = room_of(2);
        broken.controllers[0].clips[0].source = stage.out() + "/none.wav";
        FaultyFiles files(Fault::none, 0, exchanges);
        CHECK(pack(broken, stage.out(), files).outcome == Outcome::failed);
        CHECK((was_new ? stage.stands_new() : stage.stands_as_before()));
        CHECK_FALSE(fs::exists(stage.place().fresh()));
        CHECK_FALSE(fs::exists(stage.place().aside()));
      }
      check_next_build(stage);
    }
  }
  stage.reset();
  CHECK_FALSE(killed_at(operations, stage.out(), exchanges));
  CHECK(as_before > 0);
  CHECK(renewed > 0);
  if (!stage.has_old()) CHECK(aside == 0);
  if (stage.has_old() && !exchanges) CHECK(aside > 0);
}

TEST_CASE("whichever file operation a build is killed at, the old payload or the new one stands whole") {
  for (const Before before : {Before::nothing, Before::payload, Before::moved_aside}) {
    CAPTURE(static_cast<int>(before));
    kill_everywhere(before, true);
    kill_everywhere(before, false);
  }
}

TEST_CASE(
    "every file and folder is synced before the payload takes its place, and the folder around it after") {
  class Recording : public Files {
   public:
    int create(const std::string& path, int& fd) override {
      const int error = Files::create(path, fd);
      unsynced.insert(path);
      names[fd] = path;
      return error;
    }
    int sync(int fd) override {
      unsynced.erase(names[fd]);
      return Files::sync(fd);
    }
    int make_folder(const std::string& path) override {
      unsynced.insert(path);
      return Files::make_folder(path);
    }
    int sync_folder(const std::string& path) override {
      unsynced.erase(path);
      return Files::sync_folder(path);
    }
    int rename_folder(const std::string& from, const std::string& to) override {
      return moved(Files::rename_folder(from, to));
    }
    int exchange(const std::string& a, const std::string& b) override { return moved(Files::exchange(a, b)); }
    int remove_file(const std::string& path) override {
      CHECK(unsynced.empty());  // the old payload goes only when the new one is sure
      return Files::remove_file(path);
    }
    int moved(int error) {
      CHECK(unsynced.empty());
      unsynced.insert(parent);
      ++moves;
      return error;
    }
    std::string parent;
    std::set<std::string> unsynced;
    std::map<int, std::string> names;
    int moves = 0;
  };
  const Folder folder;
  for (const int edition : {1, 2}) {
    Recording files;
    files.parent = folder.path();
    CHECK(pack(small_room(edition), folder / "out", files).outcome == Outcome::written);
    CHECK(files.moves >= 1);
    CHECK(files.unsynced.empty());
    CHECK(files.names.size() >= 1);
  }
}

TEST_CASE("a full disk is called by its name") {
  class FullDisk : public Files {
   public:
    int write(int, const char*, std::size_t) override { return ENOSPC; }
  };
  const Folder folder;
  FullDisk files;
  const PackResult result = pack(room_of(1), folder / "out", files);
  CHECK(result.outcome == Outcome::failed);
  CHECK(result.reason ==
        (folder / ".out.latchwork-new/front/CLIP0001.WAV") + " cannot be written: No space left on device");
  CHECK(fs::is_empty(folder.path()));
}

TEST_CASE("a sound file that changes between two looks at it is refused") {
  class Swapping : public Files {
   public:
    explicit Swapping(std::string victim) : victim_(std::move(victim)) {}
    int open_to_read(const std::string& path, Links links, int& fd, std::uint64_t& size) override {
      if (path == victim_)
        fs::copy_file(sample_sound("ring.wav"), victim_, fs::copy_options::overwrite_existing);
      return Files::open_to_read(path, links, fd, size);
    }

   private:
    std::string victim_;
  };
  const Folder folder;
  PayloadRoom room = room_of(1);
  room.controllers[0].clips[0].source = folder / "dull.wav";
  fs::copy_file(sample_sound("dull.wav"), folder / "dull.wav");
  Swapping files(folder / "dull.wav");
  const PackResult result = pack(room, folder / "out", files);
  CHECK(result.outcome == Outcome::failed);
  CHECK(result.reason ==
        "clip `dull`: " + (folder / "dull.wav") + " was changed while the room was built; build again");
  CHECK_FALSE(fs::exists(folder / "out"));
}

}  // namespace
