// A room's scales weighed: for every window on a scale, which sets of the room's things land in it.
//
// All things with a mass may come to every scale: where a thing is at the start, or what a prop gives out
// late, keeps nobody from carrying it. Counted are true loads on a scale that rounds and errs in nothing
// else; what its own error adds is `near`. Loads count without what lives on the pan, as its zero does.
// Tests: tests/unit/weigh/room_test.cpp, tests/cases/weighing.
#pragma once

#include <string>
#include <vector>

#include "model/model.hpp"
#include "weigh/scale.hpp"
#include "weigh/sets.hpp"

namespace lw::weigh {

/// How well a set lands, the best first.
enum class Grade : std::uint8_t { surely, nominally, possibly, near, not_at_all };

struct Landing {
  Parts parts;
  Load load;
  Grade grade{};
  /// From the set's masses at their worst to the nearer edge of the window; below 0: so far outside.
  std::int64_t margin_pg = 0;
};

/// A window on a scale, in the scale's own terms.
struct Place {
  model::PropId prop{};
  model::WindowId window{};
  model::InputId scale{};
  std::int64_t low = 0,
               high = 0;  // divisions that are shown: within the scale's capacity; low above high: none
  bool bounded = false;   // as written it has both ends
  Band band;              // the loads that are shown so
  /// The target's things, when it is a sum that holds some; then what it adds in plain quantities, and
  /// whether there are as many of each thing as it asks for.
  std::optional<Parts> intended;
  std::int64_t further_pg = 0;
  bool enough = true;
};

/// How a set stands to the intended one.
enum class Kinship : std::uint8_t { intended, more, part, other };

class WeighedRoom {
 public:
  explicit WeighedRoom(const model::Room& room, Effort effort = {});

  const model::Room& room() const { return room_; }
  const std::vector<model::ThingId>& things() const { return things_; }
  const std::vector<Place>& places() const { return places_; }
  Sets& sets() { return sets_; }
  const std::vector<Kind>& kinds() const { return sets_.kinds(); }
  std::int64_t most_pg() const { return sets_.most_pg(); }
  /// Where in `places` the window of that place stands.
  std::size_t index(const Place& place) const;
  const model::Window& window(const Place& place) const;
  const model::Input& scale(const Place& place) const;

  /// How the set stands in the window, its scale's own error taken at the window's high end.
  Landing landing(const Place& place, Parts parts) const;
  /// The scale's own error at the window's high end, where it is largest.
  OwnError error(const Place& place) const;
  /// That error and the division that a settled value may be behind (docs/meaning.md 2.1).
  std::int64_t reach_pg(const Place& place) const;

  /// Minimal sets that possibly land, and those that would only by the scale's own error.
  struct Landings {
    std::vector<Landing> sets;
    bool whole = true;
  };
  Landings landings(const Place& place, Which which, std::size_t most);
  Landings near(const Place& place, std::size_t most);

  Kinship kinship(const Place& place, const Parts& parts) const;

  /// "ingot + 2 x nugget".
  std::string words(const Parts& parts) const;

 private:
  const model::Room& room_;
  std::vector<model::ThingId>
      things_;  // those with a mass that some scale can carry, in the order of the text
  std::vector<Place> places_;
  Sets sets_;
};

}  // namespace lw::weigh
