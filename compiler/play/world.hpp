// The physical room that a run plays in: what lies on scales and readers, how contacts and gauges stand,
// which buttons are down, which devices are silent. It answers one question: what does an input's port read
// at this instant?
//
// Readings are those of a perfect instrument: nominal masses, zero with what lives on the pan. A thing is in
// one place at a time. Copies are cheap and independent, so that a run can be kept and taken up again.
// Drawing readings from a list of raw values alone was rejected: people write `place nugget on balance`.
// Tests: tests/unit/play/world_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/model.hpp"

namespace lw {

/// What the port of an input reads. Contacts, buttons and signals 0 or 1, keypads a key's code or 0, scales
/// and gauges whole divisions, readers 0 or 1 with the tag.
struct Reading {
  bool good = true;
  std::int32_t value = 0;
  std::string_view tag;  // of a reader, when value is 1
};

class World {
 public:
  struct Lying {
    std::optional<model::ThingId> thing;
    std::int64_t count = 1;
    std::string tag;  // of a stranger's tag
  };

  /// All at rest: contacts open, buttons up, readers bare, scales empty, gauges at their low end, signals
  /// off.
  explicit World(const model::Room& room);

  /// At rest, but so that each `ready` that is a plain fact or a plain `and` of facts holds (10.5).
  void make_ready();

  /// Does a deed that concerns an input of the room; `at_ms` is never before that of an earlier deed. What
  /// cannot be done (there is no such thing left to place) gives the reason, a sentence, and changes nothing.
  /// `delay_ms` is how long a signal's link takes.
  std::optional<std::string> perform(const model::Deed& deed, std::int64_t at_ms, std::int64_t delay_ms);

  /// A link falls silent, or is heard again after `delay_ms`: the signals that come over it.
  void cut(model::LinkId link);
  void join(model::LinkId link, std::int64_t at_ms, std::int64_t delay_ms);

  /// From now on the input reads this, whatever else lies or stands there; for playthroughs made of raw
  /// values.
  void hold(model::InputId input, std::int32_t value, bool good);

  Reading reading(model::InputId input, std::int64_t at_ms) const;
  /// What lies on a scale or a reader, the last placed last.
  const std::vector<Lying>& lying(model::InputId input) const { return at(input).lying; }
  /// What lies on a scale and is no thing of the room, in base units; a gauge's value from its low end.
  std::int64_t loaded(model::InputId input) const { return at(input).value; }
  /// How many of a thing lie anywhere.
  std::int64_t placed(model::ThingId thing) const;
  /// When a reading next changes by itself, later than `after_ms`; the largest number when never.
  std::int64_t next_change_ms(std::int64_t after_ms) const;
  /// An operator's button reads 1 until its controller has looked.
  bool asked(model::InputId input) const { return at(input).asked; }
  void looked(model::InputId input) { at(input).asked = false; }

  /// How long a reading must stand to be taken in: the N + 1 scans of the input's debounce or settle time. A
  /// typed key is down for as long, and up for as long after it.
  std::int64_t steady_ms(model::InputId input) const;
  /// When the last key that is being typed is up, and what is on its way over a link has come; else 0. A
  /// button that is held is nothing to wait for.
  std::int64_t busy_until_ms() const;

 private:
  struct Change {
    std::int64_t at_ms = 0;
    bool on = false;
  };
  struct Place {
    bool silent = false;
    bool on = false;                 // contact closed; signal as it is sent
    bool asked = false;              // operator's button
    bool heard = false;              // signal as last heard
    bool cut = false;                // signal: its link is silent
    bool unheard = false;            // signal: nothing has come since it or its link fell silent
    std::int64_t value = 0;          // gauge: from its low end; scale: what is no thing of the room
    std::int64_t down_until_ms = 0;  // button
    std::int64_t keys_from_ms = 0;   // keypad
    std::string keys;
    std::vector<Lying> lying;     // the last placed last
    std::vector<Change> coming;   // signal: on its way
    std::optional<Reading> held;  // hold()
  };

  Place& at(model::InputId input) { return places_[model::index(input)]; }
  const Place& at(model::InputId input) const { return places_[model::index(input)]; }
  const model::Input& input(model::InputId id) const { return room_->inputs[model::index(id)]; }
  void make_hold(const model::Fact& fact);
  void make_hold(const model::Cond& cond);
  void make_in_window(const model::Window& window);
  std::optional<std::string> place(const model::Deed& deed);
  std::optional<std::string> take(const model::Deed& deed);
  void send(model::InputId signal, std::int64_t at_ms, std::int64_t delay_ms);

  const model::Room* room_;
  std::vector<Place> places_;  // by InputId
};

/// The nearest whole number of divisions, half away from zero.
std::int64_t divisions(std::int64_t value, std::int64_t division);

}  // namespace lw
