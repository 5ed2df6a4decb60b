// Random rooms, as text, so that one that fails can be printed, read and kept as it stands.
//
// A room is a tree of pieces of text. Whatever can be left out of it is a piece of its own, so shrinking is
// nothing but leaving pieces out of a room that still compiles. Rooms are small, their durations are a few
// scans, their windows lie side by side, and they use few devices in many conditions: what can meet, meets.
// The same seed gives the same room in every run of one build. Rejected: random models, which no person could
// read and which would never go through parse, resolve and lower. Tests: tests/oracle/differential.cpp counts
// what they use.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lw::oracle {

/// Numbers from a seed (splitmix64), the same everywhere.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next();
  /// From low to high, both in.
  int from(int low, int high);
  /// True in so many of a hundred throws.
  bool chance(int percent) { return from(1, 100) <= percent; }
  template <class T>
  const T& one_of(const std::vector<T>& all) {
    return all[static_cast<std::size_t>(from(0, static_cast<int>(all.size()) - 1))];
  }

 private:
  std::uint64_t state_;
};

struct Piece {
  std::string head;
  std::vector<Piece> parts;
  std::string separator = " ";
  std::string tail;

  Piece() = default;
  Piece(std::string text) : head(std::move(text)) {}
  Piece(const char* text) : head(text) {}
  Piece(std::string before, std::vector<Piece> inside, std::string between, std::string after)
      : head(std::move(before)),
        parts(std::move(inside)),
        separator(std::move(between)),
        tail(std::move(after)) {}
};

/// The text, with its lines set in by their braces.
std::string render(const Piece& piece);

/// Full rooms are for playing: several controllers, many devices, sessions of an hour. Small ones are for
/// looking at every way in which they may go: one or two inputs, durations of up to 3 scans, a session of a
/// few scans or without end, promises of every form.
enum class Size : std::uint8_t { full, small };

/// The text of a room that most likely compiles.
Piece random_room(Dice& dice, Size size = Size::full);

/// The file that every random room uses, and its name.
extern const char* const kBoardsFile;
extern const char* const kBoardsText;

}  // namespace lw::oracle
