// Section 5: what is asked of an output, and what it shows.
#include <algorithm>
#include <cassert>

#include "oracle.hpp"

namespace lw::oracle {

using model::index;
using model::Level;
using model::LevelKind;

/// A blinking level is known by its whole scans: two periods that are the same number of them look alike.
bool Controller::same_level(const Level& a, const Level& b) const {
  if (a.kind != b.kind) return false;
  switch (a.kind) {
    case LevelKind::at:
      return a.percent == b.percent;
    case LevelKind::blinking:
      return scans(a.period_ms) == scans(b.period_ms);
    case LevelKind::playing:
      return a.clip == b.clip;
    default:
      return true;
  }
}

/// Every keep's `while`, by this scan's snapshot, before any prop has moved (5.1).
void Controller::snapshot_keeps() {
  whiles_.clear();
  for (std::size_t p = 0; p < room_.props.size(); ++p) {
    if (!owns(p)) continue;
    const auto& bodies = room_.props[p].bodies;
    for (std::size_t b = 0; b < bodies.size(); ++b)
      for (std::size_t k = 0; k < bodies[b].keeps.size(); ++k) {
        const auto& cond = bodies[b].keeps[k].while_;
        whiles_[{p, b, k}] = !cond || holds(*cond);
      }
  }
}

/// `then T longer`: a keep that asked in the last scan and asks no more goes on by its prop's drive (5.3).
void Controller::tails() {
  std::set<KeepKey> now;
  for (std::size_t p = 0; p < room_.props.size(); ++p) {
    if (!owns(p) || !props_[p].state) continue;
    for (const std::size_t b : bodies(p, *props_[p].state))
      for (std::size_t k = 0; k < room_.props[p].bodies[b].keeps.size(); ++k)
        if (whiles_.at({p, b, k})) now.insert({p, b, k});
  }
  const auto keep_of = [&](const KeepKey& key) -> const model::Keep& {
    return room_.props[std::get<0>(key)].bodies[std::get<1>(key)].keeps[std::get<2>(key)];
  };
  for (const KeepKey& key : now) {
    const auto drive = drives_.find({std::get<0>(key), keep_of(key).output});
    if (drive == drives_.end() || drive->second.tail != key) continue;
    drives_.erase(drive);
    coverage_.hit(Rule::tail_ends);
  }
  for (const KeepKey& key : asking_) {
    const model::Keep& keep = keep_of(key);
    if (now.count(key) != 0 || keep.longer_ms == 0) continue;
    const auto place = std::make_pair(std::get<0>(key), keep.output);
    const auto running = drives_.find(place);
    if (running != drives_.end() && !running->second.tail) {
      coverage_.hit(Rule::tail_yields);
      continue;
    }
    drives_[place] = Drive{keep.level, scans(keep.longer_ms), key};
    coverage_.hit(Rule::tail);
  }
  asking_ = now;
}

/// What one prop asks of one output: its drive, else the first of its keeps that asks (5.4).
std::optional<Level> Controller::asked(std::size_t prop, model::OutputId output) const {
  const auto drive = drives_.find({prop, output});
  std::optional<Level> kept;
  if (props_[prop].state) {
    for (const std::size_t b : ordered(prop, *props_[prop].state))
      for (std::size_t k = 0; k < room_.props[prop].bodies[b].keeps.size(); ++k) {
        const model::Keep& keep = room_.props[prop].bodies[b].keeps[k];
        if (keep.output != output || asking_.count({prop, b, k}) == 0) continue;
        if (kept && !same_level(*kept, keep.level)) coverage_.hit(Rule::first_keep_wins);
        coverage_.hit(Rule::keep_asks);
        if (!kept) kept = keep.level;
      }
  }
  if (drive == drives_.end()) return kept;
  if (kept && !same_level(*kept, drive->second.level)) coverage_.hit(Rule::drive_outranks);
  return drive->second.level;
}

void Controller::outputs() {
  tails();
  for (std::size_t n = 0; n < room_.outputs.size(); ++n) {
    const model::Output& row = room_.outputs[n];
    if (row.controller != id_) continue;
    std::vector<Level> asks;
    for (std::size_t p = 0; p < room_.props.size(); ++p) {
      if (!owns(p)) continue;
      if (const auto level = asked(p, model::OutputId(n))) asks.push_back(*level);
    }
    const bool odds = std::any_of(asks.begin(), asks.end(),
                                  [&](const Level& level) { return !same_level(level, asks.front()); });
    Level level = row.rest;
    if (odds && row.exit) {
      level.kind = LevelKind::released;
      coverage_.hit(Rule::conflict_exit);
    } else if (odds) {
      coverage_.hit(Rule::conflict);
    } else if (!asks.empty()) {
      level = asks.front();
      if (asks.size() > 1) coverage_.hit(Rule::same_level_twice);
    }
    if (row.kind == model::OutputKind::lock && !asks.empty())
      coverage_.hit(row.fail_safe ? Rule::lock_fail_safe : Rule::lock_fail_secure);
    if (row.kind == model::OutputKind::voice)
      show_voice(outputs_[n], level);
    else
      show(outputs_[n], level);
  }
}

void Controller::show(OutputState& output, const Level& level) {
  const bool anew = !same_level(output.level, level);
  output.blink_age = anew ? 0 : output.blink_age + 1;
  output.level = level;
  if (anew && moved_) coverage_.hit(Rule::outputs_last);
  if (level.kind == LevelKind::blinking) {
    coverage_.hit(anew ? Rule::blink_begins : Rule::blink);
    output.blink_age %= scans(level.period_ms);
  }
}

/// `level` is what keeps and drives ask: playing a clip, or silence (5.7).
void Controller::show_voice(OutputState& voice, const Level& level) {
  const auto length = [&](model::ClipId clip) { return scans(clip_length_(clip)); };
  if (!(voice.sounding && voice.by_play)) {
    voice.by_play = false;
    const bool wanted = level.kind == LevelKind::playing;
    const bool goes_on = voice.sounding && wanted && same_level(voice.level, level) &&
                         voice.clip == level.clip && voice.gone < length(voice.clip);
    if (wanted && !goes_on) {
      if (voice.sounding && voice.clip == level.clip) coverage_.hit(Rule::clip_repeats);
      voice.clip = level.clip;
      voice.loud = 100;
      voice.gone = 0;
      voice.starts = true;
      coverage_.hit(Rule::keep_plays);
    }
    if (voice.sounding && !wanted) coverage_.hit(Rule::keep_stops);
    voice.sounding = wanted;
  } else if (level.kind == LevelKind::playing) {
    coverage_.hit(Rule::play_over_keep);
  }
  voice.level = level;
  voice.sounds = voice.sounding;
  voice.begins = voice.sounding && voice.starts;
  voice.starts = false;
}

/// Percent of full just now; a lock's by its coil (5.5, 5.6).
int Controller::percent(model::OutputId id) const {
  const model::Output& row = room_.outputs[index(id)];
  const OutputState& output = outputs_[index(id)];
  switch (output.level.kind) {
    case LevelKind::off:
    case LevelKind::playing:
      return 0;
    case LevelKind::on:
      return 100;
    case LevelKind::at:
      return output.level.percent;
    case LevelKind::blinking:
      return output.blink_age < (scans(output.level.period_ms) + 1) / 2 ? 100 : 0;
    case LevelKind::released:
      return row.fail_safe ? 0 : 100;
    case LevelKind::secured:
      return row.fail_safe ? 100 : 0;
  }
  return 0;
}

}  // namespace lw::oracle
