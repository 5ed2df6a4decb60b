// See lost.hpp.
#include "explore/lost.hpp"

#include <algorithm>
#include <deque>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "explore/courses.hpp"
#include "explore/lead.hpp"
#include "explore/schedule.hpp"
#include "explore/search.hpp"

namespace lw::explore {

using rows::FactKind;

namespace {

constexpr std::size_t kMostKinds = 256;

Question any_of(const std::vector<Question>& questions) {
  Question any;
  for (const Question& question : questions) any.insert(any.end(), question.begin(), question.end());
  Ask ask;
  ask.kind = Ask::Kind::at_least;
  ask.a = 1;
  ask.b = static_cast<std::uint32_t>(questions.size());
  any.push_back(std::move(ask));
  return any;
}

/// How the props of a part stand in a state: what somebody may ask of them, and of counters and sessions.
struct Stance {
  std::string key;
  std::vector<Question> facts;
  bool begun = true;  // no controller is idle
};
Stance stance_of(const Space& space, const std::string& state, bool with_facts) {
  Stance found;
  const auto tell = [&](std::size_t c, rows::RawFact fact, bool holds) {
    found.key += static_cast<char>(fact.b);
    found.key += holds ? '1' : '0';
    if (!with_facts) return;
    Question question = fact_holds(c, std::move(fact));
    found.facts.push_back(holds ? std::move(question) : opposite(std::move(question)));
  };
  for (std::size_t c = 0; c < space.slice().parts.size(); ++c) {
    const Part& part = space.slice().parts[c];
    if (!part.present) continue;
    const std::uint8_t phase = space.phase(state, c);
    found.begun = found.begun && phase != 0;
    // Where nobody asks for its end, a session that has ended goes on in the part.
    const std::uint32_t from = part.phase_ended ? phase : std::min<std::uint32_t>(phase, 1);
    const std::uint32_t to = part.phase_ended ? phase : from == 0 ? 0u : 2u;
    tell(c, {FactKind::session_in, from, to, 0, {}}, true);
    for (std::uint32_t p = 0; p < part.props.size(); ++p) {
      if (!part.props[p]) continue;
      const std::uint8_t now = space.prop_state(state, c, p);
      tell(c, {FactKind::prop_in, p, now, now, {}}, true);
      tell(c, {FactKind::prop_solved, p, 0, 0, {}}, space.prop_solved(state, c, p));
    }
    for (const rows::RawFact& fact : part.facts)
      if (fact.kind == FactKind::counter_in) tell(c, fact, space.holds(state, c, fact));
  }
  return found;
}

/// Whether it asks for another controller's silence, or what that says of its devices, which no part looks
/// at.
bool hangs_on_silence(const Slice& part) {
  return std::any_of(part.parts.begin(), part.parts.end(), [](const Part& one) {
    return std::any_of(one.facts.begin(), one.facts.end(), [](const rows::RawFact& fact) {
      return fact.kind == FactKind::peer_lost || fact.kind == FactKind::peer_stirs;
    });
  });
}

class Losing {
 public:
  Losing(Courses& courses, Freedoms freedoms, const Budget& budget, bool session_ends)
      : courses_(courses), freedoms_(freedoms), left_(budget), effort_(budget), session_ends_(session_ends) {}

  /// A state in which the goal is lost, as the runtime comes to it.
  struct Shown {
    Playthrough play;
    Question so;  // the goal is lost wherever that holds
    std::string bound;
  };
  std::optional<Shown> look(const Question& goal, bool grows);

 private:
  using PropSeat = std::pair<std::uint8_t, std::uint8_t>;  // controller, prop
  struct Lost {
    std::map<std::string, Question> kinds;  // of stance, in whose every state the goal is lost
    std::string bound;
  };

  std::optional<Lost> lost_in(const Slice& part, const std::vector<Question>& questions,
                              std::optional<PropSeat> unsolved);
  std::optional<Shown> show(const Slice& part, const std::vector<Question>& questions, const Lost& lost);
  const std::optional<Shown>& unsolvable(PropSeat prop);
  static std::set<PropSeat> solved_are_read(const Slice& part);

  Question lost_so(const Question& goal, const Question& stands) const {
    std::vector<Question> all{opposite(goal), stands};
    if (!session_ends_) all.push_back(fact_holds(0, {FactKind::session_in, 0, 1, 0, {}}));
    return all_of(all);
  }
  void spend(const Space& space) { left_.scans -= std::min(left_.scans, space.scans()); }

