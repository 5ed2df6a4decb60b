// A second reading of docs/meaning.md: slow, obvious, and never used to run a room.
//
// It plays a room as resolve gives it, with conditions as trees, whole histories of raw values and plain
// maps. It shares no code with runtime/ and none with the lowering to tables, so that a slip in either shows
// as a difference between the two. Where the two differ, docs/meaning.md says which is wrong; the numbers in
// the code are its rules. Rejected: reading the table's rows, which would have believed whatever lowering
// did. Tests: tests/oracle/differential.cpp plays it beside the runtime, scan for scan, on random rooms.
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "coverage.hpp"
#include "model/model.hpp"

namespace lw::oracle {

/// What a port reads from one input. Contacts, buttons and signals 0 or 1; keypads a key's code or 0; scales
/// and gauges divisions, a gauge's from its low end; readers a tag's bytes, empty for none.
struct Raw {
  bool good = true;
  std::int32_t value = 0;
  std::string tag;
};
inline bool operator==(const Raw& a, const Raw& b) {
  return a.good == b.good && a.value == b.value && a.tag == b.tag;
}

struct Commands {
  bool start = false, end = false, reset = false;
  std::vector<model::PropId> overrides;
  bool any() const { return start || end || reset || !overrides.empty(); }
};

enum class Phase : std::uint8_t { idle, running, ended };

/// What one controller tells the others (9.2): its bits in the order of `told`.
struct Message {
  model::ControllerId from{};
  std::uint16_t epoch = 0;
  bool of_power_up = true;  // the epoch was neither heard nor made
  Phase phase = Phase::idle;
  std::int64_t time_ms = 0;  // since the start
  bool inputs_known = false;
  int stirred = 0;  // scans in which an input was lost, found or first known, around 4 (9.2)
  std::vector<bool> bits;
};

struct InputState {
  std::deque<Raw> recent;  // as many as must agree, the newest last (2.1)
  bool known = false;      // has had a conditioned value since power-up
  std::int32_t value = 0;  // the conditioned one; of a reader see tag
  std::string tag;
  bool lost = false;
  std::int64_t silent = 0;  // scans since the last good value, or since power-up
  // Of this scan alone:
  bool stirs = false;                               // lost, found or first known
  bool edge = false;                                // pressed, or a key
  int since_change = 0;                             // looks
  std::vector<std::pair<char, std::int64_t>> keys;  // every key, and the look in which it came
};

struct TimerState {
  bool started = false;
  std::int64_t gone = 0;
};

struct SequenceState {
  bool looked = false;  // has taken a scan in since it is fresh
  int place = 0;        // steps met
  std::int64_t since_step = 0, since_first = 0;
  std::vector<bool> were;  // its different conditions at the last look
  std::int64_t each_run = -1;
  bool each_counts = false;  // its present run began with becoming true
};

struct PropState {
  std::optional<model::StateId> state;  // none: waiting
  bool solved = false;
  std::int64_t age = 0;
  std::vector<std::vector<std::int64_t>> runs;  // by body and rule; -1 while its condition is false
  std::vector<TimerState> timers;
  std::vector<std::int64_t> counters;
  std::vector<SequenceState> sequences;
};

/// Body and place of a keep in its prop.
using KeepKey = std::tuple<std::size_t, std::size_t, std::size_t>;  // prop, body, keep

struct Drive {
  model::Level level;
  std::int64_t left = 0;        // scans it goes on, this one counted
  std::optional<KeepKey> tail;  // the keep whose `then T longer` this is
};

struct OutputState {
  model::Level level;          // shown; of a voice the one that keeps and drives ask for
  std::int64_t blink_age = 0;  // scans since it began to blink so
  // A voice as it is seen after the scan, and as it is within one:
  bool sounds = false, begins = false;
  bool sounding = false, by_play = false, starts = false;
  model::ClipId clip{};
  int loud = 0;           // percent
  std::int64_t gone = 0;  // scans of the clip
};

/// What is known of another controller.
struct PeerState {
  bool heard = false;  // since power-up
  bool lost = false;
  std::int64_t silent = 0;
  bool stirs = false;
  bool came = false;      // a message since the last scan
  bool bits_new = false;  // the bits are of the present epoch
  Message last;           // bits false before the first
  std::vector<bool> solved_seen;
};

using ClipLength = std::function<std::int64_t(model::ClipId)>;  // ms

/// One controller of the room. In a scan: take each message, condition once, step once a period, then say.
class Controller {
 public:
  Controller(const model::Room& room, model::ControllerId id, ClipLength clip_length, Coverage& coverage);

