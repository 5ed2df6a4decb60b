// What props never do, two moves at once, drives that are cut, counts that are lost, and props at odds over
// an output.
//
// What the rehearsals exercise needs no looking for. A line of a design is one line, however many props are
// made of it, so it is told only when none of them ever does it. What follows from what is told already is
// not told again. Tests: tests/cases/proofs.
#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <map>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "explore/behaviour.hpp"
#include "play/rehearse.hpp"
#include "play/words.hpp"

namespace lw {

namespace {

using model::index;

// Each is asked of by itself, and what is found is played in the whole room: of more it takes minutes.
constexpr std::size_t kMostProps = 40;

class Behaving {
 public:
  explicit Behaving(const Judging& judging)
      : judging_(judging), room_(*judging.room.room), tables_(*judging.room.tables), seen_(room_, tables_) {
    for (const ControllerTable& controller : tables_.controllers) {
      std::vector<Stands>& bodies = bodies_.emplace_back();
      for (const model::PropId prop : controller.props)
        for (std::size_t n = 0; n < room_.props[index(prop)].bodies.size(); ++n)
          bodies.push_back({index(prop), n});
    }
    found_.resize(room_.props.size());
    silent_.resize(room_.props.size());
    for (const Findings* findings : {&judging.room.findings, &judging.room.accepted})
      for (const Finding& finding : *findings) note_static(finding);
  }

  void judge() {
    if (room_.props.size() > kMostProps)
      return judging_.leave_open(
          "what its props never do, and do at once", room_.span,
          fmt::format("that is asked of up to {} props, and there are {}", kMostProps, room_.props.size()));
    if (judging_.rehearsed) seen_ = *judging_.rehearsed;
    for (std::size_t n = 0; !judging_.rehearsed && n < room_.rehearsals.size(); ++n)
      rehearse(judging_.room.sources, room_, tables_, n, false, &seen_);
    for (std::size_t n = 0; n < room_.props.size(); ++n) {
      const std::string what = fmt::format("what `{}` never does", room_.props[n].name);
      if (judging_.why_ended()) {
        judging_.leave_open(what, room_.props[n].span, "");
        continue;
      }
      found_[n] = behaviour_of_prop(judging_.courses, judging_.freedoms, judging_.budget(what),
                                    tables_.props[n], seen_);
    }
    for (std::size_t n = 0; n < room_.props.size(); ++n) tell_prop(n);
    for (std::size_t n = 0; n < room_.outputs.size(); ++n)
      if (several_keep(n)) tell_output(n);
  }

 private:
  struct Stands {  // where a body of a table stands
    std::size_t prop = 0, body = 0;
  };

  const model::Prop& prop(std::size_t n) const { return room_.props[n]; }
  const model::Rule& rule(RuleSeat seat) const {
    const Stands& stands = bodies_[seat.controller][seat.body];
    return prop(stands.prop).bodies[stands.body].rules[seat.rule];
  }
  const model::State& state(std::size_t n, std::uint8_t row) const { return prop(n).states[row - 1u]; }
  RuleSeat seat_of(std::size_t n, RuleNumber number) const {
    return {tables_.props[n].controller, number.first, number.second};
  }
  bool never_entered(std::size_t n, std::size_t model_state) const {
    return found_[n].never_entered.count(static_cast<std::uint8_t>(model_state + 1)) != 0;
  }
  bool never_wakes(std::size_t n) const {
    return !prop(n).states.empty() && found_[n].never_entered.size() == prop(n).states.size();
  }

  void note_static(const Finding& finding);
  bool said_of(const model::Rule& rule) const;
  bool stands_in_dead_states(std::size_t n, RuleNumber number) const;
  bool never_in_any(RuleSeat seat) const;
  bool several_keep(std::size_t output) const;
  void tell_prop(std::size_t n);
  void tell_open(std::size_t n);
  bool tell_never_woken(std::size_t n);
  void tell_states(std::size_t n);
  void tell_rules(std::size_t n);
  void tell_moves(std::size_t n);
  const model::Body& body(const explore::Incident& at) const {
    const Stands& stands = bodies_[at.controller][at.body];
    return prop(stands.prop).bodies[stands.body];
  }
  const std::vector<model::Action>& list(const explore::Incident& at) const;
  std::size_t counter(std::size_t n, const explore::Incident& at) const;
  const model::Action& action(std::size_t n, const explore::Incident& at) const;
  std::pair<explore::Incident, bool> what_is_cut(std::size_t n, const Conflict& conflict) const;
  void tell_cut(std::size_t n, const Conflict& conflict);
  void tell_past_end(std::size_t n, const Conflict& conflict);
  void tell_output(std::size_t output);
  void add_filled(std::size_t n, Finding& finding) const {
    if (prop(n).filled_at) finding.places.push_back(lw::Place{*prop(n).filled_at, "filled in here", false});
  }
  bool is_new(Code code, Span span) {
    return told_.insert({{static_cast<int>(code), static_cast<std::size_t>(span.file)}, span.begin}).second;
  }

