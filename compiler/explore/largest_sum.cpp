// The most that parts of a room weigh together, as what a supply must give at worst.
//
// The parts are taken in groups that can be looked at one by one: first those that share a prop or an input
// which they read themselves, then those that share anything that influences them, at last all together. The
// groups' largest sums together are a bound whatever they have to do with each other. It is exact where one
// playthrough comes to it: that of one group, or those of all played as one, each waiting after the session's
// start so that all are at their most together. Only the runtime decides whether it does. Tests:
// tests/cases/measures/current*, tests/explore.
#include <algorithm>
#include <set>
#include <tuple>
#include <utility>

#include "explore/courses.hpp"
#include "explore/measures.hpp"
#include "explore/slice.hpp"

namespace lw {

namespace {

constexpr std::size_t kMostParts = 64;  // of one question to the explorer

using explore::Part;
using explore::Props;
using explore::Slice;

/// What of a room a part has to do with: controller, kind, row.
using Shared = std::set<std::tuple<std::size_t, int, std::size_t>>;

Shared shared_by(const Slice& slice) {
  Shared shared;
  for (std::size_t c = 0; c < slice.parts.size(); ++c) {
    const Part& part = slice.parts[c];
    if (!part.present) continue;
    const auto add = [&](int kind, const std::vector<bool>& rows) {
      for (std::size_t row = 0; row < rows.size(); ++row)
        if (rows[row]) shared.emplace(c, kind, row);
    };
    add(0, part.props);
    add(1, part.timers);
    add(2, part.counters);
    add(3, part.sequences);
    // Not all inputs of the slice: some only let a session start.
    for (const rows::RawFact& fact : part.facts)
      if (fact.kind <= rows::FactKind::input_stirs) shared.emplace(c, 4, fact.a);
  }
  return shared;
}

using Group = std::vector<std::size_t>;  // parts
enum class Grouped : std::uint8_t { by_what_they_read, by_influence, together };

std::vector<Group> groups_of(const model::Room& room, const RoomTables& tables,
                             const std::vector<Weighed>& parts, Grouped how) {
  std::vector<Group> groups;
  std::vector<Shared> shared;
  for (std::size_t n = 0; n < parts.size(); ++n) {
    Group group{n};
    Shared own;
    Props frontier;
    if (how == Grouped::by_what_they_read)
      own =
          shared_by(explore::slice_of(room, tables, {parts[n].question}, {}, Freedoms(), Props(), frontier));
    if (how == Grouped::by_influence)
      own = shared_by(explore::slice_of(room, tables, {parts[n].question}, {}, Freedoms(), false));
    for (std::size_t g = 0; g < groups.size();) {
      const bool meet =
          how == Grouped::together || std::any_of(shared[g].begin(), shared[g].end(),
                                                  [&](const auto& one) { return own.count(one) != 0; });
      if (!meet) {
        ++g;
        continue;
      }
      group.insert(group.end(), groups[g].begin(), groups[g].end());
      own.insert(shared[g].begin(), shared[g].end());
      groups.erase(groups.begin() + static_cast<std::ptrdiff_t>(g));
      shared.erase(shared.begin() + static_cast<std::ptrdiff_t>(g));
    }
    std::sort(group.begin(), group.end());
    groups.push_back(std::move(group));
    shared.push_back(std::move(own));
  }
  return groups;
}

/// All as one: the session starts where the last of them starts it. `wait`: what comes after that waits until
/// all end in the same scan.
Playthrough played_as_one(const std::vector<const Playthrough*>& plays, bool wait) {
  Playthrough one;
  std::int64_t start_ms = 0;
  for (const Playthrough* const play : plays) {
    start_ms = std::max(start_ms, start_of(*play));
    one.known_ms = std::max(one.known_ms, play->known_ms);
  }
  for (const Playthrough* const play : plays)
    one.until_ms = std::max(one.until_ms, play->until_ms - start_of(*play) + start_ms);
  bool started = false;
  for (const Playthrough* const play : plays) {
    const std::int64_t begin_ms = start_of(*play);
    const std::int64_t later_ms = wait ? one.until_ms - (play->until_ms - begin_ms + start_ms) : 0;
    for (Happening happening : play->happenings) {
      const bool starts = happening.kind == Happening::Kind::start && happening.at_ms == begin_ms;
      if (starts && std::exchange(started, true)) continue;
      if (happening.at_ms != 0) happening.at_ms += start_ms - begin_ms;
      if (happening.at_ms > start_ms) happening.at_ms += later_ms;
      one.happenings.push_back(std::move(happening));
    }
  }
  std::stable_sort(one.happenings.begin(), one.happenings.end(),
                   [](const Happening& a, const Happening& b) { return a.at_ms < b.at_ms; });
  return one;
}

class Summing {
 public:
  Summing(Courses& courses, const Explorer& explorer, const std::vector<Weighed>& parts)
      : courses_(courses),
        room_(courses.room()),
        tables_(courses.tables()),
        explorer_(explorer),
        parts_(parts) {
    for (const Weighed& part : parts) done_.bound += part.weight;
  }

