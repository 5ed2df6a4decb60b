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
  uint8_t* details;
};

/// A new conditioned value; true when it replaces a known one, so that it may make an edge (2.5).
LW_SHARED bool take(const Conditioned& in, uint8_t value) {
  const bool known = (*in.status & LW_STATUS) == LW_GOOD;
  if (!known) {
    *in.status = static_cast<uint8_t>((*in.status & ~LW_STATUS) | LW_GOOD);
    *in.flags |= LW_FLAG_STIRS;
  }
  const bool replaced = known && *in.value != value;
  *in.value = value;
  return replaced;
}

/// Counts silence, all periods of it. True in the scan in which it reaches its end (2.3, 9.3).
LW_SHARED bool falls_silent(uint8_t* silent, bool heard, uint16_t lost_after, uint16_t periods) {
  uint16_t now = 0;
  const uint16_t so_far = lw_get16(silent);
  if (!heard) now = periods >= lost_after - so_far ? lost_after : static_cast<uint16_t>(so_far + periods);
  lw_put16(silent, now);
  return now == lost_after && so_far != lost_after;
}

/// Contacts, buttons, readers, keypads, signals: a value that has been the same for steady + 1 scans. Returns
/// true when the conditioned value changed from a known one.
LW_SHARED bool debounce(const Conditioned& in, uint8_t raw, bool good, uint16_t enough) {
  uint8_t* const candidate = in.details;
  uint8_t* const count = in.details + 1;
  uint16_t run = lw_get16(count);
  if (!good)
    raw = 0, run = 0;
  else if (*candidate != raw || run == 0)
    run = 1;
  else if (run < enough)
    ++run;
  *candidate = raw;
  lw_put16(count, run);
  return run == enough && take(in, raw);
}

/// Distance from b to a, the short way round a circle.
LW_SHARED int32_t distance(int32_t a, uint8_t* b, int32_t circle) {
  int32_t d = a - static_cast<int32_t>(lw_get32(b));
  if (circle != 0) {
    const int32_t half = static_cast<int32_t>(static_cast<uint32_t>(circle) / 2);
    if (d > half) d -= circle;
    if (d < -half) d += circle;
  }
  return d;
}

/// Scales and gauges: steady while the last steady + 1 raw values lie in two neighbouring divisions. That
/// band is known by its last value, the side its other value lies on, how long the last value has been the
/// same, and how long the values have been in the band.
LW_SHARED void settle(const Conditioned& in, int32_t raw, bool good, uint16_t enough, lw_input& row) {
  uint8_t* const settled = in.details;
  uint8_t* const last = in.details + 4;
  uint8_t* const other = in.details + 8;
  uint8_t* const equal = in.details + 9;
  uint8_t* const band = in.details + 11;
  *in.status |= LW_MOVING;
  if (!good) {
    lw_zero(last, 9);
    return;
  }
  uint16_t same = lw_get16(equal);
  uint16_t within = lw_get16(band);
  int8_t side = static_cast<int8_t>(*other);
  const int32_t apart = distance(raw, last, row.circle);
  const int8_t step = within == 0 || apart < -1 || apart > 1 ? int8_t(2) : static_cast<int8_t>(apart);
  if (step == 2) {
    same = within = 0;
    side = 0;
  } else if (step != 0) {
    if (side != step) within = same;
    same = 0;
    side = static_cast<int8_t>(-step);
  }
  // Counts stand still at `enough`, which may be the largest that their bytes hold.
  if (same < enough) ++same;
  if (within < enough) ++within;
  // The other value has left the last `enough` scans; forgetting it keeps equal futures equal.
  if (same == enough) side = 0;
  lw_put32(last, static_cast<uint32_t>(raw));
  *other = static_cast<uint8_t>(side);
  lw_put16(equal, same);
  lw_put16(band, within);
  if (within < enough) return;
  *in.status = static_cast<uint8_t>(*in.status & ~LW_MOVING);
  if (*in.status == LW_GOOD) {
    const int32_t moved = distance(raw, settled, row.circle);
    if (moved >= -1 && moved <= 1) return;
  }
  lw_put32(settled, static_cast<uint32_t>(raw));
  uint8_t cell = 0;
  for (int32_t edge = 0; cell < row.edges; ++cell) {
    edge += row.edge.z();
    if (raw < edge) break;
  }
  take(in, cell);
}

