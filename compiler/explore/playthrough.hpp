// What the explorer hands over as evidence: what players, the operator and the world do, scan by scan.
//
// Instants are those of scans, as the explorer knows them: an input's happening stands at the scan in which
// its conditioned value is new. What raw values bring that about, and whether the real runtime then does what
// was promised, is the replay's business (replay.hpp); nothing that does not replay is shown to anybody.
// Tests: tests/unit/explore, tests/cases/proofs.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lw {

struct Happening {
  enum class Kind : std::uint8_t {
    input,  // `input` has the conditioned value `value`, or its keypad has got `keys`
    lost,   // `input` is lost
    moves,  // a scale or gauge, `input`, is seen to move from this scan on, and kept from settling for
            // `takes_ms`
    start,  // the operator starts, ends or resets, at `controller`
    end,
    reset,
    override_,  // the operator overrides `prop` at its controller
    silent,     // `controller` does not hear `peer` any more (its link row) and takes it for lost
    heard,      // it hears it again
    restart,    // `controller` loses power and comes back: this is its first scan
    says,       // what `controller` says to `peer` (its link row) from this scan on takes `takes_ms`
  };
  Kind kind{};
  std::int64_t at_ms = 0;       // from power-up
  std::uint8_t controller = 0;  // in the order of the file
  std::uint8_t input = 0;       // row of the controller's table
  std::uint8_t value = 0;       // word, tag or cell as the table counts them; a button 1 down, 0 up
  std::uint8_t prop = 0;        // row
  std::uint8_t peer = 0;        // row
  bool brief = false;           // of a button that is down: let go again as soon as it was taken in
  std::string keys;             // of a keypad, the last of them in this very scan
  std::int64_t takes_ms = 0;    // 0 to the link's delay; of what moves, from when on it may settle
};

/// Whether it is done at a device, `input`.
inline bool is_of_device(const Happening& happening) {
  return happening.kind == Happening::Kind::input || happening.kind == Happening::Kind::lost ||
         happening.kind == Happening::Kind::moves;
}

/// By time. Happenings at the scan at 0 ms are how the room stands when power comes. Where no message is said
/// to take less, all take their link's whole delay, or all none, whichever shows what is claimed.
struct Playthrough {
  std::vector<Happening> happenings;
  std::int64_t known_ms = 0;  // the scan in which the last input is taken to be known first (2.5)
  std::int64_t until_ms = 0;  // the scan after which what it shows is to be seen
};

/// The session's start in the playthrough's own time: the operator's, else when all inputs are known.
inline std::int64_t start_of(const Playthrough& playthrough) {
  for (const Happening& happening : playthrough.happenings)
    if (happening.kind == Happening::Kind::start) return happening.at_ms;
  return playthrough.known_ms;
}

}  // namespace lw
