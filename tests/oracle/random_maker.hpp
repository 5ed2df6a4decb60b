// How random_room.cpp, random_hardware.cpp, random_conditions.cpp and random_props.cpp share the making of a
// room.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "random_room.hpp"

namespace lw::oracle {

enum class Kind : std::uint8_t {
  contact,
  button,
  operator_button,
  reader,
  keypad,
  scale,
  gauge,
  signal,  // inputs
  lamp,
  relay,
  motor,
  lock,
  voice  // outputs
};

struct Device {
  Kind kind{};
  std::string name;
  std::size_t controller = 0;  // of a signal: that it may be read by all whom its link joins
  std::string closed = "closed", open = "open";
  bool wraps = false;
  int from = 0, to = 0;  // scale and gauge, in its unit
  std::string unit;
  std::size_t link = 0;           // signal
  std::vector<std::string> tags;  // reader: things that it may read
};

struct Thing {
  std::string name;
  int mass_g = 0;
  bool tag = false;
};

struct Counting {  // a counter or a sequence's place
  std::string name;
  int low = 0, high = 0;
};

struct Items {  // what is declared in a prop or a body
  std::vector<std::string> timers;
  std::vector<Counting> counters;
  std::vector<Counting> sequences;
  std::vector<std::string> windows;
  std::vector<std::string> lets;
};

struct PropPlan {
  std::string name;
  std::size_t controller = 0;
  std::vector<std::string> states;
  bool has_goal = false;
  Items items;
};

/// What can be named at a place, and by whom it is read.
struct Scope {
  std::size_t controller = 0;
  std::vector<Device> devices;
  std::vector<Thing> things;
  std::vector<std::string> clips, cues, times;  // times: names of lets and takes that are a time
  std::vector<std::string> room_lets;
  std::vector<const PropPlan*> props;
  std::vector<std::string> solvable;     // of a design: props of which only `solved` is known
  std::vector<std::string> controllers;  // that can be lost
  const PropPlan* here = nullptr;
  bool design = false;
  std::vector<const Items*> items;  // own: of the prop and of the body
  bool in_let = false, in_sequence = false;
};

enum class Edges : std::uint8_t { none, may, must };

class Maker {
 public:
  explicit Maker(Dice& dice, Size size = Size::full) : dice_(dice), small_(size == Size::small) {}
  Piece make();

 private:
  // random_hardware.cpp
  void hardware();
  void links();
  void things_and_clips();
  void inputs(std::size_t controller);
  void outputs(std::size_t controller);
  void leave_few(std::size_t first, std::size_t few, bool inputs);
  Piece options(std::vector<Piece> all);
  bool joined(std::size_t a, std::size_t b) const;

  // random_conditions.cpp
  std::string time(const Scope& scope, int low = 1, int high = 6);
  std::string milliseconds(std::size_t controller, int low, int high);
  Piece condition(const Scope& scope, Edges edges, bool bare_join);
  Piece joined_condition(const Scope& scope, Edges edges, int depth);
  std::optional<std::string> fact(const Scope& scope);
  std::optional<std::string> device_fact(const Scope& scope);
  std::optional<std::string> prop_fact(const Scope& scope);
  std::optional<std::string> item_fact(const Scope& scope);
  std::optional<std::string> output_fact(const Scope& scope);
  std::optional<std::string> session_fact(const Scope& scope);
  std::optional<std::string> edge(const Scope& scope);
  std::string count_fact(const std::string& name, const Counting& counting);
  std::string timer_fact(const Scope& scope, const std::string& name);
  std::string level_fact(const Scope& scope);

  // random_props.cpp
  void plan_props();
  Piece prop(PropPlan& plan);
  Piece prop_body(PropPlan& plan, Scope scope, std::vector<Piece> parts);
  void design(PropPlan& plan, std::vector<Piece>& statements);
  std::optional<Piece> window(const Scope& scope, const std::string& name, Items& items);
  Piece sequence(const Scope& scope, const Counting& counting);
  Items new_items(const char* prefix, bool sequences);
  void declare(const Scope& scope, Items& items, std::vector<Piece>& parts, bool in_state);
  std::vector<Piece> body(const Scope& scope, const PropPlan& plan, bool shared);
  std::optional<Piece> keep(const Scope& scope);
  std::optional<Piece> rule(const Scope& scope, const PropPlan& plan);
  std::optional<Piece> actions(const Scope& scope);
  std::optional<Piece> action(const Scope& scope);
  std::string level(const Scope& scope, Kind kind);
  Scope scope_of(const PropPlan& plan) const;

  // random_room.cpp
  Piece room_statement();
  std::optional<Piece> chain();
  std::vector<Piece> promises();
  Piece promise(const Scope& scope, int number);

  Dice& dice_;
  const bool small_;
  bool endless_ = false;  // the session
  std::vector<std::string> controllers_;
  std::vector<int> scan_ms_;  // by controller
  std::vector<std::string> link_names_;
  std::vector<std::vector<std::size_t>> link_joins_;
  std::vector<Device> devices_;
  std::vector<Thing> things_;
  std::vector<std::string> clips_;
  std::vector<std::pair<std::string, std::size_t>> cues_;  // name, link
  std::vector<std::string> times_, lets_;
  std::vector<PropPlan> plans_;
  std::vector<Piece> statements_;
  std::map<std::string, std::string> bounded_windows_;  // their devices: others can lie beside them
  int number_ = 0;
};

}  // namespace lw::oracle
