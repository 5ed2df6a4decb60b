// Section 2: from raw values to conditioned inputs, the same on every port.
//
// Each input keeps a value (a word, a key, a tag or a cell), a status and a few counts. Scale readings that
// dither between two divisions count as steady, so that the last digit's noise neither moves nor delays them.
// Tests: tests/unit/runtime/condition_test.cpp.
#include "runtime/block.h"

namespace {

struct Conditioned {
  uint8_t* value;
  uint8_t* status;
  uint8_t* flags;
};

/// A new conditioned value; true when it replaces a known one, so that it may make an edge (2.5).
bool take(Conditioned& in, uint8_t value) {
  const bool known = (*in.status & LW_STATUS) == LW_GOOD;
  if (!known) {
    *in.status = static_cast<uint8_t>((*in.status & ~LW_STATUS) | LW_GOOD);
    *in.flags |= LW_FLAG_STIRS;
  }
  const bool replaced = known && *in.value != value;
  *in.value = value;
  return replaced;
}

/// Counts silence (all periods); lost at its end (2.3).
void keep_silence(Conditioned& in, uint8_t* silent, bool good, uint16_t lost_after, uint16_t periods) {
  if (good) {
    lw_put16(silent, 0);
    return;
  }
  const uint16_t so_far = lw_get16(silent);
  const uint16_t now = static_cast<uint16_t>(periods >= lost_after - so_far ? lost_after : so_far + periods);
  lw_put16(silent, now);
  if (now == lost_after && (*in.status & LW_STATUS) != LW_LOST) {
    *in.status = static_cast<uint8_t>((*in.status & ~LW_STATUS) | LW_LOST);
    *in.value = LW_UNKNOWN;
    *in.flags |= LW_FLAG_STIRS;
  }
}

/// Contacts, buttons, readers, keypads, signals: a value that has been the same for steady + 1 scans. Returns
/// true when the conditioned value changed from a known one.
bool debounce(Conditioned& in, uint8_t* details, uint8_t raw, bool good, uint16_t steady) {
  const uint16_t enough = static_cast<uint16_t>(steady + 1);
  uint16_t run = lw_get16(details + 1);
  if (!good) {
    details[0] = 0;
    lw_put16(details + 1, 0);
    return false;
  }
  run = run != 0 && details[0] == raw ? (run < enough ? static_cast<uint16_t>(run + 1) : run) : uint16_t(1);
  details[0] = raw;
  lw_put16(details + 1, run);
  return run == enough && take(in, raw);
}

/// Distance from b to a, the short way round a circle.
int32_t distance(int32_t a, int32_t b, int32_t circle) {
  int32_t d = a - b;
  if (circle != 0) {
    if (d > circle / 2) d -= circle;
    if (d < -(circle / 2)) d += circle;
  }
  return d;
}

/// Scales and gauges: steady while the last steady + 1 raw values lie in two neighbouring divisions. That
/// band is known by its last value, the side its other value lies on, how long the last value has been the
/// same, and how long the values have been in the band.
void settle(Conditioned& in, uint8_t* details, int32_t raw, bool good, uint16_t steady, int32_t circle,
            lw_cursor edges, uint16_t edge_count) {
  const uint16_t enough = static_cast<uint16_t>(steady + 1);
  uint8_t* const settled = details;
  uint8_t* const last = details + 4;
  uint8_t* const other = details + 8;
  uint8_t* const equal = details + 9;
  uint8_t* const band = details + 11;
  if (!good) {
    lw_zero(last, 9);
    *in.status |= LW_MOVING;
    return;
  }
  uint16_t same = lw_get16(equal);
  uint16_t within = lw_get16(band);
  int8_t side = static_cast<int8_t>(*other);
  const int32_t step = within == 0 ? 2 : distance(raw, static_cast<int32_t>(lw_get32(last)), circle);
  // Counts stand still at `enough`, which may be the largest that their bytes hold.
  if (step == 0) {
    if (same < enough) ++same;
    if (within < enough) ++within;
  } else if (step == 1 || step == -1) {
    if (side != step) within = same;
    if (within < enough) ++within;
    same = 1;
    side = static_cast<int8_t>(-step);
  } else {
    same = within = 1;
    side = 0;
  }
  // The other value has left the last `enough` scans; forgetting it keeps equal futures equal.
  if (same == enough) side = 0;
  lw_put32(last, static_cast<uint32_t>(raw));
  *other = static_cast<uint8_t>(side);
  lw_put16(equal, same);
  lw_put16(band, within);
  if (within < enough) {
    *in.status |= LW_MOVING;
    return;
  }
  *in.status = static_cast<uint8_t>(*in.status & ~LW_MOVING);
  if ((*in.status & LW_STATUS) == LW_GOOD) {
    const int32_t moved = distance(raw, static_cast<int32_t>(lw_get32(settled)), circle);
    if (moved >= -1 && moved <= 1) return;
  }
  lw_put32(settled, static_cast<uint32_t>(raw));
  uint8_t cell = 0;
  int32_t edge = 0;
  for (; cell < edge_count; ++cell) {
    edge = cell == 0 ? edges.z() : edge + edges.z();
    if (raw < edge) break;
  }
  take(in, cell);
}

/// A key taken: remembered, unless the gap since the one before was too long.
void remember_key(uint8_t* details, uint8_t longest, uint8_t key) {
  uint8_t* const keys = details + LW_KEYPAD_DETAILS;
  for (uint8_t k = 1; k < longest; ++k) keys[k - 1] = keys[k];
  keys[longest - 1] = key;
  lw_put16(details + 5, 1);
}

void age_keys(uint8_t* details, uint8_t longest, uint16_t gap, uint16_t periods) {
  const uint16_t since = lw_get16(details + 5);
  if (since == 0) return;
  if (periods > gap - (since - 1)) {
    lw_put16(details + 5, 0);
    lw_zero(details + LW_KEYPAD_DETAILS, longest);
  } else {
    lw_put16(details + 5, static_cast<uint16_t>(since + periods));
  }
}

void peers_silence(const lw_table* t, uint8_t* block, uint16_t periods) {
  lw_peers peers(t);
  for (uint8_t n = 0; n < t->peers; ++n) {
    const lw_peer peer = peers.next();
    uint8_t* const part = block + peer.part;
    uint8_t* const flags = block + t->peer_flags + n;
    if (*flags & LW_FLAG_HEARD) {
      lw_put16(part + 1, 0);
      continue;
    }
    const uint16_t so_far = lw_get16(part + 1);
    if (so_far == peer.lost_after) continue;
    const uint16_t now =
        static_cast<uint16_t>(periods >= peer.lost_after - so_far ? peer.lost_after : so_far + periods);
    lw_put16(part + 1, now);
    if (now != peer.lost_after) continue;
    part[0] = LW_LOST;
    *flags |= LW_FLAG_STIRS;
    for (uint8_t bit = 0; bit < peer.input_bits; ++bit) lw_put_bit(part + LW_PEER_PART, bit, false);
  }
}

}  // namespace

