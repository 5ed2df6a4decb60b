// The room as the explorer steps it: locations, and what one scan of the whole room makes of each.
//
// A location is the state of all controllers with each clock replaced by its interval, the messages that are
// on their way, and the watch of a promise. Every scan is played by the runtime that ships, at the low and at
// the high end of the location's intervals; where the two ends part in anything but clocks that moved on, a
// bound was missing, and that is an error of ours (std::logic_error), never a verdict. All controllers scan
// at the same instants, in the order of the file; a message is taken in by any scan from its sending on until
// its link's delay has passed (9.2). Input values are no part of a location: any value may come in any scan,
// which is the wider assumption of docs/meaning.md 2.6. Tests: tests/unit/explore, tests/explore.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <vector>

#include "explore/incidents.hpp"
#include "explore/inputs.hpp"
#include "explore/slice.hpp"
#include "explore/zone.hpp"
#include "play/clocks.hpp"
#include "table/room_tables.hpp"

namespace lw::explore {

/// What a promise counts, by the numbers of its questions.
struct Watch {
  enum class Kind : std::uint8_t {
    then_within,  // the condition becomes true: the answer is visible at most so many scans later
    not_before,   // the condition is not visible before so many scans have gone since the session's start
    stays,        // the condition is visible in at most so many scans without a break, resets included
  };
  Kind kind{};
  std::size_t condition = 0, answer = 0;
  Count scans = 0;
  bool moment = false;  // the condition is one: each scan in which it holds counts
};

/// What somebody does in a scan, for each controller's sources and each channel.
struct Pick {
  std::vector<std::uint8_t> choices;    // by source, all controllers' one after the other; 255 unread
  std::vector<std::uint8_t> commands;   // by controller: bits of Command
  std::vector<std::uint8_t> overrides;  // by controller: 1 + prop, 0 none
  std::vector<std::uint8_t> taken;      // by channel: messages
};
constexpr std::uint8_t kUnread = 0xFF, kUnknown = 0xFE;
enum Command : std::uint8_t {
  kStart = 1,  // the operator's
  kEnd = 2,
  kReset = 4,
  kHeard = 8,        // the session is heard to have started
  kEndHeard = 16,    // it is heard to have ended
  kResetHeard = 32,  // a newer epoch is heard
  kRestart = 64,     // power was gone for a moment before the scan
  kNoPower = 128,    // it is gone in this scan
};

/// A source as it stands: what it is, and for how many scans it has been so.
struct Stands {
  std::uint8_t choice = kUnread;
  std::int64_t scans = 0;
};

using LocationId = std::uint32_t;

/// Where an outcome leads when the clocks that moved on lie in these intervals.
struct Landing {
  std::vector<Interval> moved;  // by clock that moved on or stopped, in the order of the clocks
  LocationId to = 0;
  std::vector<std::pair<bool, Count>> clocks;  // of the place: which moved clock it is, or its value
};

struct Outcome {
  std::string post;                      // the state after it; clocks that moved on stand at any value
  std::vector<std::uint16_t> moved;      // clocks that moved on by one; the others have their value in `post`
  std::vector<std::uint16_t> stopped;    // clocks that stand still from this scan on
  std::uint64_t answers = 0;             // by question: whether it holds in the visible state
  Pick pick;                             // one that brings it about
  bool stays = false;                    // nothing but clocks changed
  bool resets = false;                   // a reset, an operator's end or override, or a restart took part
  bool loses = false;                    // a device is lost in it
  std::vector<std::uint16_t> incidents;  // of those that are told, by their numbers (Space::incident), rising
  int like = -1;                         // an outcome before it that leads to the same places
  std::vector<Landing> landings;         // those that were come to so far
};

struct Location {
  std::string state;                  // clocks at their interval's low end
  std::vector<std::uint16_t> clocks;  // those of an interval of more than one value, rising
  std::vector<Interval> intervals;    // of those
  bool worked_out = false;
  std::vector<Outcome> outcomes;
  int stay = -1;   // the outcome in which nothing but clocks changes
  int rests = -1;  // whether time may pass in it; -1 not worked out
};

class Space {
 public:
  /// `questions` at most 64. All must outlive the space. `held_back`: an input changes only once it has stood
  /// for its debounce or settle time (2.6), and is lost only after its silence (2.3); its value and how long
  /// it has stood are then part of a location.
  Space(const Slice& slice, const std::vector<Question>& questions, const Watch* watch, bool held_back);

