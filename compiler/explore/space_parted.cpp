// Links that are cut and controllers that lose power: what a scan may then be for one controller.
//
// Nothing of what passes between controllers is followed then. What one hears is anything that it could ever
// be: a bit of another is so or not, a session is heard to have started or ended at whatever time it says, a
// newer epoch is heard, who was heard is lost or found, all of it in any scan. That is what messages do that
// are late, lost, of another game or of one that has just come back, in whatever order; and it is more, so
// what is proved of it holds, and what is found must be shown by the runtime. Sending, delays and silence
// were followed in a first design, with every message that was ever said and may still be under way in the
// location: too many of them. A controller without power is in the state of power-up and does nothing, scan
// after scan; one that comes back goes on from there. Tests: tests/explore, tests/cases/proofs/*cut*,
// *restart*.
#include <algorithm>

#include "explore/space.hpp"
#include "explore/space_bytes.hpp"

namespace lw::explore {

/// What is heard of a session, of its end and of a reset, and what the operator asks for meanwhile.
std::vector<Space::Asked> Space::asks_of_parted(std::size_t c, const std::uint8_t* b) const {
  const Desk& desk = desks_[c];
  const Part& part = slice_->parts[c];
  const std::uint8_t phase = b[LW_AT_PHASE];
  const Freedoms& freedoms = slice_->freedoms;
  const bool begins = part.free_session && c != 0;
  const bool ends_freely = !slice_->exact && !slice_->ends_by_length;

  struct Hears {
    std::uint8_t command = 0, phase = 0;
  };
  std::vector<Hears> hears{{0, phase}};
  const auto hear = [&](int command, std::uint8_t becomes) {
    hears.push_back({static_cast<std::uint8_t>(command), becomes});
  };
  if (begins && phase == 0) hear(kHeard, 1);
  if (may_fail()) {
    if (begins && phase == 0 && desk.ends) hear(kHeard | kEndHeard, 2);
    if (phase == 1 && desk.ends) hear(kEndHeard, 2);
    hear(kResetHeard, 0);
    if (begins) hear(kResetHeard | kHeard, 1);
    if (begins && desk.ends) hear(kResetHeard | kHeard | kEndHeard, 2);
  }

  std::vector<Asked> asks;
  const bool by_itself = part.rows.session.starts == rows::StartKind::itself;
  for (const Hears& one : hears) {
    std::vector<Asked> now{{one.command, 0}};
    if (one.command == 0) {
      if (c == 0 && phase == 0 && (!by_itself || freedoms.operator_)) now.push_back({kStart, 0});
      if ((ends_freely || freedoms.operator_) && phase == 1 && desk.ends) now.push_back({kEnd, 0});
      if (freedoms.operator_ && phase != 0) now.push_back({kReset, 0});
    }
    if (freedoms.override_ && one.phase != 0 && !(one.command & kResetHeard))
      for (std::size_t p = 0; p < part.rows.props.size(); ++p)
        if (part.props[p] && part.rows.props[p].goal != 0 && !b[desk.table.prop_solved + p])
          now.push_back({one.command, static_cast<std::uint8_t>(p + 1)});
    asks.insert(asks.end(), now.begin(), now.end());
    // A session that is kept elsewhere is as old as it is heard to be when it is heard to have begun. Its
    // time then begins at 0 here, and may run ahead from there as it likes.
    if (c == 0 || one.phase == 0 || (phase == 2 && !(one.command & kHeard)) || !may_fail()) continue;
    const Count gone = one.command & kHeard ? 0 : static_cast<Count>(lw_get32(b + LW_AT_TIME));
    for (const Count start : desk.clocks->session_starts())
      if (start > gone)
        for (Asked asked : now)
          if (!(asked.command & kReset)) {
            asked.time = start;
            asks.push_back(asked);
          }
  }
  return asks;
}

/// Whoever hears a session begin hears the first controller, which then is not lost.
bool Space::goes_together(std::size_t c, const Asked& asked, const Choices& choices) const {
  if (!(asked.command & kHeard)) return true;
  const std::vector<rows::Peer>& peers = slice_->parts[c].rows.link.peers;
  return std::none_of(choices.begin(), choices.end(), [&](const auto& one) {
    const Source& source = desks_[c].sources[one.first];
    return source.silence && source.choices[one.second].lost &&
           peers[static_cast<std::size_t>(source.peer)].controller == 0;
  });
}

/// Whether what the source is in the scan of a reset makes any difference: it is kept, or asked for.
bool Space::outlasts_reset(std::size_t c, const std::uint8_t* b, const Source& source) const {
  if (held_back_ || source.keeps_value || source.keeps_status || source.stays || source.chained ||
      is_new(desks_[c].table, b, source))
    return true;
  return std::any_of(atoms_.begin(), atoms_.end(), [&](const auto& atom) {
    if (atom.first != c) return false;
    if (!atom.second) return true;  // of the scan
    const rows::RawFact& fact = *atom.second;
    if (source.silence)
      return fact.kind == rows::FactKind::peer_lost && static_cast<int>(fact.a) == source.peer;
    if (source.peer >= 0)
      return fact.kind == rows::FactKind::peer_says && static_cast<int>(fact.a) == source.peer &&
             fact.b == source.bit;
    if (source.prop >= 0)
      return (fact.kind == rows::FactKind::prop_in || fact.kind == rows::FactKind::prop_solved) &&
             static_cast<int>(fact.a) == source.prop;
    return speaks_of_input(fact.kind) && fact.a == source.input;
  });
}

/// The controller is as power comes; `scans` with it have begun.
void Space::let_power_fail(std::size_t c, std::string& state, std::uint16_t scans) const {
  const Desk& desk = desks_[c];
  state.replace(desk.state, desk.powered_up.size(), desk.powered_up);
  for (std::size_t n = 0; n < standings_.size(); ++n) {
    if (standings_[n].controller != c) continue;
    std::uint8_t* const at = bytes_of(state) + standings_at_ + 3 * n;
    at[0] = standings_[n].held ? kUnknown : std::uint8_t{0};
    lw_put16(at + 1, standings_[n].held ? scans : std::uint16_t{0});
  }
}

/// Whether a question speaks of the controller.
bool Space::is_asked_for(std::size_t c) const {
  return std::any_of(atoms_.begin(), atoms_.end(), [&](const auto& atom) { return atom.first == c; });
}

/// The controller has no power in this scan.
Space::Partial Space::without_power(std::size_t c, const Partial& from) const {
  const Desk& desk = desks_[c];
  Partial gone = from;
  let_power_fail(c, gone.low, 0);
  let_power_fail(c, gone.high, 0);
  gone.pick.commands[c] = kNoPower;
  gone.resets = true;
  gone.failed = gone.failed || is_asked_for(c);
  std::vector<std::uint8_t> block(lw_block_size(&desk.table));
  std::copy(desk.powered_up.begin(), desk.powered_up.end(), block.begin());
  for (std::size_t n = 0; n < atoms_.size(); ++n) {
    if (atoms_[n].first != c) continue;
    const rows::RawFact* const fact = atoms_[n].second;
    gone.atoms[n] = fact && lw_holds(&desk.table, block.data(), static_cast<std::uint8_t>(fact->kind),
                                     fact->a, fact->b, fact->c) != 0;
  }
  return gone;
}

}  // namespace lw::explore
