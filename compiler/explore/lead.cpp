// See lead.hpp.
#include "explore/lead.hpp"

#include <algorithm>
#include <utility>

#include "explore/courses.hpp"
#include "explore/search.hpp"
#include "explore/slice.hpp"

namespace lw::explore {

using rows::FactKind;

namespace {

/// How the ways are put together.
struct Manner {
  bool stands = false;        // an input stands from power-up on as the first way that uses it begins
  std::int64_t pause_ms = 0;  // between two ways
  /// The last way is what was found; it begins with the session or as soon as it can, and the one before ends
  /// so long after that.
  std::optional<std::int64_t> ends_ms;
};

/// One after the other, of one session; nothing where one of the ways ends or resets it. Whoever has pressed
/// a button lets go of it before the next way begins.
/// `found_ms`: when the last of them, which is what was found, begins.
std::optional<Playthrough> joined(const RoomTables& tables, const std::vector<const Playthrough*>& ways,
                                  Manner manner, std::int64_t* found_ms = nullptr) {
  using Kind = Happening::Kind;
  Playthrough all;
  all.known_ms = ways.back()->known_ms;
  const std::int64_t start_ms = start_of(*ways.back());
  std::int64_t now_ms = start_ms, waits_ms = 0;
  std::set<std::pair<std::uint8_t, std::uint8_t>> used;
  for (const Playthrough* const way : ways) {
    const std::int64_t began_ms = start_of(*way);
    const bool found = way == ways.back();
    if (manner.ends_ms && found) now_ms = start_ms + waits_ms;
    if (manner.ends_ms && way == ways[ways.size() - 2]) {
      const std::int64_t from_ms =
          start_ms + *manner.ends_ms - std::max<std::int64_t>(way->until_ms - began_ms, 0);
      // What was found waits for it, where it takes longer.
      waits_ms = std::max<std::int64_t>(now_ms - from_ms, 0);
      now_ms = from_ms + waits_ms;
    }
    if (found && found_ms != nullptr) *found_ms = now_ms;
    std::map<std::pair<std::uint8_t, std::uint8_t>, const Happening*> uses;  // the last of each
    for (const Happening& one : way->happenings) {
      Happening later = one;
      later.at_ms = std::max(one.at_ms - began_ms, std::int64_t{0}) + now_ms;
      switch (one.kind) {
        case Kind::input:
        case Kind::lost: {
          const auto seat = std::make_pair(one.controller, one.input);
          uses[seat] = &one;
          const bool first = used.count(seat) == 0;
          if (one.at_ms <= began_ms && first &&
              (manner.stands || way == ways.front() || (manner.ends_ms && found)))
            later.at_ms = one.at_ms == 0 ? 0 : std::min(one.at_ms, start_ms);
          break;
        }
        case Kind::start:
          if (way != ways.front()) continue;
          later.at_ms = start_ms;
          break;
        case Kind::says:
          continue;
        case Kind::restart:
        case Kind::silent:
        case Kind::heard:
          break;  // of what was found: on the ways to it nothing fails
        default:
          return std::nullopt;
      }
      all.happenings.push_back(std::move(later));
    }
    const std::int64_t until_ms = std::max(way->until_ms - began_ms, std::int64_t{0}) + now_ms;
    all.until_ms = std::max(all.until_ms, until_ms);
    now_ms = until_ms + manner.pause_ms;
    for (const auto& [seat, last] : uses) {
      used.insert(seat);
      const rows::Input& row = tables.controllers[seat.first].rows.inputs[seat.second];
      if (found || row.kind != rows::InputKind::button || last->value == 0 || last->brief) continue;
      Happening up = *last;
      up.value = 0;
      up.at_ms = until_ms + manner.pause_ms / 2;
      all.happenings.push_back(std::move(up));
    }
  }
  std::stable_sort(all.happenings.begin(), all.happenings.end(),
                   [](const Happening& a, const Happening& b) { return a.at_ms < b.at_ms; });
  return all;
}

/// From then on the controller hears nobody, and nobody hears it.
void cut_off(const RoomTables& tables, std::size_t controller, std::int64_t at_ms, Playthrough& play) {
  const rows::Table& table = tables.controllers[controller].rows;
  for (std::size_t peer = 0; peer < table.link.peers.size(); ++peer) {
    Happening silent;
    silent.kind = Happening::Kind::silent;
    silent.controller = static_cast<std::uint8_t>(controller);
    silent.peer = static_cast<std::uint8_t>(peer);
    // It is lost so long after.
    silent.at_ms = at_ms + (std::int64_t{table.link.peers[peer].lost_after} - 1) * table.scan_ms;
    play.happenings.push_back(std::move(silent));
  }
}

}  // namespace

Found found_in(const Space& space, Scheduled scheduled) {
  Found found;
  std::set<Found::Fact> known;
  const Slice& slice = space.slice();
  for (const Scheduled::Change& change : scheduled.changes) {
    std::size_t c = slice.parts.size() - 1;
    while (space.first_source(c) > change.seat || space.sources(c).empty()) --c;
    const Source& source = space.sources(c)[change.seat - space.first_source(c)];
    if (change.choice >= source.choices.size()) continue;
    const Choice& choice = source.choices[change.choice];
    Found::Need need;
    need.controller = static_cast<std::uint8_t>(c);
    if (source.prop >= 0) {
      if (choice.value == 0) continue;
      const auto prop = static_cast<std::uint32_t>(source.prop);
      need.fact = choice.pressed ? rows::RawFact{FactKind::prop_solved, prop, 0, 0, {}}
                                 : rows::RawFact{FactKind::prop_in, prop, choice.value, choice.value, {}};
    } else if (source.peer >= 0) {
      if (choice.value == 0 || source.silence) continue;
      const rows::Peer& peer = slice.parts[c].rows.link.peers[static_cast<std::size_t>(source.peer)];
      need.controller = peer.controller;
      for (const FarInput& far : slice.parts[c].far)
        if (far.peer == source.peer && far.bit == source.bit) need.fact = far.says;
      // When an input elsewhere must change is told anyway.
      if (need.fact.kind <= FactKind::input_stirs) continue;
    } else {
      continue;
    }
    need.at_ms = scheduled.at_ms(change.scan);
    if (known.insert(need.key()).second) found.needs.push_back(std::move(need));
  }
  found.play = std::move(scheduled.play);
  return found;
}

std::optional<Found> Leads::look_for(const Courses& courses, const Budget& budget,
                                     const Found::Need& need) const {
  const std::vector<Question> questions{fact_holds(need.controller, need.fact)};
  Props frontier;
  const Slice part = slice_of(courses.room(), courses.tables(), questions, {}, freedoms_, {}, frontier);
  if (part.round_ticks() == 0) return std::nullopt;
  // Inputs as they are; where one could not be so fast, held back.
  for (const bool held_back : {false, true}) {
    Space space(part, questions, nullptr, held_back);
    space.limit(budget);
    Search search(space, budget.states);
    std::optional<std::pair<std::uint32_t, std::uint32_t>> met;
    search.run({}, [&](std::uint32_t node, std::uint32_t k) {
      if (space.at(search.nodes()[node].location).outcomes[k].answers & 1) met.emplace(node, k);
      return met.has_value();
    });
    if (!met) return std::nullopt;
    if (auto scheduled = schedule(space, way_of(search, met->first, met->second)))
      return found_in(space, std::move(*scheduled));
  }
  return std::nullopt;
}

/// Adds a way to each, those first that others wait for; false where none was found to one of them.
bool Leads::bring(const Courses& courses, const Budget& budget, const std::vector<Found::Need>& needs,
                  std::set<Found::Fact>& begun, std::vector<const Playthrough*>& ways) {
  for (const Found::Need& need : needs) {
    if (!begun.insert(need.key()).second) continue;
    auto known = known_.find(need.key());
    if (known == known_.end()) known = known_.emplace(need.key(), look_for(courses, budget, need)).first;
    const std::optional<Found>& found = known->second;
    if (!found || !bring(courses, budget, found->needs, begun, ways)) return false;
    ways.push_back(&found->play);
  }
  return true;
}

std::optional<std::pair<Playthrough, Replayed>> Leads::up_to(Courses& courses, Freedoms freedoms,
                                                             const Budget& budget, const Found& found,
                                                             const Claim& claim, Coverage* coverage) {
  constexpr std::int64_t kLeisureMs = 2000;
  const bool restarts = freedoms.restart, cuts = freedoms.cut;
  const Freedoms limits = restarts || cuts ? freedoms : Freedoms{};
  // Nobody loses, ends or overrides anything to get on.
  freedoms.losses = freedoms.operator_ = freedoms.override_ = false;
  freedoms.cut = freedoms.restart = false;
  if (freedoms.hands != freedoms_.hands || freedoms.late != freedoms_.late) known_.clear();
  freedoms_ = freedoms;
  std::set<Found::Fact> begun;
  std::vector<const Playthrough*> ways;
  if (found.needs.empty() && !restarts && !cuts) return std::nullopt;
  if (!bring(courses, budget, found.needs, begun, ways)) return std::nullopt;
  ways.push_back(&found.play);
  std::int64_t link_ms = 0;
  for (const model::Link& link : courses.room().links) link_ms = std::max(link_ms, link.delay_ms);
  const std::int64_t short_ms = link_ms + 2 * slowest_scan_ms(courses.tables());
  std::vector<Manner> manners;
  for (const std::int64_t pause_ms : {short_ms, short_ms + kLeisureMs})
    for (const bool stands : {false, true}) manners.push_back({stands, pause_ms, std::nullopt});
  // Its message may take its time, and controllers do not look at it in the very scan.
  if (ways.size() > 1) {
    const std::int64_t needed_ms = found.needs.back().at_ms - start_of(found.play);
    for (const std::int64_t takes_ms : std::set<std::int64_t>{0, link_ms})
      for (const int scans : {0, -1, 1, -2, 2})
        manners.push_back({true, short_ms, needed_ms - takes_ms + scans * slowest_scan_ms(courses.tables())});
  }
  using Shown = std::optional<std::pair<Playthrough, Replayed>>;
  const auto shown = [&](Playthrough play) -> Shown {
    Replayed replayed = replay(courses, play, claim, coverage);
    if (!shown_within(replayed, limits)) return std::nullopt;
    return std::make_pair(std::move(play), std::move(replayed));
  };
  for (const Manner& manner : manners)
    if (auto play = joined(courses.tables(), ways, manner))
      if (Shown done = shown(std::move(*play))) return done;
  for (std::size_t c = 0; c < courses.room().controllers.size() && restarts; ++c)
    for (const bool stands : {false, true})
      if (auto play = joined(courses.tables(), ways, {stands, short_ms, std::nullopt})) {
        Happening fails;
        fails.kind = Happening::Kind::restart;
        fails.controller = static_cast<std::uint8_t>(c);
        fails.at_ms = play->until_ms += short_ms;
        play->happenings.push_back(std::move(fails));
        if (Shown done = shown(std::move(*play))) return done;
      }
  for (std::size_t c = 0; c < courses.room().controllers.size() && cuts; ++c)
    for (const bool stands : {false, true}) {
      const Manner manner{stands, short_ms, std::nullopt};
      std::int64_t found_ms = 0;
      const auto play = joined(courses.tables(), ways, manner, &found_ms);
      if (!play) continue;
      // Before what was found, as soon as it has heard of the session; and once it is done.
      for (const std::int64_t at_ms :
           {found_ms + slowest_scan_ms(courses.tables()), found_ms + short_ms, play->until_ms + short_ms}) {
        Playthrough off = *play;
        cut_off(courses.tables(), c, at_ms, off);
        for (const Happening& happening : off.happenings)
          if (at_ms > play->until_ms) off.until_ms = std::max(off.until_ms, happening.at_ms + short_ms);
        if (Shown done = shown(std::move(off))) return done;
      }
    }
  return std::nullopt;
}

}  // namespace lw::explore