  /// The room as power comes, every input known.
  std::string powered_up() const;
  /// The same for each way in which the scans of controllers of different periods may lie to each other;
  /// first that in which all begin together.
  std::vector<std::string> starts() const;
  /// A state of the same slice in which inputs are not held back, as one in which they are and stand so, by
  /// source.
  std::string stood(const std::string& free_state, const std::vector<Stands>& stands) const;
  std::size_t clocks() const { return all_clocks_.size(); }
  Interval interval(const std::string& state, std::size_t clock, Count value) const;
  Count value(const std::string& state, std::size_t clock) const;
  void set(std::string& state, std::size_t clock, Count value) const;
  bool stands(const std::string& state, std::size_t clock) const;
  /// Values of a clock lie so many ticks apart, since its controller scans only so often.
  Count every(std::size_t clock) const;
  /// Ticks since the last scan of the clock's controller: the rest of each of its values by `every`.
  Count since(const std::string& state, std::size_t clock) const;
  /// Whether time may pass in it: nothing but clocks changes until all controllers have come round again.
  bool rests(LocationId id);
  /// The tick that comes next, of a round that began with all controllers together; -1 when none did.
  int tick(const std::string& state) const;

  LocationId location(std::string state, std::vector<std::uint16_t> clocks, std::vector<Interval> intervals);
  const Location& at(LocationId id) const { return *locations_[id]; }
  std::size_t locations() const { return locations_.size(); }
  /// The location with its outcomes worked out.
  const Location& worked_out(LocationId id);
  /// Where the outcome leads from there; worked out once for each combination of intervals.
  const Landing& landing(LocationId id, std::size_t outcome, const std::vector<std::uint16_t>& moving,
                         const std::vector<Interval>& intervals);
  /// All picks of a location that have this outcome's effect; for the choice of the one that changes least.
  std::vector<Pick> picks(LocationId id, std::size_t outcome, std::size_t most);

  const Slice& slice() const { return *slice_; }
  /// Whether the slice is loose, and that makes a difference.
  bool loosened() const { return loosened_; }
  /// Messages on their way over each of Slice::lines.
  std::vector<std::size_t> under_way(const std::string& state) const;
  const std::vector<Source>& sources(std::size_t controller) const { return desks_[controller].sources; }
  std::size_t first_source(std::size_t controller) const { return desks_[controller].first_source; }
  /// Whether the question's answer is yes in a visible state; no also where the state alone does not tell, as
  /// of what inputs are.
  bool is_so(const std::string& state, std::size_t question) const;
  /// Whether a room stands so, as far as it can be asked: the session, props, counters and sequences.
  Question likeness(const std::string& state) const;
  std::uint8_t prop_state(const std::string& state, std::size_t controller, std::size_t prop) const;
  bool prop_solved(const std::string& state, std::size_t controller, std::size_t prop) const;
  std::uint8_t phase(const std::string& state, std::size_t controller) const;
  /// Whether a fact of the visible state holds in it.
  bool holds(const std::string& state, std::size_t controller, const rows::RawFact& fact) const;
  /// For each controller its phase, then state and solved of each prop, then the level of each output.
  std::vector<std::uint8_t> seen(const std::string& state) const;
  /// Messages, ends of clocks and the rest told apart: more than this many on one channel are not followed.
  bool overflowed() const { return overflowed_; }
  /// Held back, inputs are slower than they need be: what is not found may be in the room.
  bool slower() const;
  /// Whether each input can be brought to rest from whatever it is.
  bool all_can_rest() const;
  /// From now on a source may only be this choice, by its place among all controllers'; -1 any. Before
  /// anything is worked out. `at_once`: inputs have their values from the first scan on.
  void pin(std::vector<int> choices, bool at_once = false) {
    pins_ = std::move(choices);
    known_at_once_ = at_once;
  }
  /// From now on a source, by its place among all controllers', is never this choice. Before anything is
  /// worked out.
  void rule_out(std::size_t source, std::uint8_t choice) { ruled_out_.emplace(source, choice); }
  /// From now on outcomes tell what happens to these props, and of outputs that are looked at. Before
  /// anything is worked out.
  void tell(Props of) {
    told_ = std::move(of);
    tells_ = true;
  }
  /// From now on a state in which `not_before` has counted less stands for those alike in which it has
  /// counted more: whatever is too early in one of those is so in it. What is found may then be in no
  /// playthrough. Before anything is searched.
  void let_count_more() { counts_more_ = true; }
  /// The clock of the location, by its place, that may be later than it is.
  std::optional<std::size_t> may_be_later(const Location& location) const;
  /// Scans, and one, since the session's start, as `not_before` has counted them with this outcome, at least;
  /// `zone` of the location. 0: no session.
  Count counted(const Location& location, const Outcome& outcome, const Zone& zone) const;
  /// Whether so much has been counted in it that nothing can be too early any more.
  bool is_late(const Location& location) const;
  /// Whether that controller and the first are of one epoch.
  bool of_one_epoch(const std::string& state, std::size_t controller) const;
  const Incident& incident(std::uint16_t number) const { return incidents_[number]; }
  /// From now on nothing more is worked out once one of them is spent; what was is not whole then.
  void limit(const Budget& budget) { budget_ = &budget; }
  bool spent() const { return ends_ != Ends::never; }
  /// "4000000 scans were tried"; what was spent, a clause.
  std::string what_was_spent() const;
  bool watch_failed(const Outcome& outcome) const;
  std::uint64_t scans() const { return scans_; }

