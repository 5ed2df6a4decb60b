// The Assay Office three times over, for the speed of a scan: what all three take in and show.
//
// A contender plays both controllers for one instant: the front scans and speaks, then the vault. Rejected:
// only one controller without its link, which is not the work of a room. See scan.cpp.
#pragma once

#include <cstdint>

namespace lw::bench {

/// What the ports read in one instant.
struct Inputs {
  std::int32_t balance = 0;  // divisions of 1 g
  bool balance_good = true;
  bool ledger_shut = true, ledger_good = true;
  bool start = false;  // asked by the operator, at the front
};

/// What is to be seen after it.
struct Shown {
  std::uint8_t blue = 0, red = 0, drawer = 0, way_out = 0;  // percent
  std::uint8_t sounds = 0, clip = 0, begins = 0;
  std::uint8_t pan_empty = 0, ledger_shut = 0, cable_lost = 0;  // ready, ready, tell
};

class Contender {
 public:
  virtual ~Contender() = default;
  virtual void power_up() = 0;
  virtual void scan(const Inputs& in) = 0;
  virtual Shown shown() = 0;
};

/// By hand, as a switch over states (by_hand.cpp).
class ByHand final : public Contender {
 public:
  void power_up() override;
  void scan(const Inputs& in) override;
  Shown shown() override;

  struct Message {
    std::uint8_t bytes[19];
    bool due = false;
  };
  struct Silence {
    std::uint8_t status = 0;  // 0 never heard, 1 heard, 2 lost
    std::uint16_t silent = 0;
    bool solved = false;
  };
  struct Speech {
    std::uint16_t countdown = 0;
    bool said_solved = false, said_known = false;
    std::uint8_t said_phase = 0xFF;
  };
  struct Front {
    std::int32_t settled, last;
    std::int8_t other;
    std::uint16_t equal, band, silent;
    std::uint8_t status, cell;  // of the balance: 0 new, 1 good, 2 lost
    std::uint8_t phase, state, solved;
    std::uint32_t time;
    std::uint8_t fair_run;
    std::uint16_t light_run, heavy_run;
    std::uint8_t blue_level, red_level, drawer_level;  // 0 off, 1 on, 2 blinking
    std::uint32_t blue_left, red_left, drawer_left, clip_left;
    std::uint8_t blue_asked, red_asked, drawer_asked;
    std::uint16_t red_phase;
    std::uint8_t clip, begins;
    std::uint8_t pan_empty, cable_lost;
    Silence vault;
    Speech speech;
  };
  struct Vault {
    std::uint8_t candidate;
    std::uint16_t equal, silent;
    std::uint8_t status, value;
    std::uint8_t phase, began, strongroom, solved, exit_door;
    std::uint32_t time;
    std::uint8_t lifted_run, secured, ledger_shut;
    Silence front;
    Speech speech;
  };

 private:
  Front front_{};
  Vault vault_{};
  Message to_vault_{}, to_front_{};
};

}  // namespace lw::bench