void lw_condition(const lw_table* t, uint8_t* block, const lw_raw* raw, uint16_t periods) {
  uint8_t* details = block + t->input_details;
  lw_cursor row{t, t->inputs_at};
  for (uint8_t n = 0; n < t->inputs; ++n, ++raw) {
    Conditioned in{block + t->input_values + n, block + t->input_status + n, block + t->input_flags + n};
    const uint8_t kind = row.u8();
    row.u8();
    const uint16_t steady = static_cast<uint16_t>(row.v());
    const uint16_t lost_after = static_cast<uint16_t>(row.v());
    bool good = raw->good != 0;
    if (lw_is_scale(kind)) {
      const int32_t circle = static_cast<int32_t>(row.v());
      const uint16_t edges = static_cast<uint16_t>(row.v());
      const lw_cursor first = row;
      for (uint16_t e = 0; e < edges; ++e) row.v();
      // Readings that no instrument gives would overflow differences; they count as none.
      if (raw->value > 0x1FFFFFFF || raw->value < -0x1FFFFFFF) good = false;
      if (circle != 0 && (raw->value < 0 || raw->value >= circle)) good = false;
      settle(in, details, raw->value, good, steady, circle, first, edges);
      keep_silence(in, details + 13, good, lost_after, periods);
      details += LW_SCALE_DETAILS;
    } else if (kind == LW_INPUT_operator_button) {
      *in.value = 0;
      *in.status = LW_GOOD;
      if (good && raw->value != 0) *in.flags |= LW_FLAG_EDGE;
      details += LW_BINARY_DETAILS;
    } else {
      const uint8_t value = static_cast<uint8_t>(raw->value);
      // Contacts, buttons and signals are one thing or the other; there is no third that is neither.
      const bool two = kind != LW_INPUT_reader && kind != LW_INPUT_keypad;
      if (raw->value < 0 || raw->value > (two ? 1 : LW_UNKNOWN - 1)) good = false;
      const bool changed = debounce(in, details, value, good, steady);
      keep_silence(in, details + 3, good, lost_after, periods);
      if (kind == LW_INPUT_keypad) {
        const uint16_t gap = static_cast<uint16_t>(row.v());
        const uint8_t longest = row.u8();
        age_keys(details, longest, gap, periods);
        if (changed && value != 0) {
          remember_key(details, longest, value);
          *in.flags |= LW_FLAG_EDGE;
        }
        details += LW_KEYPAD_DETAILS + longest;
      } else {
        if (changed && kind == LW_INPUT_button && value == 1) *in.flags |= LW_FLAG_EDGE;
        details += LW_BINARY_DETAILS;
      }
    }
  }
  peers_silence(t, block, periods);
}

bool lw_inputs_known(const lw_table* t, const uint8_t* block) {
  for (uint8_t n = 0; n < t->inputs; ++n)
    if ((block[t->input_status + n] & LW_STATUS) == LW_NEW) return false;
  return true;
}

int32_t lw_tag(const lw_table* t, const uint8_t* tag, uint8_t length) {
  lw_cursor row{t, t->section[LW_SECTION_tags]};
  const uint8_t count = static_cast<uint8_t>(row.v());
  for (uint8_t n = 1; n <= count; ++n) {
    const uint8_t size = row.u8();
    bool same = size == length;
    for (uint8_t k = 0; k < size; ++k) {
      const uint8_t byte = row.u8();
      if (same && tag[k] != byte) same = false;
    }
    if (same) return n;
  }
  return count + 1;
}
