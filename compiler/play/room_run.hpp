// A whole room in virtual time: every controller's own table in the runtime that ships, the links between
// them, and the world that their inputs look at.
//
// Time is whole milliseconds from power-up. A controller scans at the multiples of its scan period, plus its
// shift; at one instant controllers scan in the order of the file. Messages take their link's delay and
// arrive in order; a first scan at or after the arrival takes them in. Everything that changes lies in one
// Snapshot, so a run can be kept, taken up again and compared; equal runs of equal deeds are equal. Nothing
// is written down while it plays: whoever wants to know looks at the blocks after an instant (firings.hpp,
// trace.hpp). Threads and wall time were rejected: a rehearsal must come out the same on every machine.
// Tests: tests/unit/play/room_run_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/model.hpp"
#include "play/stillness.hpp"
#include "play/world.hpp"
#include "runtime/runtime.h"
#include "table/room_tables.hpp"

namespace lw {

class RoomRun {
 public:
  /// Both must outlive the run. A table that the runtime refuses is our own fault: std::logic_error.
  RoomRun(const model::Room& room, const RoomTables& tables);

  const model::Room& room() const { return *room_; }
  const RoomTables& tables() const { return *tables_; }
  std::size_t controllers() const { return seats_.size(); }

  // ---- Time ----

  /// All controllers as power comes, at 0 ms, before any scan. The world stays as it is.
  void power_up();
  /// The instant of the last scan; 0 before the first.
  std::int64_t now_ms() const { return now_.now_ms; }
  /// The next instant at which any controller scans.
  std::int64_t next_scan_ms() const;
  /// Plays the next instant. Returns it.
  std::int64_t scan();
  /// Plays all instants before `ms`.
  void scan_before(std::int64_t ms);
  /// Which controllers scanned in the last instant, in file order.
  const std::vector<std::uint8_t>& scanned() const { return scanned_; }
  /// Whether this controller's last scan was like those before it: it changed nothing but clocks, in such a
  /// way that no comparison of its table tells them apart.
  bool was_still(std::size_t controller) const { return was_still_[controller]; }

  // ---- What happens ----

  /// Does one deed (not `expect`) at `at_ms`, which lies after all scans so far, or at the last of them, and
  /// not after the next. A deed that cannot be done gives the reason, a sentence, and changes nothing.
  std::optional<std::string> perform(const model::Deed& deed, std::int64_t at_ms);
  /// The operator starts the session, in the first controller's next scan.
  void start() { now_.asked[0].start = true; }
  /// For playthroughs of raw values, and to set the world at rest before power-up.
  World& world() {
    stale_ = true;
    return now_.world;
  }
  const World& world() const { return now_.world; }

  // ---- What is to be seen ----

  /// Whether the question is answered yes by the visible state.
  bool holds(const Question& question) const;
  bool holds(std::size_t controller, const rows::RawFact& fact) const;
  /// A fact of the controller's last snapshot.
  bool was(std::size_t controller, std::uint32_t fact) const;
  bool literal_was(std::size_t controller, rows::Literal literal) const {
    return was(controller, rows::fact_of(literal)) != rows::negated(literal);
  }

  const rows::Table& rows(std::size_t controller) const { return tables_->controllers[controller].rows; }
  const Symbols& symbols(std::size_t controller) const { return tables_->controllers[controller].symbols; }
  const lw_table& table(std::size_t controller) const { return seats_[controller].table; }
  const std::uint8_t* block(std::size_t controller) const {
    return now_.blocks.data() + seats_[controller].block;
  }