  void power_up();
  /// Whether it was taken; else it was dropped.
  bool take(const Message& message);
  /// One raw value for each input of the room; only the own ones are looked at.
  void condition(const std::vector<Raw>& raws, int periods);
  void step(const Commands& commands);
  /// The message that is due after this scan; `anyway` one that is not, which 9.1 allows where may_say.
  std::optional<Message> say(bool anyway = false);
  /// What crosses is a device's value as it falls into ranges (9.1): one that is told in two of them, a
  /// window through zero or `anything but`, may change on the link though the fact does not.
  bool may_say() const;

  // ---- What is to be seen ----
  bool holds(const model::Fact& fact) const;
  bool holds(const model::Cond& cond) const;
  Phase phase() const { return phase_; }
  std::int64_t time() const { return time_; }
  const PropState& prop(model::PropId id) const { return props_[model::index(id)]; }
  const InputState& input(model::InputId id) const { return inputs_[model::index(id)]; }
  const OutputState& output(model::OutputId id) const { return outputs_[model::index(id)]; }
  bool peer_lost(model::ControllerId id) const { return peers_[model::index(id)].lost; }
  int percent(model::OutputId id) const;
  bool moving(model::InputId id) const;
  bool sent(model::CueId id) const { return cues_.count(id) != 0; }
  bool finished() const;
  bool was_done(model::PropId prop, std::size_t sequence) const {
    return done_.count({model::index(prop), sequence}) != 0;
  }
  bool was_wrong(model::PropId prop, std::size_t sequence) const {
    return wrong_.count({model::index(prop), sequence}) != 0;
  }
  bool ready(model::PropId prop, std::size_t n) const { return readies_[model::index(prop)][n].holds; }
  bool told(model::PropId prop, std::size_t body, std::size_t n) const;
  /// Whether this controller conditions the input: its own, or a signal that it reads.
  bool has_input(model::InputId id) const { return mine_.count(id) != 0; }
  bool listens(model::PropId prop, std::size_t sequence) const {
    return listens(model::index(prop), room_.props[model::index(prop)].sequences[sequence]);
  }
  /// N(T) here.
  std::int64_t scans(std::int64_t ms) const;

 private:
  struct ReadyState {
    std::int64_t run = -1;
    bool holds = false;  // in this scan's snapshot
  };
  struct Due {  // what a prop does in this scan
    bool overridden = false, wakes = false;
    std::vector<const model::Rule*> acts;
    const model::Rule* moves = nullptr;
  };

  bool is_first() const { return model::index(id_) == 0; }
  bool owns(std::size_t prop) const { return room_.props[prop].controller == id_; }

  // inputs.cpp
  void condition_input(model::InputId id, const Raw& raw, int periods);
  bool steady(model::InputId id) const;
  std::int32_t beside(const model::Input& input, std::int32_t value, std::int32_t by) const;
  std::int32_t apart(const model::Input& input, std::int32_t a, std::int32_t b) const;
  bool usable(model::InputId id) const;
  bool enters(model::InputId id, const std::string& keys) const;
  std::string tag_seen(const std::string& tag) const;
  bool inputs_known() const;

  // conditions.cpp
  bool input_fact(const model::Fact& fact) const;
  bool item_fact(const model::Fact& fact) const;
  bool output_fact(const model::Fact& fact) const;
  bool far_fact(const model::Fact& fact) const;
  std::optional<model::ControllerId> far_home(const model::Fact& fact) const;

  // sequences.cpp
  void sequences();
  void sequence(std::size_t prop, std::size_t n);
  bool listens(std::size_t prop, const model::Owned& owned) const;
  bool hushed(const model::Cond& cond) const;

  // scan.cpp
  void reset();
  void clocks(bool began);
  void session(const Commands& commands);
  bool session_condition();
  void next_epoch(std::uint16_t after);
  void readies_and_tells();
  void forget_moment();

