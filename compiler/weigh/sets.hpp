// Which sets of things weigh what a window asks for.
//
// A set is so many of each kind; how many it may be at most is the kind's count. Each thing weighs its mass,
// give or take its tolerance, so a set *surely* lands in a band when it does for all masses within the
// tolerances, *possibly* when for some, *nominally* when as written. Counts are exact; a list stops at its
// most and says so. The empty set is never counted: the bare pan is no set of things. Tests:
// tests/unit/weigh/sums_test.cpp, tests/weigh_z3.py.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "weigh/sums.hpp"

namespace lw::weigh {

struct Kind {
  std::int64_t mass_pg = 0;
  std::int64_t tolerance_pg = 0;
  std::int64_t count = 1;

  std::int64_t low_pg() const { return mass_pg > tolerance_pg ? mass_pg - tolerance_pg : 0; }
  std::int64_t high_pg() const { return add_up(mass_pg, tolerance_pg); }
};

/// True loads from `low_pg` to `high_pg`, both ends in.
struct Band {
  std::int64_t low_pg = 0, high_pg = 0;
};

/// How many of each kind, in the order of the kinds.
using Parts = std::vector<std::int64_t>;

/// What a set weighs: as written, at the least, at the most.
struct Load {
  std::int64_t nominal_pg = 0, low_pg = 0, high_pg = 0;
};
Load load_of(const std::vector<Kind>& kinds, const Parts& parts);

/// Nothing: that one was not decided within the effort.
struct Counts {
  std::optional<Count> surely, nominally, possibly;
};

enum class Which { minimal, all };

struct Listing {
  std::vector<Parts> sets;
  bool whole = true;  // else it stopped
};

class Sets {
 public:
  /// Bands up to `most_pg` can be asked for.
  Sets(std::vector<Kind> kinds, std::int64_t most_pg, Effort effort = {});

  const std::vector<Kind>& kinds() const { return kinds_; }

  /// How many sets land in the band. Nothing: not decided within the effort.
  Counts count(Band band);
  std::optional<Count> possibly(Band band);
  std::optional<Count> nominally(Band band);
  std::optional<Count> surely(Band band);

  /// The sets that possibly land in it, the fewest things first; `minimal` are those no part of which
  /// possibly lands too.
  Listing list(Band band, Which which, std::size_t most);

  std::int64_t most_pg() const { return most_pg_; }

 private:
  std::optional<Count> between(Sums& sums, Band band) const;
  bool some_wider_than(Band band) const;

  std::vector<Kind> kinds_;
  std::vector<std::size_t> order_;  // the heaviest first
  std::int64_t most_pg_;
  Effort effort_;
  bool exact_;  // no kind has a tolerance: surely, nominally and possibly are one
  Sums nominal_, low_, high_;
};

}  // namespace lw::weigh
