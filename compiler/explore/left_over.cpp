// See left_over.hpp.
#include "explore/left_over.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>

#include "explore/laying.hpp"
#include "explore/search.hpp"
#include "explore/space_bytes.hpp"
#include "play/room_run.hpp"

namespace lw {

using explore::kKnownBy_ms;
using explore::Slice;
using explore::Space;
using explore::StandingInputs;
using model::index;
using model::InputId;
using rows::FactKind;

namespace {

// Ways in which inputs can stand: thought of, and looked at by a search, of one prop.
constexpr std::size_t kMostStandings = 5'000, kMostLookedAt = 64;
// A room that nobody touches does nearly the same each time: what takes more states than this is a clock
// beside which another one turns. So many ways of which that is true are enough.
constexpr std::uint64_t kMostStates = 2'000;
constexpr std::size_t kMostOpen = 4;
// What the playthrough leaves between one thing and the next.
constexpr std::int64_t kPause_ms = 1'000;

Question is_so(Seat prop) { return fact_holds(prop.controller, {FactKind::prop_solved, prop.row, 0, 0, {}}); }

/// Whether the only question of the space can be seen to hold (refuted), by so many states; else why not
/// known.
Answer seen_in(const Slice& part, Space& space, std::uint64_t most_states, std::string& bound) {
  explore::Search search(space, most_states);
  const auto end = search.run({}, [&](std::uint32_t node, std::uint32_t k) {
    return (space.at(search.nodes()[node].location).outcomes[k].answers & 1) != 0;
  });
  if (end == explore::Search::End::stopped) return Answer::refuted;
  if (end == explore::Search::End::complete && !space.overflowed()) return Answer::proved;
  bound = explore::ended(search, part, space).bound;
  return Answer::undecided;
}

/// Calls visit on each raw fact of a literal, with its controller; of what another controller says, there.
void each_raw(const RoomTables& tables, std::size_t c, rows::Literal literal,
              const std::function<void(std::size_t, const rows::RawFact&)>& visit) {
  const rows::Table& rows = tables.controllers[c].rows;
  const std::uint32_t fact = rows::fact_of(literal);
  if (fact == 0) return;
  std::size_t n = fact - 1;
  if (n < rows.facts.size()) {
    const rows::RawFact& raw = rows.facts[n];
    if (raw.kind != FactKind::peer_says) return visit(c, raw);
    const std::size_t peer = rows.link.peers[raw.a].controller;
    return visit(peer, tables.controllers[peer].rows.link.bits[raw.b]);
  }
  n -= rows.facts.size();
  for (const rows::Sequence& sequence : rows.sequences) {
    if (n < sequence.facts.size()) return;
    n -= sequence.facts.size();
  }
  for (const rows::Literal part : rows.derived[n].literals) each_raw(tables, c, part, visit);
}

bool stands_anywhere(model::InputKind kind) {
  return kind == model::InputKind::scale || kind == model::InputKind::gauge ||
         kind == model::InputKind::contact || kind == model::InputKind::reader ||
         kind == model::InputKind::signal;
}

}  // namespace

LeftOvers::LeftOvers(const model::Room& room, const RoomTables& tables, Freedoms freedoms)
    : room_(room),
      tables_(tables),
      awake_(tables),
      freedoms_(freedoms),
      untouched_(awake_, kLeftAlone_ms),
      rest_(explore::values_at_rest(room, tables)),
      readies_(tables.controllers.size()) {
  for (std::size_t c = 0; c < awake_.controllers.size(); ++c) {
    rows::Table& rows = awake_.controllers[c].rows;
    for (rows::Prop& prop : rows.props) {
      // Who waits for others is woken. Who waits for an input waits for it here too.
      bool waits = false;
      each_raw(tables, c, prop.wakes, [&](std::size_t, const rows::RawFact& fact) {
        waits = waits || fact.kind == FactKind::prop_in || fact.kind == FactKind::prop_solved;
      });
      if (waits) prop.wakes = rows::kTrue;
    }
    // What takes longer does not come in that time.
    const auto too_long = [&](std::uint32_t scans) {
      return std::int64_t{scans} * rows.scan_ms > kLeftAlone_ms;
    };
    for (rows::Body& body : rows.bodies)
      body.rules.erase(std::remove_if(body.rules.begin(), body.rules.end(),
                                      [&](const rows::Rule& rule) {
                                        const std::uint32_t fact = rows::fact_of(rule.condition);
                                        const bool late =
                                            fact >= 1 && fact <= rows.facts.size() &&
                                            !rows::negated(rule.condition) &&
                                            rows.facts[fact - 1].kind == FactKind::session_from &&
                                            too_long(rows.facts[fact - 1].a);
                                        return late || too_long(rule.n);
                                      }),
                       body.rules.end());
  }
  freedoms_.losses = freedoms_.operator_ = freedoms_.override_ = false;
  for (std::size_t c = 0; c < tables.controllers.size(); ++c)
    for (const rows::Ready& ready : tables.controllers[c].rows.readies)
      each_raw(tables, c, ready.condition,
               [&](std::size_t owner, const rows::RawFact& fact) { readies_[owner].push_back(fact); });
}

// ---- How inputs can stand ----

/// The inputs of a part, those that are named first before the others.
std::vector<LeftOvers::Device> LeftOvers::devices(const Slice& part, const std::set<InputId>& first,
                                                  explore::Alike& alike) const {
  std::map<InputId, std::vector<rows::RawFact>> read;
  const auto see = [&](std::size_t c, const rows::RawFact& fact) {
    if (!explore::speaks_of_input(fact.kind)) return;
    std::vector<rows::RawFact>& facts = read[tables_.controllers[c].inputs[fact.a]];
    if (fact.kind == FactKind::input_in) facts.push_back(fact);
  };
  for (std::size_t c = 0; c < part.parts.size(); ++c) {
    for (const rows::RawFact& fact : part.parts[c].facts) see(c, fact);
    for (const explore::FarInput& far : part.parts[c].far) see(far.controller, far.says);
  }
  std::vector<Device> found;
  for (auto& each : read) {
    const InputId input = each.first;
    std::vector<rows::RawFact>& facts = each.second;
    if (!stands_anywhere(room_.inputs[index(input)].kind)) continue;
    for (const Seat seat : tables_.inputs[index(input)])
      for (const rows::RawFact& fact : readies_[seat.controller])
        if (fact.kind == FactKind::input_in && fact.a == seat.row) facts.push_back(fact);
    Device device;
    device.input = input;
    std::map<std::vector<bool>, std::uint8_t> seen;
    const auto add = [&](std::uint8_t value, bool rests) {
      std::vector<bool> signature;
      for (const rows::RawFact& fact : facts) signature.push_back(value >= fact.b && value <= fact.c);
      const auto known = seen.find(signature);
      if (known != seen.end() && !rests) alike[{input, known->second}].push_back(value);
      if (known != seen.end() ||
          (!rests && explore::laid(room_, tables_, rest_, {{input, value}}, {}).fits == Truth::no))
        return;
      seen.emplace(std::move(signature), value);
      device.values.push_back(value);
      alike[{input, value}] = {value};
    };
    add(rest_[index(input)], true);
    const Seat seat = tables_.inputs[index(input)].front();
    const rows::Table& rows = tables_.controllers[seat.controller].rows;
    for (unsigned value = 0; value <= explore::top_value(rows, rows.inputs[seat.row]); ++value)
      add(static_cast<std::uint8_t>(value), false);
    found.push_back(std::move(device));
  }
  std::stable_partition(found.begin(), found.end(),
                        [&](const Device& device) { return first.count(device.input) != 0; });
  return found;
}

/// Whether each `ready` of the room may be met.
bool LeftOvers::may_start(const StandingInputs& standing) const {
  for (std::size_t c = 0; c < tables_.controllers.size(); ++c)
    for (const rows::Ready& ready : tables_.controllers[c].rows.readies)
      if (untouched_.while_idle(c, ready.condition, standing) == Truth::no) return false;
  return true;
}

bool LeftOvers::may_start_with_more(const std::vector<Device>& devices, std::size_t from,
                                    StandingInputs& standing) const {
  if (!may_start(standing)) return false;
  if (from == devices.size()) return true;
  bool may = false;
  for (const std::uint8_t value : devices[from].values) {
    standing[devices[from].input] = value;
    may = may_start_with_more(devices, from + 1, standing);
    if (may) break;
  }
  standing.erase(devices[from].input);
  return may;
}

/// How many inputs stand elsewhere than at rest.
std::size_t LeftOvers::moved(const StandingInputs& standing) const {
  return static_cast<std::size_t>(std::count_if(standing.begin(), standing.end(), [&](const auto& one) {
    return one.second != rest_[index(one.first)];
  }));
}

// ---- What comes of it ----

struct LeftOvers::Asked {
  Seat prop;
  Slice part;
  std::vector<Device> devices;
  explore::Alike alike;
  std::vector<StandingInputs> solving;  // in which it may be solved
  std::size_t thought_of = 0;
  bool differs = false;  // some other way in which inputs can stand does not solve it
  LeftOver found;
};

/// Thinks of each way in which inputs can stand, as far as it makes a difference to what the rows say.
void LeftOvers::walk(Asked& asked, std::size_t next, StandingInputs& standing) const {
  if (++asked.thought_of > kMostStandings || !may_start(standing)) return;
  if (!untouched_.may_solve(asked.prop, standing)) {
    asked.differs = asked.differs || may_start_with_more(asked.devices, next, standing);
    return;
  }
  if (next == asked.devices.size()) {
    asked.solving.push_back(standing);
    return;
  }
  for (const std::uint8_t value : asked.devices[next].values) {
    standing[asked.devices[next].input] = value;
    walk(asked, next + 1, standing);
  }
  standing.erase(asked.devices[next].input);
}

/// Where each source of the space stands: inputs so, buttons up, no key typed. Those of other inputs than
/// `alone`, where it is given, may be anything.
std::vector<int> LeftOvers::pins(const Space& space, const StandingInputs& standing,
                                 const std::set<InputId>* alone) const {
  const Slice& part = space.slice();
  const auto value_of = [&](std::size_t c, std::uint32_t row) -> std::uint8_t {
    const auto stands = standing.find(tables_.controllers[c].inputs[row]);
    return stands == standing.end() ? std::uint8_t{0} : stands->second;
  };
  const auto is_free = [&](std::size_t c, std::uint32_t row) {
    return alone && alone->count(tables_.controllers[c].inputs[row]) == 0;
  };
  std::vector<int> pins;
  for (std::size_t c = 0; c < part.parts.size(); ++c)
    for (const explore::Source& source : space.sources(c)) {
      int pinned = 0;  // at rest: no button is pressed, no key typed
      if (source.peer >= 0) {
        for (const explore::FarInput& far : part.parts[c].far) {
          if (far.peer != source.peer || far.bit != source.bit || far.says.kind != FactKind::input_in)
            continue;
          const std::uint8_t value = value_of(far.controller, far.says.a);
          if (is_free(far.controller, far.says.a)) {
            pinned = -1;
            continue;
          }
          pinned = value >= far.says.b && value <= far.says.c ? 1 : 0;
        }
      } else if (source.prop >= 0 || is_free(c, source.input)) {
        pinned = -1;
      } else {
        const std::uint8_t value = value_of(c, source.input);
        const auto like = [&](const explore::Choice& choice) {
          return !choice.lost && !choice.moving && choice.keys.empty() && !choice.pressed &&
                 std::all_of(
                     part.parts[c].facts.begin(), part.parts[c].facts.end(), [&](const rows::RawFact& fact) {
                       const auto in = [&](std::uint8_t one) { return one >= fact.b && one <= fact.c; };
                       return fact.kind != FactKind::input_in || fact.a != source.input ||
                              in(value) == in(choice.value);
                     });
        };
        const auto choice = std::find_if(source.choices.begin(), source.choices.end(), like);
        if (choice != source.choices.end()) pinned = static_cast<int>(choice - source.choices.begin());
      }
      pins.push_back(pinned);
    }
  return pins;
}

/// Whether the prop, awake from the start, is ever solved with inputs standing so. Refuted: it is.
Answer LeftOvers::is_solved(const Slice& part, Seat prop, const StandingInputs& standing,
                            const Budget& budget, std::string& bound) const {
  const std::vector<Question> questions{is_so(prop)};
  Space space(part, questions, nullptr, false);
  space.limit(budget);
  space.pin(pins(space, standing, nullptr), true);
  return seen_in(part, space, std::min(budget.states, kMostStates), bound);
}

/// Whether what the prop waits for can come about with the inputs that it reads standing so. Refuted: it can.
Answer LeftOvers::can_wake(Seat prop, const StandingInputs& standing, const std::set<InputId>& reads,
                           const Budget& budget, std::string& bound) const {
  const rows::Literal wakes = tables_.controllers[prop.controller].rows.props[prop.row].wakes;
  Ask ask;
  ask.kind = Ask::Kind::scan_fact;
  ask.controller = prop.controller;
  ask.a = rows::fact_of(wakes);
  const std::vector<Question> questions{rows::negated(wakes) ? opposite({ask}) : Question{ask}};
  const Slice part = explore::slice_of(room_, tables_, questions, {}, freedoms_, false);
  std::set<InputId> touched;
  explore::Alike alike;
  for (const Device& device : devices(part, {}, alike))
    if (reads.count(device.input) && standing.count(device.input)) touched.insert(device.input);
  // What it waits for is brought about elsewhere.
  if (touched.empty()) return Answer::refuted;
  if (part.round_ticks() == 0) {
    bound = explore::of_several_periods().bound;
    return Answer::undecided;
  }
  Space space(part, questions, nullptr, false);
  space.limit(budget);
  space.pin(pins(space, standing, &touched));
  return seen_in(part, space, budget.states, bound);
}

/// Props with a goal that its chain condition speaks of.
std::vector<Seat> LeftOvers::waited_for(Seat prop) const {
  std::vector<Seat> found;
  each_raw(tables_, prop.controller, tables_.controllers[prop.controller].rows.props[prop.row].wakes,
           [&](std::size_t c, const rows::RawFact& fact) {
             if (fact.kind != FactKind::prop_in && fact.kind != FactKind::prop_solved) return;
             const Seat seat{static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(fact.a)};
             if (tables_.controllers[c].rows.props[fact.a].goal == 0) return;
             if (seat.controller == prop.controller && seat.row == prop.row) return;
             found.push_back(seat);
           });
  return found;
}

/// A group leaves inputs so, the operator resets, finds each `ready` met and starts again; who waits for
/// others is woken by passing over them. Then nobody does anything.
Replayed LeftOvers::play(Seat prop, const StandingInputs& standing, const explore::Alike& alike,
                         const std::vector<Seat>& passed_over) const {
  Replayed done;
  RoomRun run(room_, tables_);
  run.world().make_ready();
  std::vector<model::Deed>& deeds = done.script.deeds;
  std::size_t next = 0;
  const auto scan = [&] {
    for (; next < deeds.size() && deeds[next].time_ms <= run.next_scan_ms(); ++next)
      if (auto refused = run.perform(deeds[next], std::max(deeds[next].time_ms, run.now_ms())))
        done.why_not = *refused;
    run.scan();
    if (!done.start_ms && run.phase(0) != 0) done.start_ms = run.now_ms();
  };
  const auto add = [&](model::DeedKind kind, std::int64_t at_ms) -> model::Deed& {
    model::Deed deed;
    deed.kind = kind;
    deed.when = model::When::at;
    deed.time_ms = at_ms;
    deeds.push_back(std::move(deed));
    return deeds.back();
  };
  const bool by_itself = tables_.controllers[0].rows.session.starts == rows::StartKind::itself;
  while (!(by_itself ? done.start_ms.has_value() : run.inputs_known()) && run.next_scan_ms() < kKnownBy_ms)
    scan();
  std::int64_t at_ms = (run.now_ms() / kPause_ms + 2) * kPause_ms;
  const auto start = [&] {
    if (!by_itself) add(model::DeedKind::operator_start, at_ms);
  };
  if (moved(standing) != 0) {
    start();
    const explore::Laid laid = explore::laid(room_, tables_, rest_, standing, alike);
    if (laid.fits != Truth::yes) {
      done.why_not = "the room's things can lie in more ways than were tried";
      return done;
    }
    for (const auto& [input, brings] : laid.deeds) {
      if (brings.empty()) continue;
      at_ms += kPause_ms;
      for (const model::Deed& one : brings) {
        model::Deed& deed = add(one.kind, at_ms);
        deed = one;
        deed.when = model::When::at;
        deed.time_ms = at_ms;
      }
      at_ms += (run.world().steady_ms(input) / kPause_ms) * kPause_ms;
    }
    at_ms += 2 * kPause_ms;
    add(model::DeedKind::operator_reset, at_ms);
    // What starts by itself does so in the scan after.
    while (run.next_scan_ms() <= at_ms) scan();
    if (by_itself)
      while (run.phase(0) == 0 && run.next_scan_ms() < at_ms + kKnownBy_ms) scan();
    std::int64_t hold_ms = 0;
    for (const ControllerTable& controller : tables_.controllers)
      for (const rows::Ready& ready : controller.rows.readies)
        hold_ms = std::max(hold_ms, std::int64_t{ready.hold} * controller.rows.scan_ms);
    at_ms += (hold_ms / kPause_ms + 2) * kPause_ms;
  }
  start();
  // What the operator is shown as the session starts.
  const auto unmet = [&]() -> std::string {
    for (std::size_t c = 0; c < run.controllers(); ++c)
      for (std::size_t n = 0; n < run.rows(c).readies.size(); ++n)
        if (!run.literal_was(c, run.rows(c).readies[n].condition)) return run.symbols(c).readies[n].name;
    return "";
  };
  if (!by_itself) {
    while (run.next_scan_ms() < at_ms) scan();
    if (run.phase(0) != 0) {
      done.why_not = "the session had begun before the operator started it";
      return done;
    }
  }
  if (const std::string words = unmet(); !words.empty()) {
    done.why_not = fmt::format("`ready … \"{}\"` was not met there", words);
    return done;
  }
  const std::size_t c = prop.controller;
  if (!by_itself && run.solved(c, prop.row)) {
    done.why_not = "it was solved already";
    return done;
  }
  if (!passed_over.empty()) {
    at_ms += kPause_ms;
    for (const Seat seat : passed_over)
      add(model::DeedKind::operator_override, at_ms).prop =
          tables_.controllers[seat.controller].props[seat.row];
  }
  const std::int64_t until_ms = at_ms + kLeftAlone_ms;
  while (run.next_scan_ms() <= until_ms && !run.solved(c, prop.row) && done.why_not.empty()) scan();
  if (done.why_not.empty() && !run.solved(c, prop.row)) done.why_not = "it is not solved there";
  if (!done.why_not.empty()) return done;
  done.shown = true;
  done.seen_ms = done.script.until_ms = run.now_ms();
  return done;
}

/// Whether the runtime shows it (refuted), with those that the prop waits for passed over where it waits.
/// That tells what is so once they are solved, if they can be with nothing touched that the prop reads: where
/// they cannot, that is no way in which it is left (proved).
Answer LeftOvers::show(Asked& asked, const StandingInputs& standing, const Budget& budget,
                       std::string& bound) const {
  std::vector<Seat> around = waited_for(asked.prop);
  std::vector<std::vector<Seat>> ways{{}, around};
  for (const Seat other : asked.found.others)
    for (const Seat seat : waited_for(other))
      if (seat.controller != asked.prop.controller || seat.row != asked.prop.row) around.push_back(seat);
  ways.push_back(around);
  for (std::size_t n = 0; n < ways.size(); ++n) {
    if (n != 0 && ways[n].size() == ways[n - 1].size()) continue;
    if (n == 1) {
      const Answer wakes = can_wake(asked.prop, standing, asked.found.reads, budget, bound);
      if (wakes != Answer::refuted) return wakes;
    }
    Replayed played = play(asked.prop, standing, asked.alike, ways[n]);
    if (!played.shown) {
      bound =
          "it is solved in what was looked at, but not in a playthrough that was tried: " + played.why_not;
      continue;
    }
    asked.found.replayed = std::move(played);
    asked.found.overridden = n != 0;
    return Answer::refuted;
  }
  return Answer::undecided;
}

/// Looks at the ways that are left, those first in which the fewest inputs stand elsewhere than at rest.
void LeftOvers::settle(Asked& asked, const Budget& budget) const {
  LeftOver& found = asked.found;
  std::stable_sort(asked.solving.begin(), asked.solving.end(),
                   [&](const StandingInputs& a, const StandingInputs& b) { return moved(a) < moved(b); });
  std::size_t looked_at = 0, open = 0;
  const StandingInputs* shown = nullptr;
  std::string bound;
  for (const StandingInputs& standing : asked.solving) {
    if (shown && asked.differs) break;
    if (looked_at++ == kMostLookedAt) {
      found.bound =
          fmt::format("its inputs can stand in more ways than the {} that were looked at", kMostLookedAt);
      break;
    }
    // Each thing lies in one place.
    if (explore::laid(room_, tables_, rest_, standing, asked.alike).fits == Truth::no) continue;
    Answer answer = is_solved(asked.part, asked.prop, standing, budget, bound);
    asked.differs = asked.differs || answer == Answer::proved;
    if (answer == Answer::refuted && !shown) {
      answer = show(asked, standing, budget, bound);
      if (answer == Answer::refuted) shown = &standing;
    }
    if (answer == Answer::undecided) found.bound = bound;
    if (answer == Answer::undecided && ++open == kMostOpen) break;
  }
  // What is solved wherever inputs stand solves itself.
  if (!shown || !asked.differs) {
    found.answer = found.bound.empty() ? Answer::proved : Answer::undecided;
    return;
  }
  found.answer = Answer::refuted;
  found.before = moved(*shown) != 0;
  for (const auto& [input, value] : *shown)
    if (value != rest_[index(input)]) found.standing.push_back(input);
  if (found.before) return;
  // As everything rests it is solved already: by those inputs that elsewhere would not solve it.
  for (const Device& device : asked.devices)
    for (const std::uint8_t value : device.values) {
      StandingInputs other = *shown;
      other[device.input] = value;
      if (untouched_.may_solve(asked.prop, other) &&
          is_solved(asked.part, asked.prop, other, budget, bound) != Answer::proved)
        continue;
      found.standing.push_back(device.input);
      break;
    }
}

LeftOver LeftOvers::of_prop(Seat prop, const Budget& budget) const {
  Asked asked;
  asked.prop = prop;
  // Most props need a press, a code or a change: no way in which inputs stand moves them.
  // Buttons are up, but for those that a `ready` wants held.
  StandingInputs standing;
  for (std::size_t n = 0; n < room_.inputs.size(); ++n)
    if (room_.inputs[n].kind == model::InputKind::button) standing[InputId(n)] = rest_[n];
  if (!untouched_.may_solve(prop, standing)) {
    asked.found.answer = Answer::proved;
    return std::move(asked.found);
  }
  if (freedoms_.cut || freedoms_.restart) {
    asked.found.bound = explore::kOnlyPromises;
    return std::move(asked.found);
  }
  const std::vector<Question> questions{is_so(prop)};
  explore::Props frontier;
  const Slice own = explore::slice_of(room_, awake_, questions, {}, freedoms_, explore::Props{}, frontier);
  for (std::size_t c = 0; c < own.parts.size(); ++c) {
    for (const rows::RawFact& fact : own.parts[c].facts)
      if (explore::speaks_of_input(fact.kind))
        asked.found.reads.insert(tables_.controllers[c].inputs[fact.a]);
    for (const explore::FarInput& far : own.parts[c].far)
      if (explore::speaks_of_input(far.says.kind))
        asked.found.reads.insert(tables_.controllers[far.controller].inputs[far.says.a]);
  }
  asked.part = explore::slice_of(room_, awake_, questions, {}, freedoms_, false);
  for (std::size_t c = 0; c < asked.part.parts.size(); ++c)
    for (std::size_t p = 0; p < asked.part.parts[c].props.size(); ++p)
      if (asked.part.parts[c].props[p] && (c != prop.controller || p != prop.row))
        asked.found.others.push_back({static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p)});
  if (asked.part.round_ticks() == 0) {
    asked.found.bound = explore::of_several_periods().bound;
    return std::move(asked.found);
  }
  asked.devices = devices(asked.part, asked.found.reads, asked.alike);
  walk(asked, 0, standing);
  if (asked.thought_of > kMostStandings) {
    asked.found.bound = "its inputs can stand in more ways than are thought of";
    return std::move(asked.found);
  }
  settle(asked, budget);
  return std::move(asked.found);
}

}  // namespace lw
