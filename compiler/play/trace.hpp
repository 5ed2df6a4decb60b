// A run told as a timeline: what players and operator do, what the room answers, and the line of text that
// answered.
//
// Whoever plays a run tells the trace each deed before it and each instant after it; runs are deterministic,
// so one is played again with a trace only when somebody wants to read it. Players' side: deeds, and what
// devices make of them (a scale settles, a device is lost or found). The room's: states, outputs changing
// level, clips, counters, the session. Tests: tests/unit/play/trace_test.cpp.
#pragma once

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "play/firings.hpp"
#include "play/room_run.hpp"
#include "play/words.hpp"
#include "text/finding.hpp"

namespace lw {

/// The deed as it is told: "3 x nugget put on balance".
std::string deed_words(const model::Room& room, const model::Deed& deed);

class Trace {
 public:
  explicit Trace(const RoomRun& run);

  /// Somebody does something.
  void happens(std::int64_t at_ms, std::string words);
  /// After RoomRun::scan() and Firings::look().
  void look(const RoomRun& run, const Firings& firings);

  /// What was told of the instants from `from_ms` to `to_ms`, times counted from `zero_ms`. Those of one
  /// instant stand together, the first with the time.
  std::vector<Event> events(std::int64_t zero_ms,
                            std::int64_t from_ms = std::numeric_limits<std::int64_t>::min(),
                            std::int64_t to_ms = std::numeric_limits<std::int64_t>::max()) const;

 private:
  struct Told {
    std::int64_t at_ms = 0;
    bool by_room = false;
    std::string words;
    std::uint32_t line = 0;
  };
  struct Seen {  // of a controller
    std::uint8_t phase = 0;
    std::vector<std::uint8_t> levels, sounding, counters, steps, lost, moving, down, peers_lost, tells;
    std::vector<std::uint32_t> timers;
  };
  /// The actions of one scan that may explain what is seen, each with the line that asked for it.
  struct Cause {
    rows::Action action;
    std::uint32_t line = 0;
  };

  Seen see(const RoomRun& run, std::size_t controller) const;
  void answers(std::string words, std::uint32_t line);
  void look(const RoomRun& run, const Firings& firings, std::size_t controller);
  void look_at_inputs(const RoomRun& run, std::size_t controller, const Seen& before, const Seen& now);
  void look_at_session(const RoomRun& run, const Seen& before, const Seen& now);
  void look_at_props(const RoomRun& run, const std::vector<PropStep>& steps, std::size_t controller);
  void look_at_outputs(const RoomRun& run, std::size_t controller, const Seen& before, const Seen& now);
  void look_at_voice(const RoomRun& run, std::size_t controller, std::size_t voice, const Seen& before);
  void look_at_rest(const RoomRun& run, std::size_t controller, const Seen& before, const Seen& now);
  std::uint32_t keep_line(const RoomRun& run, std::size_t controller, std::size_t output) const;

  Words words_;
  std::vector<Seen> seen_;
  std::vector<Told> told_;
  std::vector<Cause> causes_;  // of the controller just looked at
  std::int64_t now_ms_ = 0;
};

}  // namespace lw