  Courses& courses_;
  Freedoms freedoms_;
  Budget left_;
  Effort effort_;
  bool session_ends_;
  std::map<PropSeat, std::optional<Shown>> props_;
};

std::optional<Losing::Shown> Losing::look(const Question& goal, bool grows) {
  const std::vector<Question> questions{goal};
  Props members;
  for (;;) {
    Props frontier;
    Slice part = slice_of(courses_.room(), courses_.tables(), questions, {}, freedoms_, members, frontier);
    if (!session_ends_) part.let_sessions_go_on();
    if (!part.one_period() || hangs_on_silence(part)) return std::nullopt;
    const auto lost = lost_in(part, questions, std::nullopt);
    if (!lost) return std::nullopt;
    if (auto shown = show(part, questions, *lost)) return shown;
    // What it waits for may be lost.
    for (const PropSeat& prop : solved_are_read(part)) {
      const auto without = lost_in(part, questions, prop);
      if (!without) return std::nullopt;
      if (without->kinds.empty()) continue;
      const std::optional<Shown>& stuck = unsolvable(prop);
      if (!stuck) continue;
      std::vector<Question> kinds;
      // Each is lost by itself; not more of them than can be asked for in every scan.
      for (const auto& [key, stands] : without->kinds)
        if (kinds.size() < kMostKinds) kinds.push_back(stands);
      Shown shown = *stuck;
      shown.so = all_of({lost_so(goal, any_of(kinds)), stuck->so});
      if (replay(courses_, shown.play, seen(shown.so)).shown) return shown;
    }
    if (!grows || frontier.empty()) return std::nullopt;
    members = grown(part, std::move(members), frontier);
  }
}

const std::optional<Losing::Shown>& Losing::unsolvable(PropSeat prop) {
  // Of props that wait for each other nothing is known of the one that was asked first.
  const auto known = props_.emplace(prop, std::nullopt);
  if (known.second) {
    auto shown = look(fact_holds(prop.first, {FactKind::prop_solved, prop.second, 0, 0, {}}), false);
    known.first->second = std::move(shown);
  }
  return known.first->second;
}

/// Props that are free, or elsewhere, of which somebody asks whether they are solved.
std::set<Losing::PropSeat> Losing::solved_are_read(const Slice& part) {
  std::set<PropSeat> found;
  for (std::size_t c = 0; c < part.parts.size(); ++c) {
    for (const FarInput& far : part.parts[c].far)
      if (far.stays) found.emplace(far.controller, static_cast<std::uint8_t>(far.says.a));
    for (const rows::RawFact& fact : part.parts[c].facts)
      if (fact.kind == FactKind::prop_solved && part.parts[c].free_props[fact.a])
        found.emplace(static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(fact.a));
  }
  return found;
}

/// How the props can stand so that there is no way on, `unsolved` staying so; nothing where that took too
/// much. Inputs keep nothing, devices may be lost and sessions end: all ways on that the room has, and more.
std::optional<Losing::Lost> Losing::lost_in(const Slice& part, const std::vector<Question>& questions,
                                            std::optional<PropSeat> unsolved) {
  Slice loose = part;
  loose.loose = true;
  const Budget budget = left_;
  Space all(loose, questions, nullptr, false);
  all.limit(budget);
  Search search(all, left_.states);
  const Search::End end = search.run({}, {});
  spend(all);
  if (end != Search::End::complete || all.overflowed()) return std::nullopt;
  // On a way on nobody resets or overrides; what ends a session may be no part of this.
  Slice kindly = loose;
  kindly.freedoms.operator_ = kindly.freedoms.override_ = false;
  Space on(kindly, questions, nullptr, false);
  on.limit(budget);
  if (unsolved)
    for (std::size_t c = 0; c < part.parts.size(); ++c)
      for (std::size_t n = 0; n < on.sources(c).size(); ++n) {
        const Source& source = on.sources(c)[n];
        const bool here = source.prop >= 0 && c == unsolved->first && source.prop == unsolved->second;
        const bool far =
            source.peer >= 0 &&
            std::any_of(part.parts[c].far.begin(), part.parts[c].far.end(), [&](const FarInput& one) {
              return one.peer == source.peer && one.bit == source.bit && one.stays &&
                     one.controller == unsolved->first && one.says.a == unsolved->second;
            });
        if (!here && !far) continue;
        for (std::size_t k = 0; k < source.choices.size(); ++k)
          if (here ? source.choices[k].pressed : source.choices[k].value != 0)
            on.rule_out(on.first_source(c) + n, static_cast<std::uint8_t>(k));
      }
  Search walk(on, 0);
  std::vector<std::vector<LocationId>> before;
  std::vector<bool> leads, looked_into;
  std::deque<LocationId> open;
  const auto make_room = [&] {
    before.resize(on.locations());
    leads.resize(on.locations());
    looked_into.resize(on.locations());
  };
  for (const Node& node : search.nodes()) {
    if (node.covered) continue;
    const Location& at = all.at(node.location);
    const LocationId id = on.location(at.state, at.clocks, at.intervals);
    const std::size_t count = on.worked_out(id).outcomes.size();
    if (on.spent() || on.overflowed()) break;
    make_room();
    looked_into[id] = true;
    for (std::size_t k = 0; k < count; ++k) {
      if (on.at(id).outcomes[k].answers & 1) leads[id] = true;
      walk.follow(id, node.zone, k, [&](LocationId to, Zone&&) {
        make_room();
        before[to].push_back(id);
      });
    }
  }
  spend(on);
  if (on.spent() || on.overflowed()) return std::nullopt;
  for (LocationId id = 0; id < on.locations(); ++id) {
    // Each was come to in the search, which does all that a way on may.
    leads[id] = leads[id] || !looked_into[id];
    if (leads[id]) open.push_back(id);
  }
  for (; !open.empty(); open.pop_front())
    for (const LocationId id : before[open.front()])
      if (!leads[id]) {
        leads[id] = true;
        open.push_back(id);
      }
  Lost lost;
  lost.bound = looked_at(search, part);
  std::set<std::string> not_lost;
  for (LocationId id = 0; id < on.locations(); ++id) {
    const Stance stands = stance_of(on, on.at(id).state, !leads[id]);
    if (leads[id] || !stands.begun)
      not_lost.insert(stands.key);
    else
      lost.kinds.emplace(stands.key, all_of(stands.facts));
  }
  for (const std::string& key : not_lost) lost.kinds.erase(key);
  return lost;
}

/// The shortest way to one of those, as the runtime shows it. Those on which nobody loses, ends or overrides
/// anything are looked for first. A reset may still be under way where a part does not hear of it: no such
/// way is taken.
std::optional<Losing::Shown> Losing::show(const Slice& part, const std::vector<Question>& questions,
                                          const Lost& lost) {
  if (lost.kinds.empty()) return std::nullopt;
  for (const bool kind : {true, false}) {
    Slice way = part;
    if (kind)
      way.freedoms.losses = way.freedoms.operator_ = way.freedoms.override_ = way.freedoms.late =
          way.freedoms.apart = false;
    for (const bool held_back : {false, true}) {
      const Budget budget = left_;
      Space space(way, questions, nullptr, held_back);
      if (kind) space.pin({}, true);
      space.limit(budget);
      Search search(space, left_.states);
      std::optional<std::pair<std::uint32_t, std::uint32_t>> met;
      std::string key;
      search.run([](const Location&, const Outcome& outcome) { return !outcome.resets; },
                 [&](std::uint32_t node, std::uint32_t k) {
                   const Outcome& outcome = space.at(search.nodes()[node].location).outcomes[k];
                   key = stance_of(space, outcome.post, false).key;
                   if (lost.kinds.count(key) && !(outcome.answers & 1)) met.emplace(node, k);
                   return met.has_value();
                 });
      spend(space);
      if (!met) break;
      auto scheduled = schedule(space, way_of(search, met->first, met->second));
      if (!scheduled) continue;
      Shown shown;
      shown.so = lost_so(questions[0], lost.kinds.at(key));
      shown.bound = lost.bound;
      const Claim claim = seen(shown.so);
      if (replay(courses_, scheduled->play, claim).shown) {
        shown.play = std::move(scheduled->play);
        return shown;
      }
      auto led =
          courses_.leads().up_to(courses_, freedoms_, effort_, found_in(space, std::move(*scheduled)), claim);
      if (!led) break;
      shown.play = std::move(led->first);
      return shown;
    }
  }
  return std::nullopt;
}

}  // namespace

std::optional<Explored> lost_in_parts(Courses& courses, Freedoms freedoms, const Budget& budget,
                                      const Goal& goal) {
  auto shown = Losing(courses, freedoms, budget, goal.session_ends).look(goal.question, true);
  if (!shown) return std::nullopt;
  Explored result;
  result.answer = Answer::refuted;
  result.bound = std::move(shown->bound);
  result.playthrough = std::move(shown->play);
  result.at_end = std::move(shown->so);
  result.lost_so = true;
  return result;
}

}  // namespace lw::explore