  const Judging& judging_;
  const model::Room& room_;
  const RoomTables& tables_;
  Coverage seen_;
  std::vector<std::vector<Stands>> bodies_;  // by controller and row
  std::vector<Behaviour> found_;             // by prop
  std::vector<bool> silent_;                 // props of which a check says that they never wake
  std::vector<Span> said_;                   // lines of which a check says that they are never true or taken
  std::set<std::pair<std::pair<int, std::size_t>, std::size_t>> told_;
};

bool holds(Span outer, Span inner) {
  return outer.file == inner.file && inner.begin >= outer.begin && inner.end <= outer.end;
}

void Behaving::note_static(const Finding& finding) {
  switch (finding.code) {
    case Code::chain_loop:
    case Code::never_woken:
      for (std::size_t n = 0; n < room_.props.size(); ++n)
        if (prop(n).wakes && holds(prop(n).wakes->span, finding.span)) silent_[n] = true;
      break;
    case Code::never_entered:
    case Code::never_started:
    case Code::never_true:
    case Code::shadowed_rule:
      said_.push_back(finding.span);
      break;
    default:
      break;
  }
}

/// Whether a check has said already that it is never taken, or of something that it waits for that it never
/// comes.
bool Behaving::said_of(const model::Rule& rule) const {
  const auto touches = [&](Span span) { return holds(rule.span, span) || holds(span, rule.span); };
  if (std::any_of(said_.begin(), said_.end(), touches)) return true;
  // Its own words may speak of a timer or counter, which the check names where it is declared.
  const auto declared = [&](Span span) {
    return std::any_of(said_.begin(), said_.end(), [&](Span said) { return holds(span, said); });
  };
  bool said = false;
  model::each_fact(rule.condition, [&](const model::Fact& fact, Span) {
    switch (fact.kind) {
      case model::FactKind::timer_done:
      case model::FactKind::timer_past:
      case model::FactKind::timer_left:
        said = said || declared(prop(index(fact.prop)).timers[fact.item].span);
        break;
      case model::FactKind::counter_is:
        said = said || declared(prop(index(fact.prop)).counters[fact.item].span);
        break;
      default:
        break;
    }
  });
  return said;
}

/// Whether each state that the rule stands in is never entered.
bool Behaving::stands_in_dead_states(std::size_t n, RuleNumber number) const {
  const model::Body& body = prop(n).bodies[bodies_[tables_.props[n].controller][number.first].body];
  return std::all_of(body.states.begin(), body.states.end(),
                     [&](model::StateId state) { return never_entered(n, index(state)); });
}

/// Whether no prop that has this line ever takes it.
bool Behaving::never_in_any(RuleSeat seat) const {
  const std::size_t item = seen_.item_of(seat);
  if (seen_.items()[item].times != 0) return false;
  for (std::size_t n = 0; n < room_.props.size(); ++n) {
    const std::uint8_t c = tables_.props[n].controller;
    for (std::size_t b = 0; b < bodies_[c].size(); ++b) {
      if (bodies_[c][b].prop != n) continue;
      for (std::size_t r = 0; r < prop(n).bodies[bodies_[c][b].body].rules.size(); ++r) {
        const RuleNumber number(static_cast<std::uint16_t>(b), static_cast<std::uint16_t>(r));
        if (seen_.item_of(seat_of(n, number)) == item && found_[n].never_taken.count(number) == 0)
          return false;
      }
    }
  }
  return true;
}

void Behaving::tell_prop(std::size_t n) {
  tell_open(n);
  if (silent_[n]) return;
  if (tell_never_woken(n)) return;
  tell_states(n);
  tell_rules(n);
  tell_moves(n);
  for (const Conflict& conflict : found_[n].conflicts)
    if (conflict.incident.kind == explore::Incident::Kind::drive_cut)
      tell_cut(n, conflict);
    else if (conflict.incident.kind == explore::Incident::Kind::past_end)
      tell_past_end(n, conflict);
}

/// What of a line of a design another prop does is no question any more.
void Behaving::tell_open(std::size_t n) {
  const Behaviour& found = found_[n];
  std::size_t open = 0;
  for (const std::uint8_t row : found.open_states)
    if (!seen_.was_entered(tables_.props[n].controller, tables_.props[n].row, row)) ++open;
  for (const RuleNumber& number : found.open_rules)
    if (!seen_.was_taken(seat_of(n, number))) ++open;
  if (open != 0)
    judging_.leave_open(fmt::format("whether {} of the states and rules of `{}` {} ever used", open,
                                    prop(n).name, open == 1 ? "is" : "are"),
                        prop(n).span, found.bound);
  else if (found.conflicts_open)
    judging_.leave_open(fmt::format("whether two moves of `{}` are ever due at once", prop(n).name),
                        prop(n).span, found.bound);
  const auto is_open = [&](explore::Incident::Kind kind) {
    return std::any_of(found.open_acts.begin(), found.open_acts.end(),
                       [&](const explore::Incident& one) { return one.kind == kind; });
  };
  if (is_open(explore::Incident::Kind::drive_cut))
    judging_.leave_open(fmt::format("whether a drive of `{}` is ever cut", prop(n).name), prop(n).span,
                        found.bound);
  if (is_open(explore::Incident::Kind::past_end))
    judging_.leave_open(fmt::format("whether a count of `{}` ever passes its end", prop(n).name),
                        prop(n).span, found.bound);
}

bool Behaving::tell_never_woken(std::size_t n) {
  if (!never_wakes(n)) return false;
  // Where what it waits for never comes, that is told there.
  bool told = false;
  if (prop(n).wakes)
    model::each_fact(*prop(n).wakes, [&](const model::Fact& fact, Span) {
      const bool of_prop =
          fact.kind == model::FactKind::prop_in_state || fact.kind == model::FactKind::prop_solved;
      told = told || (of_prop && !found_[index(fact.prop)].never_entered.empty());
    });
  if (told) return true;
  Finding finding = finding_of(Code::never_woken, prop(n).wakes ? prop(n).wakes->span : prop(n).span,
                               fmt::format("prop `{}` never wakes", prop(n).name));
  finding.reason = "In no playthrough does what it waits for come.";
  finding.remedies.push_back("let it wait for something that players bring about.");
  if (is_new(finding.code, finding.span)) judging_.findings.push_back(std::move(finding));
  return true;
}

/// States that some rule leads to from where the prop can be, and that none of those ever does.
void Behaving::tell_states(std::size_t n) {
  const model::Prop& prop = this->prop(n);
  const std::uint8_t c = tables_.props[n].controller;
  for (std::size_t s = 0; s < prop.states.size(); ++s) {
    if (!never_entered(n, s)) continue;
    std::vector<const model::Rule*> leading;
    bool said = false;
    for (std::size_t b = 0; b < bodies_[c].size(); ++b) {
      if (bodies_[c][b].prop != n) continue;
      const std::vector<model::Rule>& rules = prop.bodies[bodies_[c][b].body].rules;
      for (std::size_t r = 0; r < rules.size(); ++r) {
        if (rules[r].target != model::StateId(s)) continue;
        const RuleNumber number(static_cast<std::uint16_t>(b), static_cast<std::uint16_t>(r));
        if (stands_in_dead_states(n, number)) continue;
        said = said || said_of(rules[r]);
        leading.push_back(&rules[r]);
      }
    }
    if (leading.empty() || said) continue;
    Finding finding =
        finding_of(Code::never_entered, prop.states[s].span,
                   fmt::format("state `{}` of `{}` is never entered", prop.states[s].name, prop.name));
    finding.reason = fmt::format("In no playthrough {} that {} there ever taken.",
                                 leading.size() == 1 ? "is the rule" : "is any of the rules",
                                 leading.size() == 1 ? "leads" : "lead");
    for (const model::Rule* const one : leading)
      finding.places.push_back(lw::Place{one->span, "never taken", false});
    finding.remedies.push_back(
        "follow what the rule waits for: it never comes while the prop is in a state that looks for it.");
    add_filled(n, finding);
    if (is_new(finding.code, finding.span)) judging_.findings.push_back(std::move(finding));
  }
}

/// Rules that nothing else explains: their state is entered, and so is the one that they lead to.
void Behaving::tell_rules(std::size_t n) {
  for (const RuleNumber& number : found_[n].never_taken) {
    const RuleSeat seat = seat_of(n, number);
    const model::Rule& rule = this->rule(seat);
    if (stands_in_dead_states(n, number) || said_of(rule) || !never_in_any(seat)) continue;
    if (rule.target && never_entered(n, index(*rule.target))) continue;
    Finding finding =
        finding_of(Code::never_taken, rule.span, fmt::format("a rule of `{}` is never taken", prop(n).name));
    finding.reason = "In no playthrough is what it waits for true while its state looks for it.";
    finding.remedies.push_back(
        "follow each part of its condition: something else moves the prop on before, or it never comes "
        "here.");
    finding.remedies.push_back("take the rule out, if nothing is meant to lead there.");
    add_filled(n, finding);
    if (is_new(finding.code, finding.span)) judging_.findings.push_back(std::move(finding));
  }
}

/// One finding for each line that comes too late.
void Behaving::tell_moves(std::size_t n) {
  for (const Conflict& conflict : found_[n].conflicts) {
    const explore::Incident& incident = conflict.incident;
    if (incident.kind != explore::Incident::Kind::two_due) continue;
    const model::Rule& first = rule({incident.controller, incident.body, incident.rule});
    const model::Rule& second = rule({incident.controller, incident.other_body, incident.other_rule});
    // Of one that is never taken that is told.
    if (said_of(second) || found_[n].never_taken.count({incident.other_body, incident.other_rule}) != 0)
      continue;
    if (!is_new(Code::two_moves, second.span)) continue;
    const auto to = [&](const model::Rule& rule) {
      return state(n, static_cast<std::uint8_t>(index(*rule.target) + 1)).name;
    };
    Finding finding = finding_of(Code::two_moves, second.span,
                                 fmt::format("two moves of `{}` can be due at once", prop(n).name));
    finding.note = "and this one too";
    finding.places.push_back(lw::Place{first.span, "due first", false});
    add_filled(n, finding);
    finding.reason = fmt::format("The first in the text is made, to `{}`; the other, to `{}`, is not. {}",
                                 to(first), to(second), takes_words(room_, conflict.replayed));
    finding.playthrough = account(room_, tables_, conflict.replayed,
                                  fmt::format("{} to {}, not to {}", prop(n).name, to(first), to(second)));
    finding.remedies.push_back("let the conditions exclude each other, as with `and not …` in one of them.");
    finding.remedies.push_back(
        "if the order of the text is meant, say so before this line: `accept two_moves \"…\"`.");
    judging_.findings.push_back(std::move(finding));
  }
}

const std::vector<model::Action>& Behaving::list(const explore::Incident& at) const {
  if (at.rule == explore::Incident::kEnter) return body(at).enter;
  if (at.rule == explore::Incident::kLeave) return body(at).leave;
  return body(at).rules[at.rule].actions;
}

/// The counter of a prop whose row that is: rows stand in the order of props.
std::size_t Behaving::counter(std::size_t n, const explore::Incident& at) const {
  std::size_t before = 0;
  for (const model::PropId id : tables_.controllers[at.controller].props) {
    if (index(id) == n) break;
    before += prop(index(id)).counters.size();
  }
  return at.item - before;
}

/// As it is written.
const model::Action& Behaving::action(std::size_t n, const explore::Incident& at) const {
  const ControllerTable& table = tables_.controllers[at.controller];
  std::int64_t left = at.nth;
  for (const model::Action& one : list(at)) {
    if (at.kind == explore::Incident::Kind::past_end) {
      const std::size_t which = counter(n, at);
      if ((one.kind != model::ActionKind::add && one.kind != model::ActionKind::take) ||
          index(one.counter) != which)
        continue;
      // A large change is several rows.
      const model::Counter& row = prop(n).counters[which];
      left -= std::max<std::int64_t>(0, (std::min(one.n, row.high - row.low) - 1) / 127);
    } else if (one.kind != model::ActionKind::keep ||
               one.output != table.outputs[table.rows.drives[at.item].output]) {
      continue;
    }
    if (left-- <= 0) return one;
  }
  throw std::logic_error("an action of a table that is not in the text");
}

/// The action whose drive was cut, and whether it began in the same scan; played once more.
std::pair<explore::Incident, bool> Behaving::what_is_cut(std::size_t n, const Conflict& conflict) const {
  const explore::Incident& by = conflict.incident;
  std::vector<explore::Incident> watched{by};
  for (const explore::Incident& one :
       explore::keeps_of(tables_, by.controller, tables_.props[n].row, by.item))
    watched.push_back(one);
  explore::Witness witness(tables_, watched);
  std::vector<explore::Incident> begun;
  std::size_t before = 0;  // as many were begun before the last scan
  play_again(room_, tables_, conflict.replayed, [&](const RoomRun& run, const Firings&) {
    before = begun.size();
    for (const explore::Incident& one : witness.look(run))
      if (one.kind == explore::Incident::Kind::driven) begun.push_back(one);
  });
  const rows::Table& rows = tables_.controllers[by.controller].rows;
  const rows::Action& last = explore::keep_at(rows, by);
  for (std::size_t k = begun.size() - 1; k > before; --k) {
    const rows::Action& one = explore::keep_at(rows, begun[k - 1]);
    if (one.level != last.level || one.n > last.n) return {begun[k - 1], true};
  }
  assert(before > 0);  // what still ran had begun in an earlier scan
  return {begun[before - 1], false};
}

void Behaving::tell_cut(std::size_t n, const Conflict& conflict) {
  const explore::Incident& by = conflict.incident;
  const model::Action& last = action(n, by);
  if (!is_new(Code::drive_cut, last.span)) return;
  const auto [cut, at_once] = what_is_cut(n, conflict);
  const model::Action& first = action(n, cut);
  const model::Output& output = room_.outputs[index(last.output)];
  Finding finding =
      finding_of(Code::drive_cut, last.span, fmt::format("a drive of `{}` can be cut", output.name));
  finding.note = "cut here";
  finding.places.push_back(lw::Place{first.span, "started here", false});
  add_filled(n, finding);
  finding.reason = fmt::format("{} {}",
                               at_once ? "Both act in one scan, and the last of them stays."
                                       : "It still runs when this line takes its place; the rest is lost.",
                               takes_words(room_, conflict.replayed));
  finding.playthrough =
      account(room_, tables_, conflict.replayed, fmt::format("drive of {} cut", output.name));
  const bool in_when = by.rule < body(by).rules.size() && !body(by).rules[by.rule].after;
  const char* const level = first.level.kind == model::LevelKind::on         ? "on"
                            : first.level.kind == model::LevelKind::blinking ? "blinking"
                                                                             : nullptr;
  const rows::Table& rows = tables_.controllers[by.controller].rows;
  if (explore::keep_at(rows, cut).level == explore::keep_at(rows, by).level)
    finding.remedies.push_back(
        fmt::format("ask for no less than the other does: `{}`.", judging_.room.sources.text(first.span)));
  else if (in_when && level != nullptr && !at_once)
    finding.remedies.push_back(
        fmt::format("wait until it is over, with `and not {} {}` in the condition.", output.name, level));
  else if (at_once)
    finding.remedies.push_back("take the first out, or let a state between them show it: nobody sees it.");
  else
    finding.remedies.push_back("let the one act only where the other's time is over, or make that shorter.");
  finding.remedies.push_back(
      "if this line is meant to take over, say so before it: `accept drive_cut \"…\"`.");
  judging_.findings.push_back(std::move(finding));
}

void Behaving::tell_past_end(std::size_t n, const Conflict& conflict) {
  const model::Action& one = action(n, conflict.incident);
  if (!is_new(Code::past_end, one.span)) return;
  const model::Counter& row = prop(n).counters[counter(n, conflict.incident)];
  const bool up = one.kind == model::ActionKind::add;
  Finding finding =
      finding_of(Code::past_end, one.span,
                 fmt::format("`{}` can be counted past its {} end", row.name, up ? "upper" : "lower"));
  finding.note = "lost here";
  finding.places.push_back(lw::Place{row.span, fmt::format("ends at {}", up ? row.high : row.low), false});
  add_filled(n, finding);
  finding.reason = fmt::format("It stands still at {}, so it is too {} once something is {} it. {}",
                               up ? row.high : row.low, up ? "low" : "high", up ? "taken from" : "added to",
                               takes_words(room_, conflict.replayed));
  finding.playthrough =
      account(room_, tables_, conflict.replayed, fmt::format("a count of {} lost", row.name));
  const std::int64_t within = up ? row.high - one.n + 1 : row.low + one.n - 1;
  if (conflict.incident.rule < body(conflict.incident).rules.size() && within >= row.low &&
      within <= row.high)
    finding.remedies.push_back(
        fmt::format("count only where there is room, with `and {} {} {}` in the condition.", row.name,
                    up ? "below" : "above", within));
  else
    finding.remedies.push_back("count only where there is room, or give the counter wider ends.");
  finding.remedies.push_back(
      "if the count is meant to stand still there, say so before this line: `accept past_end \"…\"`.");
  judging_.findings.push_back(std::move(finding));
}

bool Behaving::several_keep(std::size_t output) const {
  std::set<std::size_t> props;
  const Seat seat = tables_.outputs[output];
  const rows::Table& rows = tables_.controllers[seat.controller].rows;
  for (std::size_t p = 0; p < rows.props.size(); ++p)
    for (const rows::State& state : rows.props[p].states)
      for (const std::uint16_t body : state.bodies) {
        for (const rows::Keep& keep : rows.bodies[body].keeps)
          if (keep.output == seat.row) props.insert(p);
        std::vector<int> lists{rows.bodies[body].enter, rows.bodies[body].leave};
        for (const rows::Rule& rule : rows.bodies[body].rules) lists.push_back(rule.actions);
        for (const int list : lists)
          for (std::size_t n = 0; list >= 0 && n < rows.actions[static_cast<std::size_t>(list)].size(); ++n) {
            const rows::Action& action = rows.actions[static_cast<std::size_t>(list)][n];
            if (action.kind == rows::ActionKind::keep && rows.drives[action.index].output == seat.row)
              props.insert(p);
          }
      }
  return props.size() > 1;
}

void Behaving::tell_output(std::size_t n) {
  const model::Output& output = room_.outputs[n];
  const std::string what = fmt::format("whether props are ever at odds over `{}`", output.name);
  if (judging_.why_ended()) return judging_.leave_open(what, output.span, "");
  const Behaviour found = behaviour_of_output(judging_.courses, judging_.freedoms, judging_.budget(what),
                                              tables_.outputs[n], seen_);
  if (found.conflicts.empty()) {
    if (found.is_open()) judging_.leave_open(what, output.span, found.bound);
    return;
  }
  const Conflict& conflict = found.conflicts.front();
  Finding finding =
      finding_of(Code::at_odds, output.span, fmt::format("props can be at odds over `{}`", output.name));
  const RoomRun run = judging_.courses.run_to(conflict.replayed.script, conflict.replayed.seen_ms);
  const std::uint8_t c = conflict.incident.controller;
  for (std::size_t b = 0; b < bodies_[c].size(); ++b) {
    const Stands& stands = bodies_[c][b];
    const model::Body& body = prop(stands.prop).bodies[stands.body];
    const std::uint8_t in = run.state(c, tables_.props[stands.prop].row);
    const rows::Body& row = run.rows(c).bodies[b];
    if (in == 0 ||
        std::find(body.states.begin(), body.states.end(), model::StateId(in - 1)) == body.states.end())
      continue;
    for (std::size_t k = 0; k < body.keeps.size(); ++k)
      if (body.keeps[k].output == model::OutputId(n) &&
          (!row.keeps[k].has_while || run.literal_was(c, row.keeps[k].while_)))
        finding.places.push_back(lw::Place{body.keeps[k].span, "asked by " + prop(stands.prop).name, false});
  }
  finding.reason = fmt::format("They ask it for different levels at once; then it {}. {}",
                               output.exit ? "is released" : "goes to its level at rest",
                               takes_words(room_, conflict.replayed));
  finding.playthrough =
      account(room_, tables_, conflict.replayed, fmt::format("props at odds over {}", output.name));
  finding.remedies.push_back("let one prop keep it at a time: add `while …` to one of the lines.");
  judging_.findings.push_back(std::move(finding));
}

}  // namespace

void judge_behaviour(const Judging& judging) { Behaving(judging).judge(); }

}  // namespace lw
