// See stillness.hpp.
#include "play/stillness.hpp"

#include <algorithm>
#include <limits>

#include "runtime/block.h"

namespace lw {

namespace {

/// Everything that a snapshot or what others are told may ask of a clock.
std::vector<rows::RawFact> all_facts(const rows::Table& rows) {
  std::vector<rows::RawFact> facts = rows.facts;
  facts.insert(facts.end(), rows.link.bits.begin(), rows.link.bits.end());
  return facts;
}

}  // namespace

Stillness::Stillness(const rows::Table& rows, const lw_table& table)
    : known_(std::make_shared<const Known>(rows, table)) {}

Stillness::Known::Known(const rows::Table& rows, const lw_table& from)
    : table(from), clocks(rows, table, all_facts(rows), std::vector<bool>(rows.drives.size())) {
  // 9.2: the next message.
  if (rows.link.send_every != 0) counts.push_back({LW_AT_COUNTDOWN, 0, true});
  // 9.3: silence.
  lw_peers peer(&table);
  for (const rows::Peer& row : rows.link.peers) {
    peer.next();
    counts.push_back(
        {static_cast<std::uint16_t>(peer.part + 1), static_cast<std::uint16_t>(row.lost_after - 1), false});
  }
}

void Stillness::look(const std::uint8_t* before, const std::uint8_t* after) {
  moved_.clear();
  std::uint32_t left = std::numeric_limits<std::uint32_t>::max();
  const Clocks& clocks = known_->clocks;
  expected_.assign(before, before + lw_block_size(&known_->table));
  const auto moves = [&](const Clocks::Place& place) {
    std::copy_n(after + place.at, place.width, expected_.begin() + place.at);
    moved_.push_back(place);
  };
  for (std::size_t n = 0; n < clocks.size(); ++n) {
    const Count from = clocks.value(before, n);
    const Count to = clocks.value(after, n);
    if (to != from + 1) continue;
    const Interval interval = clocks.interval(before, n, from);
    const Count last = interval.last ? clocks.top(before, n) : interval.high + 1;
    if (to > last) return end();
    left = std::min(left, static_cast<std::uint32_t>(last - to));
    moves(clocks.place(n));
  }
  for (const Count16& count : known_->counts) {
    const std::uint16_t from = lw_get16(before + count.at);
    const std::uint16_t to = lw_get16(after + count.at);
    if (to == from) continue;
    if (count.down ? to + 1 != from : to != from + 1 || to > count.end) return end();
    left = std::min<std::uint32_t>(left, count.down ? to - count.end : count.end - to);
    moves({count.at, 2, count.down});
  }
  if (!std::equal(expected_.begin(), expected_.end(), after)) return end();
  const bool alike = std::equal(
      moved_.begin(), moved_.end(), moving_.begin(), moving_.end(),
      [](const Clocks::Place& a, const Clocks::Place& b) { return a.at == b.at && a.down == b.down; });
  seen_ = alike ? seen_ + 1 : 1;
  moving_.swap(moved_);
  left_ = seen_ >= 2 ? left : 0;
}

}  // namespace lw