 private:
  struct Happened {  // in a scan, besides what states come of it
    std::vector<bool> atoms;
    std::vector<std::uint16_t> incidents;  // rising
    bool resets = false, loses = false, reset_heard = false;
    bool failed = false;  // a controller that is asked for had no power
    void put_in(std::string& key) const;
  };
  struct Asked {  // by the operator, of a prop an override
    std::uint8_t command = 0, override_prop = 0;
    Count time = -1;  // what the session's time is from this scan on
  };
  // Of the sources that are read: which, and what it is.
  using Choices = std::vector<std::pair<std::uint8_t, std::uint8_t>>;
  struct Stepped : Happened {               // what a controller makes of a scan; its own atoms, in order
    std::string low, high;                  // its state
    std::string low_message, high_message;  // empty: nothing to say
    Choices choices;
    Asked asked;
  };
  struct Heard {  // the whole state with messages taken in, and a controller's block, at both ends
    std::string low, high;
    std::vector<std::uint8_t> low_block, high_block;
    std::vector<std::uint8_t> taken;
    std::uint8_t power = 0;  // kRestart where it comes back with this scan
  };
  struct Desk {  // a controller
    lw_table table{};
    std::vector<std::uint8_t> bytes;
    std::unique_ptr<Clocks> clocks;
    std::vector<Source> sources;
    std::size_t first_source = 0;
    std::size_t state = 0;  // where its state lies
    bool ends = false;      // somebody looks whether the session has ended
    bool sends = false;
    bool present = false;                                                 // else nothing of it is wanted
    std::string powered_up;                                               // its state as power comes
    Count every = 1;                                                      // ticks
    mutable std::unordered_map<std::string, std::vector<Stepped>> steps;  // by how it stands
  };
  struct Channel {
    std::uint8_t from = 0, to = 0;
    Count least = 0, most = 0;  // age at which a message may, must be taken in
    std::size_t state = 0;      // u8 head, u8 count, then slots of u16 age and the message
    std::uint16_t size = 0;     // of a message
    std::size_t peer = 0;       // the sender's part in the hearer's block
    std::size_t levels = 0;     // bits of a message that are no solved ones, which stay once heard
    std::size_t bits = 0;
  };
  struct ClockSeat {
    enum class Kind : std::uint8_t { block, message, watch, standing } kind{};
    std::uint16_t owner = 0;  // controller or channel
    std::uint16_t n = 0;      // clock, slot or source
  };
  struct Partial : Happened {  // the whole room, some of its controllers through the scan; all atoms
    std::string low, high;
    Pick pick;
  };

