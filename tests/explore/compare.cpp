// lw_explore_compare: the explorer and the naive search look at the same small random rooms.
//
//   lw_explore_compare [--rooms N] [--seed S] [--room N] [--file FILE] [--steps N] [--all] [--quiet]
//   [--as-found] [--periods] [--cut] [--restart]
//
// Of each room both give every visible state and a verdict on every promise, the naive search under the wider
// assumption about conditioning and, where the room is small enough, under the full one too. They must agree:
// - the same visible states under the wider assumption;
// - proved where the promise is kept under the wider assumption, and nowhere where the full one breaks it;
// - shown refuted by the runtime only where it is broken under both;
// - a goal is lost in a part of the room only where it is lost under both;
// - states that are never entered are those that it never shows;
// - drives that are cut and counts that are lost are told where it meets them, and excluded where it does
// not;
// - `can always reach` is shown refuted where it is broken under the full one, though fast inputs may keep to
// it;
// - what is measured of the room (explore/measures.hpp) is what the naive search measures under the full
//   assumption where it is said to be exact, and what is proved and played lies on either side of that.
// Exit 0: so it was, and every construct was met in at least 5 % of the rooms, every verdict too. Exit 1: a
// difference, shrunk and printed as a room, or something met too rarely. `--room N` looks at the N-th room of
// the seed alone; `--file` at a room in a file, nothing lost and the operator away; `--all` goes on after a
// difference; `--as-found` does not shrink; `--periods` looks at rooms of several controllers alone, of which
// one scans half as often as the others; `--cut` at rooms of several controllers whose links are cut,
// `--restart` at rooms whose controllers lose power. What is heard is free then, so of several controllers
// the explorer may leave open what the naive search finds kept, and show more; what props do and what is
// measured is not asked.
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <fstream>
#include <map>
#include <numeric>
#include <sstream>
#include <stdexcept>
#include <string>

#include "compiled.hpp"
#include "constructs.hpp"
#include "explore/behaviour.hpp"
#include "explore/courses.hpp"
#include "explore/explore.hpp"
#include "explore/lost.hpp"
#include "explore/measures.hpp"
#include "explore/replay.hpp"
#include "naive.hpp"
#include "random_room.hpp"
#include "shrink.hpp"