  Measured run(std::int64_t enough) {
    std::size_t before = 0;
    for (const Grouped how : {Grouped::by_what_they_read, Grouped::by_influence, Grouped::together}) {
      const std::vector<Group> groups = groups_of(room_, tables_, parts_, how);
      if (groups.size() == before) continue;
      before = groups.size();
      look_at(groups);
      if (done_.bound <= enough || (done_.played && done_.played->figure >= done_.bound)) break;
    }
    return std::move(done_);
  }

 private:
  void look_at(const std::vector<Group>& groups) {
    std::int64_t bound = 0;
    std::vector<Playthrough> plays;
    for (const Group& group : groups) bound += largest_of(group, plays);
    done_.bound = std::min(done_.bound, bound);
    if (plays.size() < 2) return;
    std::vector<const Playthrough*> all;
    for (const Playthrough& play : plays) all.push_back(&play);
    for (const bool wait : {true, false})
      if (try_out(played_as_one(all, wait), done_.bound)) return;
    done_.how = "the groups of outputs were looked at one by one, and played together they do not come to it";
  }

  /// The most that the group's parts weigh together, proved; and a playthrough that comes to it, if one does.
  std::int64_t largest_of(const Group& group, std::vector<Playthrough>& plays) {
    std::vector<Weighed> parts;
    std::int64_t bound = 0;
    for (const std::size_t n : group) {
      parts.push_back(parts_[n]);
      bound += parts_[n].weight;
    }
    bound = std::min(bound, done_.bound);
    if (parts.size() > kMostParts) {
      done_.how = "more outputs on one supply than are followed together";
      return bound;
    }
    while (bound > 0) {
      Explored explored = explorer_.adds_up(parts, bound);
      done_.how = std::move(explored.bound);
      if (explored.answer == Answer::proved) {
        bound = explored.most;
        continue;
      }
      if (explored.answer == Answer::undecided) {
        play_one(parts);
        break;
      }
      const Replayed replayed = replay(courses_, *explored.playthrough, adding_up(parts, bound));
      try_out(*explored.playthrough, bound);
      if (replayed.shown)
        plays.push_back(std::move(*explored.playthrough));
      else
        done_.how = "a playthrough was found that the runtime does not show: " + replayed.why_not;
      break;
    }
    return bound;
  }

  /// Where the most is not decided: whether the heaviest of them is found at least.
  void play_one(const std::vector<Weighed>& parts) {
    const Weighed& heaviest = *std::max_element(
        parts.begin(), parts.end(), [](const Weighed& a, const Weighed& b) { return a.weight < b.weight; });
    const Explored explored = explorer_.adds_up({heaviest}, heaviest.weight);
    if (explored.answer == Answer::refuted) try_out(*explored.playthrough, heaviest.weight);
  }

  /// Plays it for the sum of all parts; whether it comes to `least`. The best is kept.
  bool try_out(const Playthrough& playthrough, std::int64_t least) {
    const auto played = [&](std::int64_t sum) {
      Played one{0, playthrough, adding_up(parts_, sum), {}};
      one.replayed = replay(courses_, playthrough, one.claim);
      one.figure = one.replayed.figure;
      return one;
    };
    Played one = played(least);
    const std::int64_t best = done_.played ? done_.played->figure : 0;
    if (!one.replayed.shown && one.figure > best) one = played(one.figure);
    if (!one.replayed.shown || one.figure <= best) return false;
    one.claim.sum = one.figure;
    done_.played = std::move(one);
    return done_.played->figure >= least;
  }

  Courses& courses_;
  const model::Room& room_;
  const RoomTables& tables_;
  const Explorer& explorer_;
  const std::vector<Weighed>& parts_;
  Measured done_;
};

}  // namespace

Measured largest_sum(Courses& courses, const Explorer& explorer, const std::vector<Weighed>& parts,
                     std::int64_t enough) {
  Measured done = Summing(courses, explorer, parts).run(enough);
  done.never = done.bound == 0;
  return done;
}

}  // namespace lw