  std::optional<std::size_t> place_of_watch(const Location& location) const;
  void step_with(std::size_t controller, const Partial& from, std::vector<Partial>& to,
                 std::unordered_set<std::string>* seen) const;
  bool may_be_yet(const std::string& state, std::size_t controller, const Source& source,
                  const Choice& choice) const;
  bool may_become(const std::string& state, std::size_t seat, std::uint8_t choice,
                  const Source& source) const;
  bool begins_anew(std::uint8_t from, std::uint8_t to, const Source& source) const;
  std::vector<std::uint8_t> reads(std::size_t controller, const std::uint8_t* block) const;
  void play(std::size_t controller, std::vector<std::uint8_t>& block, const Asked& asked,
            const Choices& choices) const;
  void see_incidents(std::size_t controller, const std::uint8_t* before, const std::uint8_t* after,
                     std::uint8_t override_prop, std::vector<std::uint16_t>& all) const;
  Stepped step_of(std::size_t controller, const Heard& heard, const Asked& asked,
                  const Choices& choices) const;
  std::vector<Asked> asks_of(std::size_t controller, const std::uint8_t* block, bool quiet) const;
  std::vector<Asked> asks_of_parted(std::size_t controller, const std::uint8_t* block) const;
  bool goes_together(std::size_t controller, const Asked& asked, const Choices& choices) const;
  bool outlasts_reset(std::size_t controller, const std::uint8_t* block, const Source& source) const;
  bool may_fail() const {
    return (slice_->freedoms.cut || slice_->freedoms.restart) && !slice_->hears_little;
  }
  std::string powered_up(std::size_t controller) const;
  void let_power_fail(std::size_t controller, std::string& state, std::uint16_t scans) const;
  bool is_asked_for(std::size_t controller) const;
  Partial without_power(std::size_t controller, const Partial& from) const;
  std::vector<Stepped> steps_of(std::size_t controller, const Heard& heard, bool quiet,
                                bool every_pick) const;
  const std::vector<Stepped>* known_steps_of(std::size_t controller, const Heard& heard, bool quiet) const;
  std::string told_apart(std::size_t controller, const Stepped& step) const;
  std::string say(std::size_t controller, std::uint8_t* block) const;
  void send(std::size_t controller, std::string& state, const std::string& message) const;
  bool tells_nothing(const Channel& channel, const std::string& state, const std::uint8_t* message) const;
  bool take(const Channel& channel, std::string& state, std::uint8_t* block) const;
  void watch(std::string& state, std::uint64_t answers, const Partial& partial) const;
  void level_epochs(std::string& state) const;
  std::vector<Partial> partials(LocationId id, bool merge) const;
  bool goes_on() const;
  Outcome outcome_of(const Location& from, const Partial& partial) const;
  Count scans(const std::string& state, std::size_t clock) const;
  void set_scans(std::string& state, std::size_t clock, Count value) const;
  Interval interval_of_scans(const std::string& state, std::size_t clock, Count value) const;
  bool is_due(const std::string& state, std::size_t controller) const;
  void next_tick(std::string& state) const;

  const Slice* slice_;
  const std::vector<Question>* questions_;
  const Watch* watch_;
  std::vector<Desk> desks_;
  std::vector<Channel> channels_;
  std::vector<ClockSeat> all_clocks_;
  std::vector<std::pair<std::uint8_t, const rows::RawFact*>> atoms_;  // controller; null: a scan's fact
  std::vector<std::uint32_t> atom_facts_;
  struct Standing {  // of a source that is held back: u8 choice, u16 scans since it changed
    std::size_t controller = 0;
    Count steady = 0, silent = 0;  // scans
    bool held = false;
  };
  std::vector<Standing> standings_;
  std::vector<int> pins_;
  std::set<std::pair<std::size_t, std::uint8_t>> ruled_out_;
  bool known_at_once_ = false;
  Props told_;
  bool tells_ = false;
  mutable std::vector<Incident> incidents_;
  mutable std::map<Incident, std::uint16_t> incident_numbers_;
  bool held_back_ = false, loosened_ = false, counts_more_ = false;
  std::uint16_t watch_clock_ = 0;  // where there is a watch
  std::vector<Count> not_before_;  // of all sources that have one
  std::vector<Count> not_before_starts_;
  // Other controllers that the first one must have heard: their parts in its block, and by when it may and
  // must.
  std::vector<std::size_t> absent_;
  Count absent_least_ = 1, absent_most_ = 0;
  // Controllers of different periods: for each the ticks until its next scan, then what it last showed of
  // each question's facts.
  Count round_ = 1;
  std::size_t ticks_at_ = 0, shown_at_ = 0;
  std::size_t watch_at_ = 0, standings_at_ = 0, size_ = 0;
  std::vector<std::unique_ptr<Location>> locations_;
  std::unordered_map<std::string_view, LocationId> known_;
  enum class Ends : std::uint8_t { never, scans, bytes, asked } mutable ends_ = Ends::never;
  const Budget* budget_ = nullptr;
  mutable std::uint64_t bytes_ = 0;  // of locations, their outcomes and steps
  mutable bool overflowed_ = false;
  mutable std::uint64_t scans_ = 0, asks_ = 0;
};

}  // namespace lw::explore
