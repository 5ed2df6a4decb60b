// The Assay Office as somebody would write it for its two controllers alone: a switch over states, no heap,
// the same conditioning (docs/meaning.md 2.1, 2.3) and messages with the same checks. Resets and epochs,
// which the bench does not play, are left out, to this one's advantage.
#include "assay.hpp"

namespace lw::bench {
namespace {

constexpr std::uint32_t kSession = 360000;

std::uint16_t crc16(const std::uint8_t* bytes, int size) {
  std::uint16_t crc = 0xFFFF;
  for (; size != 0; --size) {
    crc = static_cast<std::uint16_t>(crc ^ *bytes++);
    for (int k = 0; k < 8; ++k) crc = static_cast<std::uint16_t>((crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1);
  }
  return crc;
}

void put32(std::uint8_t* to, std::uint32_t value) {
  for (int k = 0; k < 4; ++k) to[k] = static_cast<std::uint8_t>(value >> (8 * k));
}

/// 9.2: at a change, and a third of `lost after` after the last.
void speak(ByHand::Speech& s, ByHand::Message& to, std::uint8_t sender, std::uint8_t phase,
           std::uint32_t time, bool known, bool solved) {
  const bool changed = solved != s.said_solved || known != s.said_known || phase != s.said_phase;
  if (!changed && s.countdown != 0) {
    --s.countdown;
    return;
  }
  s.countdown = 65;
  s.said_solved = solved;
  s.said_known = known;
  s.said_phase = phase;
  put32(to.bytes, 0x381C61A9);
  put32(to.bytes + 4, 0x62266838);
  to.bytes[8] = sender;
  to.bytes[9] = to.bytes[10] = 0;
  to.bytes[11] = static_cast<std::uint8_t>(phase | (known ? 0x80 : 0));
  put32(to.bytes + 12, time * 10);
  to.bytes[16] = solved;
  const std::uint16_t crc = crc16(to.bytes, 17);
  to.bytes[17] = static_cast<std::uint8_t>(crc);
  to.bytes[18] = static_cast<std::uint8_t>(crc >> 8);
  to.due = true;
}

bool hear(ByHand::Silence& peer, const ByHand::Message& m, std::uint8_t sender) {
  if (crc16(m.bytes, 17) != (m.bytes[17] | (m.bytes[18] << 8))) return false;
  if (m.bytes[8] != sender) return false;
  peer.status = 1;
  peer.silent = 0;
  if (m.bytes[16]) peer.solved = true;
  return true;
}

void listen(ByHand::Silence& peer, bool heard) {
  if (heard) return;
  if (peer.silent < 200) ++peer.silent;
  if (peer.silent == 200) peer.status = 2;
}

void balance(ByHand::Front& f, std::int32_t raw, bool good) {
  if (good) {
    const std::int32_t apart = f.band == 0 ? 2 : raw - f.last;
    if (apart < -1 || apart > 1) {
      f.equal = f.band = 0;
      f.other = 0;
    } else if (apart != 0) {
      if (f.other != apart) f.band = f.equal;
      f.equal = 0;
      f.other = static_cast<std::int8_t>(-apart);
    }
    if (f.equal < 41) ++f.equal;
    if (f.band < 41) ++f.band;
    if (f.equal == 41) f.other = 0;
    f.last = raw;
    f.silent = 0;
    const std::int32_t moved = raw - f.settled;
    if (f.band == 41 && (f.status != 1 || moved < -1 || moved > 1)) {
      f.settled = raw;
      f.status = 1;
      f.cell = raw < 5 ? 0 : raw < 570 ? 1 : raw < 641 ? 2 : 3;
    }
  } else {
    f.band = f.equal = 0;
    f.other = 0;
    if (f.silent < 100) ++f.silent;
    if (f.silent == 100) f.status = 2;
  }
}

/// A run of `for` that repeats: due at its hold, then each period.
bool repeats(std::uint16_t& run, bool holds, std::uint16_t first, std::uint16_t top) {
  if (!holds) {
    run = 0;
    return false;
  }
  run = run < top ? static_cast<std::uint16_t>(run + 1) : first;
  return run == first;
}

void play(ByHand::Front& f, std::uint8_t clip, std::uint32_t length) {
  f.clip = clip;
  f.clip_left = length;
  f.begins = 1;
}

void front(ByHand::Front& f, const Inputs& in, ByHand::Message& from, ByHand::Message& to) {
  bool heard = false;
  if (from.due) {
    heard = hear(f.vault, from, 1);
    if (heard && f.phase == 1 && (from.bytes[11] & 3) == 2) f.phase = 2;
    from.due = false;
  }
  balance(f, in.balance, in.balance_good);
  listen(f.vault, heard);
  f.begins = 0;
  // Clocks, then the session.
  if (f.blue_left != 0) --f.blue_left;
  if (f.red_left != 0) --f.red_left;
  if (f.drawer_left != 0) --f.drawer_left;
  if (f.phase == 0) {
    if (in.start && f.vault.status != 0) f.phase = 1;
  } else if (f.phase == 1) {
    ++f.time;
    if (f.time >= kSession || f.vault.solved) f.phase = 2;
  }
  const bool known = f.status == 1;
  const bool light = known && f.cell == 1, fair = known && f.cell == 2, heavy = known && f.cell == 3;
  f.pan_empty = known && f.cell == 0;
  f.cable_lost = f.status == 2 && f.state == 1;
  if (f.clip_left != 0) --f.clip_left;
  if (f.phase != 0) {
    switch (f.state) {
      case 0:
        f.state = 1;
        break;
      case 1: {
        if (!fair)
          f.fair_run = 0;
        else if (f.fair_run < 71)
          ++f.fair_run;
        if (repeats(f.light_run, light, 71, 970)) {
          f.blue_level = 1;
          f.red_level = 0;
          f.blue_left = f.red_left = 250;
        }
        if (repeats(f.heavy_run, heavy, 41, 540)) {
          f.red_level = 2;
          f.blue_level = 0;
          f.red_left = f.blue_left = 400;
          play(f, 0, 60);
        }
        if (f.fair_run == 71) {
          f.state = 2;
          f.solved = 1;
          f.drawer_level = 1;
          f.drawer_left = 1000;
          play(f, 1, 150);
        }
        break;
      }
      default:
        break;
    }
  }
  f.blue_asked = f.blue_left != 0 ? f.blue_level : 0;
  f.drawer_asked = f.drawer_left != 0 ? f.drawer_level : 0;
  const std::uint8_t red = f.red_left != 0 ? f.red_level : 0;
  if (red == 2) f.red_phase = static_cast<std::uint16_t>(f.red_asked == 2 ? (f.red_phase + 1) % 50 : 0);
  f.red_asked = red;
  speak(f.speech, to, 0, f.phase, f.time, f.status != 0, f.solved);
}

void ledger(ByHand::Vault& v, bool shut, bool good) {
  if (!good) {
    v.equal = 0;
    if (v.silent < 100) ++v.silent;
    if (v.silent == 100) v.status = 2;
    return;
  }
  v.silent = 0;
  if (v.equal == 0 || shut != v.candidate) {
    v.candidate = shut;
    v.equal = 0;
  }
  if (v.equal < 4) ++v.equal;
  if (v.equal == 4) {
    v.value = shut;
    v.status = 1;
  }
}

void vault(ByHand::Vault& v, const Inputs& in, ByHand::Message& from, ByHand::Message& to) {
  bool heard = false;
  v.began = 0;
  if (from.due) {
    heard = hear(v.front, from, 0);
    const std::uint8_t phase = from.bytes[11] & 3;
    if (heard && v.phase == 1 && phase == 2) v.phase = 2;
    if (heard && v.phase == 0 && phase != 0) {
      v.phase = phase;
      std::uint32_t time = 0;
      for (int k = 4; k-- > 0;) time = (time << 8) | from.bytes[12 + k];
      v.time = time / 10;
      v.began = 1;
    }
    from.due = false;
  }
  ledger(v, in.ledger_shut, in.ledger_good);
  listen(v.front, heard);
  if (v.phase == 1) {
    if (!v.began) ++v.time;
    if (v.time >= kSession) v.phase = 2;
  }
  const bool lifted = v.status == 1 && v.value == 0;
  v.ledger_shut = v.status == 1 && v.value == 1;
  const bool secured = v.phase == 1 && !v.solved && v.front.status != 2;
  if (v.phase != 0) {
    switch (v.strongroom) {
      case 0:
        if (v.front.solved) v.strongroom = 1;
        break;
      case 1:
        if (!lifted)
          v.lifted_run = 0;
        else if (v.lifted_run < 201)
          ++v.lifted_run;
        if (v.lifted_run == 201) {
          v.strongroom = 2;
          v.solved = 1;
        }
        break;
      default:
        break;
    }
    v.exit_door = 1;
  }
  v.secured = v.exit_door != 0 && secured;
  speak(v.speech, to, 1, v.phase, v.time, v.status != 0, v.solved);
}

}  // namespace

void ByHand::power_up() {
  front_ = Front{};
  vault_ = Vault{};
  front_.speech.said_phase = vault_.speech.said_phase = 0xFF;
  to_vault_.due = to_front_.due = false;
}

void ByHand::scan(const Inputs& in) {
  front(front_, in, to_front_, to_vault_);
  vault(vault_, in, to_vault_, to_front_);
}

Shown ByHand::shown() {
  Shown s;
  s.blue = front_.blue_asked ? 100 : 0;
  s.red = front_.red_asked == 1 || (front_.red_asked == 2 && front_.red_phase < 25) ? 100 : 0;
  s.drawer = front_.drawer_asked ? 100 : 0;
  s.way_out = vault_.secured ? 100 : 0;
  s.sounds = front_.clip_left != 0;
  s.clip = s.sounds ? front_.clip : std::uint8_t{0};
  s.begins = front_.begins;
  s.pan_empty = front_.pan_empty;
  s.ledger_shut = vault_.ledger_shut;
  s.cable_lost = front_.cable_lost;
  return s;
}

}  // namespace lw::bench
