// Section 9: what controllers tell each other, and what each makes of it.
#include <algorithm>
#include <cassert>

#include "oracle.hpp"

namespace lw::oracle {

using model::index;

namespace {

constexpr int kHalf = -0x8000;  // neither is newer

/// Counted round the circle of 16 bits: above 0 when `a` is newer (9.4).
int newer(std::uint16_t a, std::uint16_t b) {
  return static_cast<std::int16_t>(static_cast<std::uint16_t>(a - b));
}

}  // namespace

std::int64_t Controller::peer_lost_after(std::size_t peer) const {
  std::int64_t least = 0;
  for (const model::Link& link : room_.links) {
    const auto joins = [&](model::ControllerId one) {
      return std::find(link.joins.begin(), link.joins.end(), one) != link.joins.end();
    };
    if (!joins(id_) || !joins(model::ControllerId(peer))) continue;
    const std::int64_t after = scans(link.lost_after_ms);
    least = least == 0 ? after : std::min(least, after);
  }
  return least;
}

/// 9.3: silence of the other controllers; `periods` count them all.
void Controller::silence(int periods) {
  for (std::size_t c = 0; c < peers_.size(); ++c) {
    PeerState& peer = peers_[c];
    if (!hears_[c]) continue;
    if (peer.came) {
      peer.came = false;
      peer.silent = 0;
      continue;
    }
    peer.silent += periods;
    if (peer.lost || peer.silent < peer_lost_after(c)) continue;
    peer.lost = peer.stirs = true;
    coverage_.hit(peer.heard ? Rule::peer_lost : Rule::peer_never_heard);
  }
}

void Controller::forget_bits() {
  for (PeerState& peer : peers_) {
    peer.bits_new = false;
    std::fill(peer.solved_seen.begin(), peer.solved_seen.end(), false);
  }
}

/// 9.4: whether the message is of the present epoch, once what it says of its epoch has been taken in.
bool Controller::present(const Message& message) {
  if (message.of_power_up) {  // counts for nobody as newer
    if (message.epoch != epoch_ || !epoch_of_power_up_) {
      coverage_.hit(Rule::of_power_up);
      return false;
    }
  } else if (epoch_of_power_up_ || newer(message.epoch, epoch_) > 0 ||
             (is_first() && newer(message.epoch, epoch_) == kHalf)) {
    // Newer; of one that came back, the first other that it hears.
    coverage_.hit(!is_first()                                 ? (epoch_of_power_up_ ? Rule::epoch_taken_up : Rule::newer_epoch)
                  : newer(message.epoch, epoch_) == kHalf ? Rule::half_apart
                                                              : Rule::first_hears_newer);
    reset_due_ = true;
    if (is_first()) {
      next_epoch(message.epoch);
      return false;
    }
    epoch_ = message.epoch;
    epoch_of_power_up_ = false;
    forget_bits();
  } else if (message.epoch != epoch_) {
    coverage_.hit(Rule::older_epoch);
    return false;
  }
  if (is_first() && phase_ == Phase::idle && message.phase != Phase::idle) {
    coverage_.hit(Rule::first_forgot);
    next_epoch(epoch_);
    reset_due_ = true;
    return false;
  }
  return true;
}

bool Controller::take(const Message& message) {
  PeerState& peer = peers_[index(message.from)];
  if (!present(message)) return false;
  if (!peer.heard || peer.lost || (message.inputs_known && !peer.last.inputs_known)) {
    peer.stirs = true;
    coverage_.hit(!peer.heard ? Rule::peer_first_heard : peer.lost ? Rule::peer_found : Rule::peer_inputs_known);
  }
  peer.heard = peer.came = true;
  peer.lost = false;
  peer.last = message;
  peer.bits_new = true;
  const std::vector<model::Fact>& told = told_[index(message.from)];
  for (std::size_t n = 0; n < told.size(); ++n)
    if (told[n].kind == model::FactKind::prop_solved && message.bits[n]) peer.solved_seen[n] = true;
  if (message.phase == Phase::ended) heard_end_ = true;
  if (message.phase != Phase::idle && index(message.from) == 0) heard_start_ = message;
  return true;
}

Message Controller::message() const {
  Message message;
  message.from = id_;
  message.epoch = epoch_;
  message.of_power_up = epoch_of_power_up_;
  message.phase = phase_;
  message.time_ms = time_ * scan_ms_;
  message.inputs_known = inputs_known();
  for (const model::Fact& fact : told_[index(id_)]) message.bits.push_back(holds(fact));
  return message;
}

/// 9.2: when bits, epoch or session change, and every third of `lost after`.
std::optional<Message> Controller::say() {
  if (std::none_of(hears_.begin(), hears_.end(), [](bool one) { return one; })) return std::nullopt;
  const Message now = message();
  std::int64_t least = 0;
  for (std::size_t c = 0; c < peers_.size(); ++c)
    if (hears_[c]) least = least == 0 ? peer_lost_after(c) : std::min(least, peer_lost_after(c));
  const std::int64_t every = std::max<std::int64_t>(1, least / 3);
  ++since_said_;
  const bool changed = !last_said_ || last_said_->bits != now.bits || last_said_->epoch != now.epoch ||
                       last_said_->phase != now.phase || (now.inputs_known && !last_said_->inputs_known);
  if (!changed && since_said_ < every) return std::nullopt;
  coverage_.hit(changed ? Rule::said_at_change : Rule::said_in_time);
  last_said_ = now;
  since_said_ = 0;
  return now;
}

}  // namespace lw::oracle
