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
  const int age = newer(message.epoch, epoch_);
  if (message.of_power_up) {  // counts for nobody as newer
    if (age == 0) return true;
    coverage_.hit(Rule::of_power_up);
    return false;
  }
  if (epoch_of_power_up_) {  // the first other epoch that it hears
    coverage_.hit(age == 0 ? Rule::epoch_same : Rule::epoch_taken_up);
    epoch_of_power_up_ = false;
    epoch_ = message.epoch;  // it has nothing yet that could be reset
    return true;
  }
  // Half the circle apart neither is newer: then the first controller's is.
  const bool half_apart = age == kHalf && index(message.from) == 0;
  if (age > 0 || half_apart) {
    reset_due_ = true;
    if (is_first()) {
      coverage_.hit(Rule::first_hears_newer);
      next_epoch(message.epoch);
      forget_bits();
      return false;
    }
    coverage_.hit(half_apart ? Rule::half_apart : Rule::newer_epoch);
    epoch_ = message.epoch;
    epoch_moved_ = true;
    forget_bits();
    heard_.clear();  // they were of the game that is over
    return true;
  }
  if (age != 0) {
    coverage_.hit(Rule::older_epoch);
    return false;
  }
  // A reset that is due has already made it idle in its new epoch.
  const bool idle = phase_ == Phase::idle || reset_due_;
  if (is_first() && idle && message.phase != Phase::idle) {
    coverage_.hit(Rule::first_forgot);
    next_epoch(epoch_);
    forget_bits();
    reset_due_ = true;
    return false;
  }
  return true;
}

bool Controller::take(const Message& message) {
  PeerState& peer = peers_[index(message.from)];
  if (!present(message)) return false;
  if (peer.heard && !peer.lost && message.stirred != peer.last.stirred) {  // 6.5
    peer.stirs = true;
    coverage_.hit(Rule::peer_stirred);
  }
  if (!peer.heard || peer.lost || message.inputs_known != peer.last.inputs_known) {
    peer.stirs = true;
    coverage_.hit(!peer.heard            ? Rule::peer_first_heard
                  : peer.lost            ? Rule::peer_found
                  : message.inputs_known ? Rule::peer_inputs_known
                                         : Rule::peer_came_back);
  }
  peer.heard = peer.came = true;
  peer.lost = false;
  peer.last = message;
  peer.bits_new = true;
  const std::vector<model::Fact>& told = told_[index(message.from)];
  for (std::size_t n = 0; n < told.size(); ++n)
    if (told[n].kind == model::FactKind::prop_solved && message.bits[n]) peer.solved_seen[n] = true;
  heard_.push_back(message);
  return true;
}

/// What messages said of the session, in the order in which they came (9.4). Whether it began by that.
bool Controller::hear_session() {
  bool began = false;
  for (const Message& message : heard_) {
    if (phase_ == Phase::running && message.phase == Phase::ended) {
      phase_ = Phase::ended;
      coverage_.hit(Rule::ends_heard);
    } else if (phase_ == Phase::idle && index(message.from) == 0 && message.phase != Phase::idle) {
      phase_ = message.phase;
      time_ = message.time_ms / scan_ms_;
      began = true;
      coverage_.hit(time_ > 0 ? Rule::start_heard_late : Rule::start_heard);
    }
  }
  heard_.clear();
  return began;
}

/// 6.5, 9.2: told where anybody reads an input.
void Controller::count_stirs() {
  const std::vector<model::Fact>& told = told_[index(id_)];
  const bool reads = std::any_of(told.begin(), told.end(), [&](const model::Fact& fact) {
    if (fact.kind == model::FactKind::in_window)
      return !room_.props[index(fact.prop)].windows[index(fact.window)].is_empty;
    return fact.kind < model::FactKind::prop_in_state;
  });
  const bool stirs =
      std::any_of(mine_.begin(), mine_.end(), [&](model::InputId id) { return inputs_[index(id)].stirs; });
  if (reads && stirs) stirred_ = (stirred_ + 1) % 4;
}

Message Controller::message() const {
  Message message;
  message.from = id_;
  message.epoch = epoch_;
  message.of_power_up = epoch_of_power_up_;
  message.phase = phase_;
  message.time_ms = time_ * scan_ms_;
  message.inputs_known = inputs_known();
  message.stirred = stirred_;
  for (const model::Fact& fact : told_[index(id_)]) message.bits.push_back(holds(fact));
  return message;
}

/// 9.2: when bits, epoch or session change, and every third of `lost after`.
std::vector<std::pair<std::int32_t, std::string>> Controller::values() const {
  std::vector<std::pair<std::int32_t, std::string>> values;
  for (const InputState& input : inputs_) values.emplace_back(input.value, input.tag);
  return values;
}

bool Controller::may_say() const {
  const auto now = values();
  const std::vector<model::Fact>& told = told_[index(id_)];
  return std::any_of(told.begin(), told.end(), [&](const model::Fact& fact) {
    bool in_two = fact.kind == model::FactKind::reads_other;
    if (fact.kind == model::FactKind::in_window) {
      const model::Window& window = room_.props[index(fact.prop)].windows[index(fact.window)];
      in_two = window.low && window.high && *window.low > *window.high;
    }
    return in_two && now[index(fact.input)] != values_said_[index(fact.input)];
  });
}

std::optional<Message> Controller::say(bool anyway) {
  if (std::none_of(hears_.begin(), hears_.end(), [](bool one) { return one; })) return std::nullopt;
  const Message now = message();
  std::int64_t least = 0;
  for (std::size_t c = 0; c < peers_.size(); ++c)
    if (hears_[c]) least = least == 0 ? peer_lost_after(c) : std::min(least, peer_lost_after(c));
  const std::int64_t every = std::max<std::int64_t>(1, least / 3);
  if (!anyway) ++since_said_;
  const bool changed = !last_said_ || last_said_->bits != now.bits || epoch_moved_ ||
                       last_said_->stirred != now.stirred || last_said_->epoch != now.epoch ||
                       last_said_->of_power_up != now.of_power_up || last_said_->phase != now.phase ||
                       (now.inputs_known && !last_said_->inputs_known);
  if (!changed && since_said_ < every && !anyway) return std::nullopt;
  coverage_.hit(changed ? Rule::said_at_change : Rule::said_in_time);
  last_said_ = now;
  epoch_moved_ = false;
  values_said_ = values();
  since_said_ = 0;
  return now;
}

}  // namespace lw::oracle
