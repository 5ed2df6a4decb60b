// Section 9: what controllers tell each other. Levels only, whole messages, the newest counts.
//
// A message, little-endian: u64 identity of the room, u8 sender, u16 epoch, u8 session (bits 0-1 its phase;
// bits 2-3 count, around, the scans in which one of its inputs was lost, found or first
// known; bit 6 the epoch was heard or made, not that of power-up; bit 7 every input of the sender has a value
// or is lost), u32 session time in ms, the sender's bits, u16 CRC-16/MODBUS of all before. Nothing but
// lw_take reads one. Tests: link_test.cpp, epoch_test.cpp in tests/unit/runtime.
#include "runtime/block.h"

namespace {

enum : uint8_t {
  kSender = 8,
  kEpoch = 9,
  kPhase = 11,
  kTime = 12,
  kBits = 16,
  kSynced = 0x40,
  kReady = LW_PEER_READY
};
// With LW_AT_SYNCED.
enum : uint8_t { kEpochKnown = 1, kInputsKnown = 2 };

uint8_t own_bytes(const lw_table* t) { return static_cast<uint8_t>((t->own_bits + 7) / 8); }

uint16_t crc16(const uint8_t* bytes, uint16_t size) {
  uint16_t crc = 0xFFFF;
  for (; size != 0; --size) {
    crc = static_cast<uint16_t>(crc ^ *bytes++);
    for (uint8_t k = 0; k < 8; ++k) crc = static_cast<uint16_t>((crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1);
  }
  return crc;
}

void hear_session(const lw_table* t, uint8_t* b, uint8_t sender, uint8_t phase, uint32_t time_ms) {
  uint8_t& own = b[LW_AT_PHASE];
  if (own == 1 && phase == 2) {
    own = 2;
    b[LW_AT_DUE] |= 1;  // those who do not hear the sender hear it from here
  }
  // Only the first controller starts a session; whoever was away takes up its time too (9.4).
  if (own != 0 || sender != 0 || phase == 0) return;
  own = phase;
  const uint32_t scans = time_ms / t->scan_ms;
  lw_put32(b + LW_AT_TIME, scans <= LW_MAX_scans ? scans : LW_MAX_scans + 1ul);
  b[LW_AT_DUE] |= 1 | LW_FLAG_BEGAN;
}

/// 9.4: what the sender's epoch does here. False when the message is to be dropped.
bool hear_epoch(const lw_table* t, uint8_t* b, uint8_t sender, uint16_t epoch, uint8_t session) {
  int16_t newer = static_cast<int16_t>(epoch - lw_get16(b + LW_AT_EPOCH));
  // Half the circle apart neither is newer: then the first controller's is.
  if (newer == INT16_MIN && sender == 0) newer = 1;
  // That of power-up says nothing: its sender has only come back.
  if (!(session & kSynced)) return newer == 0;
  if (t->controller == 0) {
    // A newer epoch, or a session in this one while idle here: the first controller has lost power and
    // forgot. It takes the next epoch, so that the whole room begins again at one age.
    const bool forgot = newer > 0 || (newer == 0 && b[LW_AT_PHASE] == 0 && (session & 3));
    if (!forgot) return newer == 0;
    ++epoch;
  } else if (!(b[LW_AT_SYNCED] & kEpochKnown)) {
    b[LW_AT_SYNCED] |= kEpochKnown;
    b[LW_AT_DUE] |= 1;
    lw_put16(b + LW_AT_EPOCH, epoch);
    return true;
  } else if (newer <= 0) {
    return newer == 0;
  }
  lw_put16(b + LW_AT_EPOCH, epoch);
  lw_reset(t, b);
  b[LW_AT_DUE] = 1 | LW_FLAG_RESET;
  return t->controller != 0;
}

}  // namespace

uint16_t lw_message_size(const lw_table* t) {
  return static_cast<uint16_t>(LW_MESSAGE_FIXED + (t->own_bits + 7) / 8);
}

void lw_tell_others(const lw_table* t, uint8_t* b, bool changed) {
  lw_peers peer(t);
  if (peer.send_every == 0) return;
  for (uint8_t n = t->peers; n != 0; --n) peer.next();
  lw_cursor row = peer.row;
  if (row.u8() != 0) {
    // 6.5: who reads one of the inputs must not take its loss or return for a player's hand.
    uint8_t stirs = 0;
    for (uint8_t n = 0; n < t->inputs; ++n) stirs |= b[t->input_flags + n];
    if (stirs & LW_FLAG_STIRS) {
      const uint8_t count = static_cast<uint8_t>(b[LW_AT_SYNCED] + 4);
      b[LW_AT_SYNCED] = static_cast<uint8_t>((b[LW_AT_SYNCED] & ~LW_STIRRED) | (count & LW_STIRRED));
      changed = true;
    }
  }
  row.u8();
  row.u8();
  uint8_t now[(LW_MAX_bits + 7) / 8];
  lw_zero(now, sizeof now);
  const uint8_t groups = static_cast<uint8_t>(row.v16());
  lw_groups(t, row, groups, b, now, 0);
  uint8_t* const own = b + t->own_block;
  for (uint8_t k = 0; k < own_bytes(t); ++k) {
    if (own[k] != now[k]) changed = true;
    own[k] = now[k];
  }
  const uint8_t known = lw_inputs_known(t, b) ? uint8_t(kInputsKnown) : uint8_t(0);
  if ((b[LW_AT_SYNCED] & kInputsKnown) != known) {
    b[LW_AT_SYNCED] = static_cast<uint8_t>(b[LW_AT_SYNCED] ^ kInputsKnown);
    changed = true;
  }
  uint16_t countdown = lw_get16(b + LW_AT_COUNTDOWN);
  // A message that is due for its epoch or session counts like any other: the next is so long after it.
  if (changed || countdown == 0 || (b[LW_AT_DUE] & 1)) {
    b[LW_AT_DUE] |= 1;
    countdown = peer.send_every;
  }
  lw_put16(b + LW_AT_COUNTDOWN, static_cast<uint16_t>(countdown - 1));
}

uint16_t lw_say(const lw_table* t, uint8_t* b, uint8_t* out) {
  if (!(b[LW_AT_DUE] & 1)) return 0;
  b[LW_AT_DUE] = static_cast<uint8_t>(b[LW_AT_DUE] & ~1);
  for (uint8_t k = 0; k < 8; ++k) out[k] = lw_byte(t->bytes + 12 + k);
  out[kSender] = t->controller;
  out[kEpoch] = b[LW_AT_EPOCH];
  out[kEpoch + 1] = b[LW_AT_EPOCH + 1];
  uint8_t session = static_cast<uint8_t>(b[LW_AT_PHASE] | (b[LW_AT_SYNCED] & LW_STIRRED));
  if (t->controller == 0 || (b[LW_AT_SYNCED] & kEpochKnown)) session |= kSynced;
  if (b[LW_AT_SYNCED] & kInputsKnown) session |= kReady;
  out[kPhase] = session;
  // Too long for the field only with a scan of over 256 ms, after seven weeks.
  const uint32_t time = lw_get32(b + LW_AT_TIME);
  lw_put32(out + kTime, time > 0xFFFFFFFFul / t->scan_ms ? 0xFFFFFFFFul : time * t->scan_ms);
  const uint8_t bytes = own_bytes(t);
  for (uint8_t k = 0; k < bytes; ++k) out[kBits + k] = b[t->own_block + k];
  const uint8_t end = static_cast<uint8_t>(kBits + bytes);
  lw_put16(out + end, crc16(out, end));
  return static_cast<uint16_t>(end + 2);
}

uint8_t lw_take(const lw_table* t, uint8_t* b, const uint8_t* message, uint16_t size) {
  if (size < LW_MESSAGE_FIXED) return 0;
  if (crc16(message, static_cast<uint16_t>(size - 2)) != lw_get16(message + size - 2)) return 0;
  for (uint8_t k = 0; k < 8; ++k)
    if (message[k] != lw_byte(t->bytes + 12 + k)) return 0;
  const uint8_t session = message[kPhase];
  if ((session & 3) == 3) return 0;
  lw_peers peer(t);
  uint8_t* flags = b + t->peer_flags;
  for (uint8_t n = t->peers; n != 0; --n, ++flags) {
    peer.next();
    if (peer.controller != message[kSender]) continue;
    if (size != static_cast<uint16_t>(LW_MESSAGE_FIXED + peer.bytes())) return 0;
    if (!hear_epoch(t, b, peer.controller, lw_get16(message + kEpoch), session)) return 0;
    hear_session(t, b, peer.controller, session & 3, lw_get32(message + kTime));
    uint8_t* const part = b + peer.part;
    // Found, first heard, come back, or an input of its lost, found or first known: none of that makes an
    // event (6.5).
    const uint8_t status = static_cast<uint8_t>(LW_GOOD | (session & (kReady | LW_STIRRED)));
    if (part[0] != status) *flags |= LW_FLAG_STIRS;
    *flags |= LW_FLAG_HEARD;
    part[0] = status;
    lw_put16(part + 1, 0);
    const uint8_t not_solved = static_cast<uint8_t>(peer.input_bits + peer.state_bits);
    for (uint8_t bit = 0; bit < peer.bits(); ++bit) {
      const bool says = lw_bit(message + kBits, bit);
      // A solved bit once seen stays, also when its controller comes back without it (9.3).
      if (says || bit < not_solved) lw_put_bit(part + LW_PEER_PART, bit, says);
    }
    return 1;
  }
  return 0;
}