namespace lw::naive {
namespace {

using oracle::Compiled;
using oracle::Dice;
using oracle::Piece;

struct Asked {
  int rooms = 500;
  std::uint64_t seed = 1;
  int room = -1;
  std::string file;
  std::uint64_t steps = 50'000;
  bool all = false, quiet = false, as_found = false, periods = false, cut = false, restart = false;
  bool may_fail() const { return cut || restart; }
};

const char* const kForms[] = {"never", "can always reach", "then within", "finish not before"};

struct Tally {
  int rooms = 0, refused = 0, too_large = 0, full = 0, differences = 0;
  std::map<std::string, int> verdicts;
  std::map<std::string, int> answers;
  oracle::Coverage constructs;
};

/// Each room has freedoms of its own; fewer where messages under way, or several props, make it large.
Freedom draw_freedom(Dice& dice, const model::Room& room, const Asked& asked) {
  const int percent = room.links.empty() && room.props.size() == 1 ? 50 : 25;
  Freedom freedom;
  freedom.losses = dice.chance(percent);
  freedom.operator_ = dice.chance(percent);
  freedom.late = dice.chance(70);
  freedom.override_ = freedom.operator_ && dice.chance(30);
  freedom.apart = dice.chance(50);
  freedom.conditioning = false;
  freedom.cut = asked.cut;
  freedom.restart = asked.restart;
  // With each message that goes on the way, and all silence, there are many instants.
  if (asked.may_fail() && room.controllers.size() > 1) freedom.late = freedom.apart = dice.chance(10);
  return freedom;
}

Freedoms of_explorer(const Freedom& freedom) {
  Freedoms freedoms;
  freedoms.losses = freedom.losses;
  freedoms.operator_ = freedom.operator_;
  freedoms.late = freedom.late;
  freedoms.override_ = freedom.override_;
  freedoms.apart = freedom.apart;
  freedoms.cut = freedom.cut;
  freedoms.restart = freedom.restart;
  return freedoms;
}

std::string words(const Freedom& freedom) {
  return std::string("losses ") + (freedom.losses ? "on" : "off") + ", operator " +
         (freedom.operator_ ? "on" : "off") + ", late " + (freedom.late ? "on" : "off") + ", override " +
         (freedom.override_ ? "on" : "off") + ", apart " + (freedom.apart ? "on" : "off") +
         (freedom.cut ? ", cut on" : "") + (freedom.restart ? ", restart on" : "");
}

std::string words(const std::vector<std::uint8_t>& visible) {
  std::string text;
  for (const std::uint8_t byte : visible) text += (text.empty() ? "" : " ") + std::to_string(byte);
  return text;
}

const char* words(Answer answer) {
  return answer == Answer::proved ? "proved" : answer == Answer::refuted ? "refuted" : "undecided";
}

/// What the full conditioning shows and the wider assumption does not, which would then be no wider one
/// (2.6).
std::string not_wider(const model::Room& room, const Naive& wider, const Naive& full) {
  std::string found;
  for (const auto& [state, scans] : full.visible()) {
    const auto also = wider.visible().find(state);
    if (also == wider.visible().end())
      found += "the full conditioning alone shows " + words(state) + "\n";
    else if (scans && (!also->second || *also->second > *scans))
      found += "the full conditioning alone shows " + words(state) + " so soon: " + std::to_string(*scans) +
               " scans after the start\n";
  }
  for (std::size_t n = 0; n < room.promises.size(); ++n)
    if (room.promises[n].kind != model::PromiseKind::can_always_reach && wider.promise(n).kept &&
        !full.promise(n).kept)
      found += "promise \"" + room.promises[n].title + "\" is broken under the full conditioning alone\n";
  return found;
}

std::string fmt_scans(std::int64_t scans) { return std::to_string(scans) + " scans after the start"; }

/// The room with promises more: `never finish`, and of each output of the first controller that it is never
/// powered, with a current that tells any two sets of them apart.
struct Measuring {
  explicit Measuring(const Compiled& compiled)
      : room(*compiled.room), tables(*compiled.tables), finish(ask_more(tables.finish)) {
    for (std::size_t n = 0; n < room.outputs.size(); ++n)
      if (room.outputs[n].kind != model::OutputKind::voice && tables.outputs[n].controller == 0) {
        parts.push_back({powered(tables.outputs[n]), std::int64_t{1} << parts.size()});
        weights.emplace(ask_more(parts.back().question), parts.back().weight);
      }
  }
  std::size_t ask_more(const Question& question) {
    room.promises.emplace_back();
    tables.promise_conditions.push_back(question);
    tables.promise_answers.emplace_back();
    return room.promises.size() - 1;
  }
  model::Room room;
  RoomTables tables;
  std::size_t finish;
  std::vector<Weighed> parts;
  std::map<std::size_t, std::int64_t> weights;
};

/// A figure against the naive search's, which it is nothing for where there is none; `most`: the larger the
/// better, else the smaller.
std::string differs(const char* what, const Measured& measured, std::optional<std::int64_t> naive, bool most,
                    Tally& tally) {
  ++tally.answers[std::string(what) + (measured.never     ? ", none"
                                       : measured.exact() ? ", exact"
                                                          : ", not decided")];
  const std::string said = std::string(what) + ": proved " + std::to_string(measured.bound) + ", played " +
                           (measured.played ? std::to_string(measured.played->figure) : "nothing") +
                           (measured.never ? ", none" : "") + " (" + measured.how +
                           "); the naive search: " + (naive ? std::to_string(*naive) : "none") + "\n";
  if (measured.never) return naive ? said : "";
  if (!naive) return measured.played ? said : "";
  const std::int64_t sign = most ? 1 : -1;
  const bool within = sign * measured.bound >= sign * *naive &&
                      (!measured.played || sign * measured.played->figure <= sign * *naive);
  return within ? "" : said;
}

/// What is measured of the room, by both. Where controllers scan at different periods the naive search counts
/// otherwise.
std::string figures_differ(const Measuring& with, const Naive& full, const Explorer& explorer,
                           Courses& courses, Tally& tally) {
  const std::int64_t scan_ms = with.tables.controllers[0].rows.scan_ms;
  for (const ControllerTable& controller : with.tables.controllers)
    if (controller.rows.scan_ms != scan_ms) return "";
  const auto ms = [&](std::optional<int> scans) {
    return scans ? std::optional<std::int64_t>(*scans * scan_ms) : std::nullopt;
  };
  std::string found = differs("fastest finish", fastest_finish(courses, explorer, 0),
                              ms(full.soonest(with.finish)), false, tally);
  if (!with.parts.empty()) {
    const std::int64_t most = full.largest(with.weights);
    found += differs("worst current", largest_sum(courses, explorer, with.parts),
                     most != 0 ? std::optional<std::int64_t>(most) : std::nullopt, true, tally);
  }
  for (std::size_t n = 0; n < with.room.promises.size(); ++n)
    if (with.room.promises[n].kind == model::PromiseKind::then_within && full.promise(n).kept &&
        explorer.promise(n).answer == Answer::proved)
      found +=
          differs("slowest answer", slowest_answer(courses, explorer, n), ms(full.slowest(n)), true, tally);
  return found;
}

/// Whether some visible state has the prop in that state of its own.
bool is_seen(const Naive& naive, const RoomTables& tables, Seat prop, std::uint8_t state) {
  std::size_t at = 0;
  for (std::size_t c = 0; c < prop.controller; ++c)
    at += 1 + 2 * tables.controllers[c].rows.props.size() + tables.controllers[c].rows.outputs.size();
  at += 1 + 2 * std::size_t{prop.row};
  for (const auto& [visible, scans] : naive.visible())
    if (visible[at] == state) return true;
  return false;
}

/// Where an action of a drive or counter stands, as the naive search says it.
Met::Act place_of(const RoomTables& tables, const explore::Incident& incident) {
  const rows::Table& rows = tables.controllers[incident.controller].rows;
  const rows::Body& body = rows.bodies[incident.body];
  const auto rules = static_cast<std::uint16_t>(body.rules.size());
  const bool enters = incident.rule == explore::Incident::kEnter;
  const bool leaves = incident.rule == explore::Incident::kLeave;
  const std::uint16_t list = enters ? rules : leaves ? static_cast<std::uint16_t>(rules + 1) : incident.rule;
  const int number = enters ? body.enter : leaves ? body.leave : body.rules[incident.rule].actions;
  const rows::ActionList& actions = rows.actions.at(static_cast<std::size_t>(number));
  const rows::ActionKind kind =
      incident.kind == explore::Incident::Kind::drive_cut ? rows::ActionKind::keep : rows::ActionKind::change;
  int left = incident.nth;
  for (std::size_t k = 0; k < actions.size(); ++k)
    if (actions[k].kind == kind && actions[k].index == incident.item && left-- == 0)
      return {incident.controller, incident.prop, incident.body, list, static_cast<std::uint16_t>(k)};
  throw std::logic_error("an action that stands nowhere");
}

/// Where what is said of cut drives and lost counts of a prop is not what the naive search finds.
std::string other_acts(const Compiled& compiled, const Behaviour& behaviour, Seat prop, const Naive& wider,
                       const Naive& full, Tally& tally) {
  using Kind = explore::Incident::Kind;
  std::string found;
  for (const Kind kind : {Kind::drive_cut, Kind::past_end}) {
    const std::string what = kind == Kind::drive_cut ? "a drive, cut" : "a count, lost";
    const auto met = [&](const Naive& naive) {
      return kind == Kind::drive_cut ? naive.met().cuts : naive.met().loses;
    };
    std::set<Met::Act> told, open;
    for (const Conflict& conflict : behaviour.conflicts)
      if (conflict.incident.kind == kind) told.insert(place_of(*compiled.tables, conflict.incident));
    for (const explore::Incident& one : behaviour.open_acts)
      if (one.kind == kind) open.insert(place_of(*compiled.tables, one));
    tally.answers[what] += static_cast<int>(told.size());
    tally.answers[what + ", not decided"] += static_cast<int>(open.size());
    const auto words = [](const Met::Act& act) {
      return "body " + std::to_string(std::get<2>(act)) + ", list " + std::to_string(std::get<3>(act)) +
             ", action " + std::to_string(std::get<4>(act)) + "\n";
    };
    const std::set<Met::Act> ever = met(wider);
    for (const Met::Act& act : told)
      if (ever.count(act) == 0) found += what + " by the explorer alone: " + words(act);
    for (const explore::Incident& one :
         explore::may_happen(*compiled.room, *compiled.tables, prop.controller, prop.row)) {
      if (one.kind != kind) continue;
      const Met::Act act = place_of(*compiled.tables, one);
      if (told.count(act) == 0 && open.count(act) == 0) ++tally.answers[what + ", never"];
    }
    // What only inputs that are too fast bring about never happens.
    if (!full.whole()) continue;
    for (const Met::Act& act : met(full))
      if (std::get<0>(act) == prop.controller && std::get<1>(act) == prop.row && told.count(act) == 0 &&
          open.count(act) == 0)
        found += what + " by the naive search alone: " + words(act);
  }
  return found;
}

/// Where what is said of the props' states is not what the naive search finds.
std::string other_states(const Compiled& compiled, const Freedom& freedom, const Naive& wider,
                         const Naive& full, Tally& tally) {
  const model::Room& room = *compiled.room;
  const RoomTables& tables = *compiled.tables;
  std::string found;
  Courses courses(room, tables);
  Budget budget;
  budget.scans = 50'000;
  for (std::size_t n = 0; n < room.props.size(); ++n) {
    Coverage seen(room, tables);
    const Seat prop = tables.props[n];
    const Behaviour behaviour = behaviour_of_prop(courses, of_explorer(freedom), budget, prop, seen);
    for (std::size_t s = 1; s <= room.props[n].states.size(); ++s) {
      const auto state = static_cast<std::uint8_t>(s);
      const bool never = behaviour.never_entered.count(state) != 0;
      const bool open = behaviour.open_states.count(state) != 0;
      ++tally.answers[never ? "a state, never entered" : open ? "a state, not decided" : "a state, entered"];
      const std::string which = "state " + room.props[n].states[s - 1].name + " of " + room.props[n].name;
      // What only inputs that are too fast bring about is never entered.
      if (never && is_seen(full.whole() ? full : wider, tables, prop, state) &&
          (full.whole() || !behaviour.held_back))
        found += which + ": the explorer says that it is never entered, the naive search enters it\n";
      if (!never && !open && !is_seen(wider, tables, prop, state))
        found += which + ": the explorer enters it, the naive search never does\n";
    }
    tally.answers["a rule, never taken"] += static_cast<int>(behaviour.never_taken.size());
    tally.answers["a rule, not decided"] += static_cast<int>(behaviour.open_rules.size());
    for (const Conflict& conflict : behaviour.conflicts)
      if (conflict.incident.kind == explore::Incident::Kind::two_due) ++tally.answers["two moves at once"];
    found += other_acts(compiled, behaviour, prop, wider, full, tally);
  }
  return found;
}

/// What the naive search counts in.
std::int64_t tick_ms(const RoomTables& tables) {
  std::int64_t tick_ms = 0;
  for (const ControllerTable& controller : tables.controllers)
    tick_ms = std::gcd(tick_ms, std::int64_t{controller.rows.scan_ms});
  return tick_ms;
}

bool scans_at_several_periods(const RoomTables& tables) {
  for (const ControllerTable& controller : tables.controllers)
    if (controller.rows.scan_ms != tables.controllers[0].rows.scan_ms) return true;
  return false;
}

/// A goal that the explorer says is lost in a part of the room: it must be so whatever inputs may do, and as
/// slow as they are, and no sooner than the naive search finds.
std::string lost_alone(const Compiled& compiled, Courses& courses, const Freedom& freedom, std::size_t n,
                       const Naive& wider, const Naive& full, Tally& tally) {
  Budget budget;
  budget.scans = 50'000;
  // What is lost while all works is lost.
  Freedoms freedoms = of_explorer(freedom);
  freedoms.cut = freedoms.restart = false;
  const auto lost =
      explore::lost_in_parts(courses, freedoms, budget, {compiled.tables->promise_conditions[n], true});
  const std::string what = "can always reach, lost";
  if (!lost) {
    if (!wider.promise(n).kept) ++tally.answers[what + ", and not in a part"];
    return "";
  }
  ++tally.answers[what + " in a part"];
  const std::string which =
      "promise \"" + compiled.room->promises[n].title + "\": the explorer says that it is lost in a part, ";
  if (wider.promise(n).kept) return which + "the naive search finds it kept under the wider assumption\n";
  const Replayed replayed = replay(courses, *lost->playthrough, seen(lost->at_end));
  if (!replayed.shown) return which + "the runtime does not show it any more\n";
  if (!full.whole()) return "";
  const Naive::Verdict real = full.promise(n);
  if (real.kept) return which + "the naive search finds it kept under the full conditioning\n";
  if (!real.scans || !replayed.start_ms) return "";
  const std::int64_t scans = (replayed.seen_ms - *replayed.start_ms) / tick_ms(*compiled.tables);
  if (scans >= *real.scans) return "";
  return which + fmt_scans(scans) + ", the naive search is stuck after " + fmt_scans(*real.scans) + "\n";
}

/// Where the two differ; nothing where they agree, or the room is too large.
std::string difference(const Compiled& compiled, const Freedom& wider, std::uint64_t steps, Tally& tally) {
  const model::Room& room = *compiled.room;
  if (wider.restart && scans_at_several_periods(*compiled.tables)) return "";
  const Naive naive(room, *compiled.tables, wider, steps);
  if (!naive.whole()) {
    ++tally.too_large;
    return "";
  }
  ++tally.rooms;
  Freedom conditioned = wider;
  conditioned.conditioning = true;
  const Measuring measuring(compiled);
  const Naive full(measuring.room, measuring.tables, conditioned, steps);
  std::string found;
  const bool may_fail = wider.cut || wider.restart;
  // What each hears is free then.
  const bool parted = may_fail && room.controllers.size() > 1;
  if (full.whole()) {
    ++tally.full;
    found = not_wider(room, naive, full);
  }

  Budget budget;
  budget.states = 100'000;
  // Of several controllers that hear anything there is too much to look at anyway.
  if (parted) budget.scans = 40'000;
  Courses courses(room, *compiled.tables);
  const Explorer explorer(courses, of_explorer(wider), budget);
  for (std::size_t n = 0; n < room.promises.size(); ++n) {
    const char* const form = kForms[static_cast<std::size_t>(room.promises[n].kind)];
    const Naive::Verdict verdict = naive.promise(n);
    ++tally.verdicts[std::string(form) + (verdict.kept ? ", kept" : ", broken")];
    const Explored explored = explorer.promise(n);
    // What the runtime does not show, raw values through, nobody is told.
    Replayed replayed;
    if (explored.answer == Answer::refuted && explored.playthrough)
      replayed = replay(courses, *explored.playthrough, broken(room, *compiled.tables, n, &explored));
    const bool shown = replayed.shown;
    ++tally.answers[std::string(form) + ", " + words(explored.answer) +
                    (explored.answer != Answer::refuted ? ""
                     : shown                            ? " and shown"
                                                        : ", not shown")];
    if (explored.bound.find("one after the other") != std::string::npos)
      ++tally.answers[std::string(form) + ", proved one unit after the other"];
    const std::string which = "promise \"" + room.promises[n].title + "\" (" + form +
                              "): the explorer says " + words(explored.answer) + " (" + explored.bound +
                              "), ";
    // It says of itself where it does not follow several periods.
    const bool not_followed =
        explored.answer == Answer::undecided && explored.bound == "the controllers scan at different periods";
    const bool reach = room.promises[n].kind == model::PromiseKind::can_always_reach;
    // From where the room rests the explorer looks for a way on with inputs held back; the naive search under
    // the full assumption is then the judge.
    const bool held_back_alone = reach && shown && full.whole() && !full.promise(n).kept;
    if (held_back_alone && verdict.kept)
      ++tally.answers[std::string(form) + ", lost to inputs held back alone"];
    if (reach) found += lost_alone(compiled, courses, wider, n, naive, full, tally);
    if (parted && verdict.kept && !shown) {
      if (explored.answer != Answer::proved) ++tally.answers[std::string(form) + ", kept and left open"];
      continue;
    }
    // A way on is looked for with scales that turn more slowly than they can, and none in narrow cells.
    const bool too_slow = reach && explored.answer == Answer::undecided &&
                          (explored.bound.find("a way on was found, but not") == 0 ||
                           explored.bound.find("may be unable to turn") != std::string::npos);
    if (too_slow && verdict.kept) ++tally.answers[std::string(form) + ", kept and left open"];
    if (explored.answer != Answer::proved && verdict.kept && !not_followed && !held_back_alone && !too_slow)
      found += which + "the naive search finds it kept under the wider assumption\n";
    if (!full.whole()) continue;
    // What only the wider assumption breaks is proved all the same, or left undecided.
    const Naive::Verdict real = full.promise(n);
    const auto seen_scans = [&](const Replayed& played) {
      return (played.seen_ms - *played.start_ms) / tick_ms(*compiled.tables);
    };
    if (shown && reach && explored.last) {
      // Just before, the runtime still comes to the goal; and nobody is stuck sooner than the naive search
      // finds.
      const Claim goal = seen(compiled.tables->promise_conditions[n]);
      const bool open = replay(courses, explored.last->way_on, goal).shown;
      ++tally.answers[std::string(form) + ", the last moment " + (open ? "shown" : "not shown")];
    }
    if (shown && reach && real.scans && replayed.start_ms && seen_scans(replayed) < *real.scans)
      found += which + fmt_scans(seen_scans(replayed)) + ", the naive search is stuck after " +
               fmt_scans(*real.scans) + "\n";
    if (shown && real.kept) found += which + "the naive search finds it kept under the full conditioning\n";
    if (explored.answer == Answer::proved && !real.kept)
      found += which + "the naive search finds it broken under the full conditioning" +
               (real.scans ? ", " + std::to_string(*real.scans) + " scans after the start" : "") + "\n";
  }
  if (full.whole() && !may_fail) found += figures_differ(measuring, full, explorer, courses, tally);
  if (!may_fail) found += other_states(compiled, wider, naive, full, tally);
  const auto visible = explorer.visible(true);
  if (parted && !visible) {
    ++tally.answers["visible states, not all stored"];
    return found;
  }
  for (const auto& [state, scans] : naive.visible())
    if (visible->count(state) == 0)
      found += "the explorer never shows " + words(state) +
               (scans ? ", seen " + std::to_string(*scans) + " scans after the start" : ", seen while idle") +
               "\n";
  // What is said to nobody's use makes no difference to what is seen.
  const auto fewer_messages = explorer.visible(false);
  for (const auto& [state, scans] : naive.visible())
    if (fewer_messages && fewer_messages->count(state) == 0)
      found += "without messages that tell nothing the explorer never shows " + words(state) + "\n";
  if (parted) return found;
  for (const auto& state : *visible)
    if (naive.visible().count(state) == 0) found += "the explorer alone shows " + words(state) + "\n";
  return found;
}

std::string difference_of(const Compiled& compiled, const Freedom& wider, std::uint64_t steps, Tally& tally) {
  try {
    return difference(compiled, wider, steps, tally);
  } catch (const std::logic_error& fault) {
    return std::string("the explorer fails: ") + fault.what() + "\n";
  }
}

void report(const Asked& asked, int number, Piece room, const Freedom& wider) {
  Tally unused;
  if (!asked.as_found) {
    oracle::History none;
    const auto differs = [&](const Piece& piece, oracle::History&) {
      const auto compiled = oracle::compile_text(render(piece));
      return compiled->tables && !difference_of(*compiled, wider, asked.steps, unused).empty();
    };
    shrink(room, none, differs, 1500);
  }
  const auto compiled = oracle::compile_text(render(room));
  std::printf("== The explorer and the naive search differ: seed %llu, room %d; %s.\n\n%s\n%s\n",
              static_cast<unsigned long long>(asked.seed), number, words(wider).c_str(), render(room).c_str(),
              difference_of(*compiled, wider, asked.steps, unused).c_str());
}

/// One of several controllers on the board that scans half as often; false where there are no several.
bool slow_down_one(Dice& dice, Piece& room) {
  std::vector<Piece*> controllers;
  const auto find = [&](const auto& self, Piece& piece) -> void {
    if (piece.head.rfind("controller ", 0) == 0) controllers.push_back(&piece);
    for (Piece& part : piece.parts) self(self, part);
  };
  find(find, room);
  if (controllers.size() < 2) return false;
  std::string& head =
      controllers[static_cast<std::size_t>(dice.from(0, static_cast<int>(controllers.size()) - 1))]->head;
  const std::size_t at = head.find(" is quick");
  if (at == std::string::npos) return false;
  head.replace(at, std::string(" is quick").size(), " is half_as_quick");
  return true;
}

/// Links fall silent after few scans, so that there are few counts of silence.
void fall_silent_soon(Dice& dice, Piece& room) {
  const std::string option = "lost after ";
  const auto shorten = [&](const auto& self, Piece& piece) -> void {
    const std::size_t at = piece.head.rfind("link ", 0) == 0 ? piece.head.find(option) : std::string::npos;
    if (at != std::string::npos) {
      const std::size_t from = at + option.size();
      piece.head.replace(from, piece.head.find(" ms", from) - from, std::to_string(10 * dice.from(3, 5)));
    }
    for (Piece& part : piece.parts) self(self, part);
  };
  shorten(shorten, room);
}

/// False when the two differ.
bool look(const Asked& asked, int number, Tally& tally) {
  Dice dice(asked.seed * 0x100000001B3u + static_cast<std::uint64_t>(number));
  for (;;) {
    Piece piece = random_room(dice, oracle::Size::small);
    if (asked.periods && !slow_down_one(dice, piece)) continue;
    if (asked.may_fail()) fall_silent_soon(dice, piece);
    const auto compiled = oracle::compile_text(render(piece));
    if (!compiled->tables) {
      ++tally.refused;
      continue;
    }
    if (asked.cut && compiled->room->links.empty()) continue;
    const Freedom wider = draw_freedom(dice, *compiled->room, asked);
    const int before = tally.rooms;
    const std::string found = difference_of(*compiled, wider, asked.steps, tally);
    if (tally.rooms == before && found.empty()) continue;  // too large; another one instead
    note_constructs(*compiled->room, render(piece), tally.constructs);
    if (found.empty()) return true;
    ++tally.differences;
    report(asked, number, piece, wider);
    return false;
  }
}

/// What was met in fewer than 5 % of the rooms, a line each.
std::string too_rare(const Tally& tally) {
  std::string lines;
  const auto look_at = [&](const std::string& what, std::uint64_t count) {
    if (count * 20 < static_cast<std::uint64_t>(tally.rooms))
      lines += "met in fewer than 5 % of the rooms: " + what + ", " + std::to_string(count) + "\n";
  };
  for (const std::string& construct : oracle::all_constructs()) {
    // Of how a name is written nothing is left in the tables; of two links the faster one alone counts.
    if (construct == "numbered names" || construct == "several links") continue;
    const auto found = tally.constructs.constructs().find(construct);
    look_at(construct, found == tally.constructs.constructs().end() ? 0 : found->second);
  }
  for (const char* const form : kForms)
    for (const char* const verdict : {", kept", ", broken"}) {
      const auto found = tally.verdicts.find(std::string(form) + verdict);
      look_at(std::string(form) + verdict,
              found == tally.verdicts.end() ? 0 : static_cast<std::uint64_t>(found->second));
    }
  return lines;
}

int run(const Asked& asked) {
  Tally tally;
  if (!asked.file.empty()) {
    std::ifstream file(asked.file);
    std::ostringstream text;
    text << file.rdbuf();
    const auto compiled = oracle::compile_text(text.str());
    if (!compiled->tables) throw std::runtime_error(compiled->first_error());
    Freedom wider;
    wider.losses = wider.operator_ = wider.conditioning = false;
    wider.cut = asked.cut;
    wider.restart = asked.restart;
    const std::string found = difference_of(*compiled, wider, asked.steps, tally);
    std::printf("%s", found.c_str());
    for (const auto& [verdict, count] : tally.verdicts)
      std::printf("%5d    naive: %s\n", count, verdict.c_str());
    for (const auto& [answer, count] : tally.answers)
      std::printf("%5d    explorer: %s\n", count, answer.c_str());
    return found.empty() ? 0 : 1;
  }
  const int first = asked.room >= 0 ? asked.room : 0;
  const int end = asked.room >= 0 ? asked.room + 1 : asked.rooms;
  for (int n = first; n < end; ++n)
    if (!look(asked, n, tally) && !asked.all) return 1;
  if (!asked.quiet) {
    for (const auto& [construct, count] : tally.constructs.constructs())
      std::printf("%5.1f %%  %s\n", 100.0 * static_cast<double>(count) / tally.rooms, construct.c_str());
    for (const auto& [verdict, count] : tally.verdicts)
      std::printf("%5d    naive: %s\n", count, verdict.c_str());
    for (const auto& [answer, count] : tally.answers)
      std::printf("%5d    explorer: %s\n", count, answer.c_str());
  }
  std::printf(
      "%d rooms of seed %llu, %d of them under the full conditioning too (%d more were too large, %d did not "
      "compile): "
      "%d differ.\n",
      tally.rooms, static_cast<unsigned long long>(asked.seed), tally.full, tally.too_large, tally.refused,
      tally.differences);
  if (tally.differences != 0) return 1;
  if (asked.room >= 0) return 0;
  const std::string rare = too_rare(tally);
  std::printf("%s", rare.c_str());
  // Of few rooms the shares say little.
  return rare.empty() || asked.rooms < 500 || asked.periods || asked.may_fail() ? 0 : 1;
}

}  // namespace
}  // namespace lw::naive