  /// 0 waiting, 1 its first state.
  std::uint8_t state(std::size_t controller, std::size_t prop) const;
  bool solved(std::size_t controller, std::size_t prop) const;
  /// 0 idle, 1 running, 2 ended.
  std::uint8_t phase(std::size_t controller) const;
  std::uint8_t counter(std::size_t controller, std::size_t counter) const;  // less its low end
  std::uint32_t timer(std::size_t controller, std::size_t timer) const;     // 0 stopped, else 1 + scans gone
  std::uint8_t steps_met(std::size_t controller, std::size_t sequence) const;
  /// The row of the level that is shown; of a voice the one asked.
  std::uint8_t level(std::size_t controller, std::size_t output) const;
  /// Whether props asked it for different levels in its controller's last scan (5.4).
  bool at_odds(std::size_t controller, std::size_t output) const;
  lw_sound voice(std::size_t controller, std::size_t voice) const;
  std::uint8_t percent(std::size_t controller, std::size_t output) const;
  /// The conditioned value (a word, a key, a tag or a cell); nothing while it is lost or not yet known.
  std::optional<std::uint8_t> value(std::size_t controller, std::size_t input) const;
  bool lost(std::size_t controller, std::size_t input) const;
  bool moving(std::size_t controller, std::size_t input) const;
  /// Whether every input has a value or is lost.
  bool inputs_known() const;
  /// What the controller's port read for an input row in its last scan.
  lw_raw raw(std::size_t controller, std::size_t input) const { return raws_[controller][input]; }

  /// Whether this controller's last scan was the first after power came.
  bool fresh(std::size_t controller) const { return fresh_[controller]; }
  /// Whether the operator overrode the prop in its controller's last scan.
  bool overridden(std::size_t controller, std::size_t prop) const;

  // ---- Keeping and taking up ----

 private:
  struct Asked {
    bool start = false, end = false, reset = false;
    std::vector<bool> props;  // by row
    bool any_prop = false;
  };
  struct Flight {
    std::int64_t arrives_ms = 0;
    std::uint8_t from = 0, to = 0;
    model::LinkId link{};
    std::vector<std::uint8_t> bytes;
  };
  struct Line {  // a link
    std::int64_t delay_ms = 0;
    bool cut = false;
  };
  struct Clock {
    std::int64_t shift_ms = 0;
    std::int64_t last_ms = -1;  // before the first scan
    std::int64_t next_ms = 0;
    bool silent = false;
    bool powered_anew = true;
  };

 public:
  /// Everything that changes. Copies are independent of the run.
  class Snapshot {
    friend class RoomRun;
    explicit Snapshot(World the_world) : world(std::move(the_world)) {}
    std::int64_t now_ms = 0;
    std::vector<std::uint8_t> blocks;
    std::vector<Clock> clocks;
    std::vector<Asked> asked;
    std::vector<Line> lines;
    std::vector<Flight> flights;  // by the time they were sent
    World world;
  };
  const Snapshot& keep() const { return now_; }
  /// What only the last scan showed (scanned, fresh, overridden) is forgotten.
  void take_up(const Snapshot& snapshot);

 private:
  struct Placed {
    lw_table table{};
    std::size_t block = 0;  // where its block begins
    std::int64_t scan_ms = 0;
    std::vector<std::uint8_t> operator_buttons;     // rows
    std::vector<std::vector<model::LinkId>> links;  // by other controller: those that join the two
  };

  std::uint8_t* block(std::size_t controller) { return now_.blocks.data() + seats_[controller].block; }
  void power_up(std::size_t controller);
  void refresh();
  lw_raw raw_value(std::size_t controller, std::size_t input) const;
  void scan_controller(std::size_t controller);
  void play(std::size_t controller, bool is_asked);
  bool deliver(std::size_t controller);
  bool send(std::size_t controller);
  void shift(std::size_t controller, std::int64_t by_ms, std::int64_t at_ms);
  std::int64_t delay_ms(const model::Deed& deed) const;

  const model::Room* room_;
  const RoomTables* tables_;
  std::vector<Placed> seats_;
  Snapshot now_;
  // Of the last instant.
  std::vector<std::uint8_t> scanned_;
  std::vector<bool> fresh_, was_still_;
  std::vector<std::vector<bool>> overridden_;
  // What the ports read now; good until `next_change_ms_`, unless stale.
  std::vector<std::vector<lw_raw>> raws_;
  std::int64_t next_change_ms_ = 0;
  bool stale_ = true;
  std::vector<Stillness> stillness_;
  std::vector<std::uint8_t> override_bits_, message_, before_;  // room to work in
  mutable std::vector<bool> answers_;
};

}  // namespace lw
