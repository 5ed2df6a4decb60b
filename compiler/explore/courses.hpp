// What a room does under scripts of deeds, each stretch of it played once.
//
// Scripts that are played one after the other begin alike: one deed comes a little sooner, another is put
// in, all are waited for longer. So what was played is kept as a tree of stretches: what was done in each
// and what happened, and at its end the run and the firings, to go on from. A script goes on from the
// last end that lies on its way. Which deeds are done decides all that a run does, so nothing else need
// be compared. What is claimed of rules is looked up in what happened; what is claimed of the visible
// state cannot be, so there what a watch remembers is kept at the ends too, and such a claim goes on only
// from where the same one was watched. The answer is always that of playing from power-up.
//
// Ends are kept before deeds, at the end of what was played, and while nothing is done each time half of what
// was left has gone by: what is done d scans sooner is come to in 2d. Rejected: keeping every visible state,
// which is megabytes for an hour. Tests: tests/unit/explore/courses_test.cpp.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "explore/replay.hpp"

namespace lw {

namespace explore {
class Leads;
}

class Courses {
 public:
  /// Both must outlive it.
  Courses(const model::Room& room, const RoomTables& tables);
  Courses(const Courses&) = delete;
  Courses& operator=(const Courses&) = delete;
  ~Courses();

  const model::Room& room() const { return run_.room(); }
  const RoomTables& tables() const { return run_.tables(); }

  /// Plays the script from power-up until what is claimed is seen; what is done after that is left out of it.
  /// What it exercised is added to `coverage`, when there is one: each item once.
  Replayed play(Script script, Messages messages, const Claim& claim, Coverage* coverage = nullptr);
  /// The room after all scans up to that instant.
  RoomRun run_to(const Script& script, std::int64_t ms);

  /// Ways by which props were brought on so far.
  explore::Leads& leads() { return *leads_; }

  /// Instants that were really played so far.
  std::uint64_t played() const { return played_; }

 private:
  using Line = std::pair<std::uint16_t, std::uint16_t>;  // body and rule
  /// What a watch remembers of what it has seen.
  struct Seen {
    bool shown = false;
    bool was = false;  // the question, in the scan before
    std::uint8_t phase = 0;
    std::vector<std::uint16_t> epochs;       // by controller, where one was heard or made
    std::optional<std::int64_t> start_ms;    // of the first session
    std::int64_t session_ms = 0;             // of the present one
    std::optional<std::int64_t> waiting_ms;  // since when an answer is due
    std::int64_t figure = 0;
    std::vector<std::vector<std::uint8_t>> round;  // states, since one of the moves was made in each scan
    std::optional<explore::Witness> witness;
  };
  class Watch;
  /// A rule acted or moved, by itself or with another one of its prop due in the same scan.
  struct Act {
    std::uint8_t controller = 0, prop = 0;
    Line rule;
    std::optional<Line> other;
    bool operator<(const Act& b) const {
      return std::tie(controller, prop, rule, other) < std::tie(b.controller, b.prop, b.rule, b.other);
    }
  };
  struct Watched {
    Claim claim;
    std::int64_t end_ms = 0;  // where it matters
  };
  struct Stretch {
    explicit Stretch(RoomRun::Snapshot end_, Firings firings_)
        : end(std::move(end_)), firings(std::move(firings_)) {}
    const Stretch* before = nullptr;  // null: power has just come
    std::vector<model::Deed> deeds;
    std::vector<std::pair<std::int64_t, Act>> acts;               // since power-up for the first time
    std::vector<std::pair<std::int64_t, std::size_t>> exercised;  // items of coverage, so too
    // At its end.
    std::int64_t end_ms = -1;  // of its last scan
    std::size_t done = 0;      // deeds since power-up
    std::optional<std::int64_t> start_ms;
    RoomRun::Snapshot end;
    Firings firings;
    std::vector<std::pair<std::size_t, Seen>> seen;  // by claim
    std::vector<std::unique_ptr<Stretch>> then;
    const Seen* of(std::size_t claim) const;
  };

  std::size_t number_of(const Claim& claim, std::int64_t end_ms);
  Stretch* latest(Stretch& from, const std::vector<model::Deed>& deeds, std::int64_t until_ms,
                  std::optional<std::size_t> claim) const;
  void take_up(Stretch& at);
  void keep(const std::vector<model::Deed>& deeds, std::size_t next, std::optional<std::size_t> claim,
            const Seen& seen);
  std::optional<std::string> scan(const std::vector<model::Deed>& deeds, std::size_t& next);
  std::optional<std::int64_t> looked_up(const Claim& claim) const;
  void tell(std::int64_t until_ms, Coverage* coverage) const;

  RoomRun run_;
  Firings firings_;
  Coverage coverage_;
  std::unique_ptr<Stretch> root_;  // power has just come
  Stretch* at_ = nullptr;          // the end from which the run has gone on
  // Since then.
  std::vector<std::pair<std::int64_t, Act>> acts_;
  std::vector<std::pair<std::int64_t, std::size_t>> exercised_;
  // Since power-up.
  std::set<Act> acted_;
  std::vector<bool> was_exercised_;
  std::deque<Watched> claims_;             // of the visible state
  std::size_t end_bytes_ = 0, bytes_ = 0;  // of an end; of all
  std::uint64_t played_ = 0;
  std::unique_ptr<explore::Leads> leads_;
};

}  // namespace lw