/// The time since the last key moves on; past the gap the keys are forgotten. Then a new one is remembered.
LW_SHARED void keys(uint8_t* details, const lw_input& row, uint16_t periods, uint8_t key) {
  uint8_t* const kept = details + LW_KEYPAD_DETAILS;
  uint16_t since = lw_get16(details + 5);
  if (since != 0) {
    if (periods > row.gap - (since - 1)) {
      since = 0;
      lw_zero(kept, row.longest);
    } else {
      since = static_cast<uint16_t>(since + periods);
    }
  }
  if (key != 0) {
    for (uint8_t k = 1; k < row.longest; ++k) kept[k - 1] = kept[k];
    kept[row.longest - 1] = key;
    since = 1;
  }
  lw_put16(details + 5, since);
}

void peers_silence(const lw_table* t, uint8_t* block, uint16_t periods) {
  lw_peers peer(t);
  for (uint8_t n = 0; n < t->peers; ++n) {
    peer.next();
    uint8_t* const part = block + peer.part;
    uint8_t* const flags = block + t->peer_flags + n;
    if (!falls_silent(part + 1, (*flags & LW_FLAG_HEARD) != 0, peer.lost_after, periods)) continue;
    part[0] = LW_LOST;
    *flags |= LW_FLAG_STIRS;
    for (uint8_t bit = 0; bit < peer.input_bits; ++bit) lw_put_bit(part + LW_PEER_PART, bit, false);
  }
}

}  // namespace

void lw_condition(const lw_table* t, uint8_t* block, const lw_raw* raw, uint16_t periods) {
  Conditioned in{block + t->input_values, block + t->input_status, block + t->input_flags,
                 block + t->input_details};
  lw_cursor rows{t->inputs_at};
  for (uint8_t n = 0; n < t->inputs; ++n) {
    lw_input row(rows);
    const int32_t value = raw->value;
    bool good = raw->good != 0;
    const uint16_t enough = static_cast<uint16_t>(row.steady + 1);
    uint8_t silent = 3;
    if (row.kind == LW_INPUT_operator_button) {
      *in.value = 0;
      *in.status = LW_GOOD;
      if (good && value != 0) *in.flags |= LW_FLAG_EDGE;
    } else {
      if (lw_is_scale(row.kind)) {
        // Readings that no instrument gives would overflow differences; they count as none.
        if (value > 0x1FFFFFFF || value < -0x1FFFFFFF) good = false;
        if (row.circle != 0 && (value < 0 || value >= row.circle)) good = false;
        settle(in, value, good, enough, row);
        silent = 13;
      } else {
        // Contacts, buttons and signals are one thing or the other; there is no third that is neither.
        const bool many = row.kind == LW_INPUT_reader || row.kind == LW_INPUT_keypad;
        if (value < 0 || value > (many ? LW_UNKNOWN - 1 : 1)) good = false;
        const uint8_t small = static_cast<uint8_t>(value);
        uint8_t changed = debounce(in, small, good, enough) ? small : uint8_t(0);
        if (row.kind == LW_INPUT_keypad)
          keys(in.details, row, periods, changed);
        else if (row.kind != LW_INPUT_button || changed != 1)
          changed = 0;
        if (changed != 0) *in.flags |= LW_FLAG_EDGE;
      }
      if (falls_silent(in.details + silent, good, row.lost_after, periods) &&
          (*in.status & LW_STATUS) != LW_LOST) {
        *in.status = static_cast<uint8_t>((*in.status & ~LW_STATUS) | LW_LOST);
        *in.value = LW_UNKNOWN;
        *in.flags |= LW_FLAG_STIRS;
      }
    }
    ++raw;
    ++in.value;
    ++in.status;
    ++in.flags;
    in.details += row.details;
  }
  peers_silence(t, block, periods);
}

bool lw_inputs_known(const lw_table* t, const uint8_t* block) {
  for (uint8_t n = 0; n < t->inputs; ++n)
    if ((block[t->input_status + n] & LW_STATUS) == LW_NEW) return false;
  return true;
}

int32_t lw_tag(const lw_table* t, const uint8_t* tag, uint8_t length) {
  lw_cursor row{t->section[LW_SECTION_tags]};
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