int main(int argc, char** argv) {
  lw::naive::Asked asked;
  for (int n = 1; n < argc; ++n) {
    const std::string option = argv[n];
    const bool has_value = n + 1 < argc;
    if (option == "--quiet")
      asked.quiet = true;
    else if (option == "--all")
      asked.all = true;
    else if (option == "--periods")
      asked.periods = true;
    else if (option == "--cut")
      asked.cut = true;
    else if (option == "--restart")
      asked.restart = true;
    else if (option == "--as-found")
      asked.as_found = true;
    else if (option == "--rooms" && has_value)
      asked.rooms = std::atoi(argv[++n]);
    else if (option == "--seed" && has_value)
      asked.seed = std::strtoull(argv[++n], nullptr, 10);
    else if (option == "--room" && has_value)
      asked.room = std::atoi(argv[++n]);
    else if (option == "--file" && has_value)
      asked.file = argv[++n];
    else if (option == "--steps" && has_value)
      asked.steps = std::strtoull(argv[++n], nullptr, 10);
    else {
      std::fprintf(stderr, "lw_explore_compare: unknown option %s\n", argv[n]);
      return 2;
    }
  }
  try {
    return lw::naive::run(asked);
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "lw_explore_compare: %s\n", fault.what());
    return 4;
  }
}