  // props.cpp
  Due look(std::size_t prop, const Commands& commands);
  bool due(std::size_t prop, std::size_t body, std::size_t rule) const;
  void count_runs(std::size_t prop);
  void carry_out(std::size_t prop, const Due& due);
  void enter(std::size_t prop, model::StateId to, std::optional<model::StateId> from, bool overridden);
  void leave(std::size_t prop, model::StateId state);
  void act(std::size_t prop, const std::vector<model::Action>& actions);
  void act(std::size_t prop, const model::Action& action);
  void fresh(std::size_t prop, std::optional<model::BodyId> body);
  std::set<std::size_t> bodies(std::size_t prop, model::StateId state) const;
  std::vector<std::size_t> ordered(std::size_t prop, model::StateId state) const;

  // outputs.cpp
  void snapshot_keeps();
  void tails();
  std::optional<model::Level> asked(std::size_t prop, model::OutputId output) const;
  void outputs();
  void show(OutputState& output, const model::Level& level);
  void show_voice(OutputState& voice, const model::Level& level);
  bool same_level(const model::Level& a, const model::Level& b) const;

  // link.cpp
  bool present(const Message& message);
  bool hear_session();
  void silence(int periods);
  void forget_bits();
  std::int64_t peer_lost_after(std::size_t peer) const;
  Message message() const;
  void count_stirs();
  std::vector<std::pair<std::int32_t, std::string>> values() const;

  const model::Room& room_;
  const model::ControllerId id_;
  ClipLength clip_length_;
  Coverage& coverage_;
  std::int64_t scan_ms_;
  std::set<model::InputId> mine_;
  std::set<std::string> named_tags_;
  std::vector<bool> hears_;                     // by controller
  std::vector<std::vector<model::Fact>> told_;  // by controller: the facts that others read

  std::vector<InputState> inputs_;
  std::int64_t looks_ = 0;
  std::vector<PropState> props_;
  std::vector<OutputState> outputs_;
  std::map<std::pair<std::size_t, model::OutputId>, Drive> drives_;
  std::map<KeepKey, bool> whiles_;                              // of this scan's snapshot
  std::set<KeepKey> asking_;                                    // keeps that asked in the last scan
  std::set<std::pair<std::size_t, std::size_t>> done_, wrong_;  // sequences, in this scan alone
  std::set<model::CueId> cues_;
  std::vector<std::vector<ReadyState>> readies_;
  std::set<KeepKey> tells_;  // prop, body, tell
  Phase phase_ = Phase::idle;
  std::int64_t time_ = 0;
  std::int64_t start_run_ = -1;
  bool start_looked_ = false, start_counts_ = false;
  std::uint16_t epoch_ = 0;
  bool reset_due_ = false;
  bool moved_ = false;  // some prop, in this scan
  bool epoch_of_power_up_ = true;
  bool epoch_moved_ = false;    // since the last message, be it there and back
  std::vector<Message> heard_;  // since the last scan, and of the present epoch
  std::vector<PeerState> peers_;
  int stirred_ = 0;
  std::optional<Message> last_said_;
  std::vector<std::pair<std::int32_t, std::string>> values_said_;  // of inputs, as of the last message
  std::int64_t since_said_ = 0;
};

/// The facts about things of `of` that any other controller of the room reads, each once (9.1).
std::vector<model::Fact> facts_told(const model::Room& room, model::ControllerId of);
/// Calls visit with every condition that is worked out on the controller.
void each_condition(const model::Room& room, model::ControllerId on,
                    const std::function<void(const model::Cond&)>& visit);
/// The controller whose fact it is; none of session facts and of what every reader knows for itself.
std::optional<model::ControllerId> home(const model::Room& room, const model::Fact& fact);
/// Equal as the controller `on` works them out: what is asked is the same once words, ranges and times in
/// scans are (6.2), and `and` and `or` are sorted.
bool same(const model::Room& room, model::ControllerId on, const model::Fact& a, const model::Fact& b);
bool same(const model::Room& room, model::ControllerId on, const model::Cond& a, const model::Cond& b);

}  // namespace lw::oracle
