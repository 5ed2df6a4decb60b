// See lead.hpp.
#include "explore/lead.hpp"

#include <algorithm>
#include <utility>

#include "explore/courses.hpp"
#include "explore/laying.hpp"
#include "explore/search.hpp"
#include "explore/slice.hpp"

namespace lw::explore {

using model::index;
using rows::FactKind;

namespace {

/// How the ways are put together.
struct Manner {
  bool stands = false;        // an input stands from power-up on as the first way that uses it begins
  std::int64_t pause_ms = 0;  // between two ways
  /// The last way is what was found; it begins with the session or as soon as it can, and the one before ends
  /// so long after that.
  std::optional<std::int64_t> ends_ms;
  bool side_by_side = false;  // each begins as soon as what it needs is there and its inputs are free
  bool puts_back = false;     // what a way has changed stands again as it did at first, before the next
};

/// Of one session; nothing where one of the ways ends or resets it. Whoever has pressed a button lets go of
/// it before the next way that uses it begins.
class Joining {
 public:
  /// `rest`: values of inputs as power comes.
  Joining(const Courses& courses, const std::vector<std::uint8_t>& rest,
          const std::vector<const Found*>& ways, Manner manner)
      : tables_(courses.tables()),
        rest_(rest),
        ways_(ways),
        manner_(manner),
        start_ms_(start_of(ways.back()->play)) {}

  /// `found_ms`: when the last of them, which is what was found, begins.
  std::optional<Playthrough> joined(std::int64_t* found_ms = nullptr) {
    Playthrough all;
    all.known_ms = ways_.back()->play.known_ms;
    std::int64_t now_ms = start_ms_, waits_ms = 0;
    for (const Found* const found : ways_) {
      const Playthrough& way = found->play;
      const std::int64_t takes_ms = std::max<std::int64_t>(way.until_ms - start_of(way), 0);
      const bool last = found == ways_.back();
      if (manner_.side_by_side) now_ms = begins_ms(*found);
      if (manner_.ends_ms && last) now_ms = start_ms_ + waits_ms;
      if (manner_.ends_ms && found == ways_[ways_.size() - 2]) {
        const std::int64_t from_ms = start_ms_ + *manner_.ends_ms - takes_ms;
        // What was found waits for it, where it takes longer.
        waits_ms = std::max<std::int64_t>(now_ms - from_ms, 0);
        now_ms = from_ms + waits_ms;
      }
      if (last && found_ms != nullptr) *found_ms = now_ms;
      const std::int64_t until_ms = now_ms + takes_ms;
      if (!add(way, now_ms, until_ms, all.happenings)) return std::nullopt;
      all.until_ms = std::max(all.until_ms, until_ms);
      done_ms_[found] = until_ms;
      now_ms = until_ms + manner_.pause_ms;
    }
    std::stable_sort(all.happenings.begin(), all.happenings.end(),
                     [](const Happening& a, const Happening& b) { return a.at_ms < b.at_ms; });
    return all;
  }

 private:
  using Input = std::pair<std::uint8_t, std::uint8_t>;  // controller, row

  bool add(const Playthrough& way, std::int64_t now_ms, std::int64_t until_ms, std::vector<Happening>& all) {
    using Kind = Happening::Kind;
    const std::int64_t began_ms = start_of(way);
    const bool first_way = &way == &ways_.front()->play, last_way = &way == &ways_.back()->play;
    std::map<Input, const Happening*> uses;  // the last of each
    for (const Happening& one : way.happenings) {
      Happening later = one;
      later.at_ms = std::max(one.at_ms - began_ms, std::int64_t{0}) + now_ms;
      switch (one.kind) {
        case Kind::input:
        case Kind::moves:
        case Kind::lost: {
          const Input seat{one.controller, one.input};
          uses[seat] = &one;
          const bool first = used_ms_.count(seat) == 0;
          if (one.at_ms <= began_ms && first &&
              (manner_.stands || first_way || (manner_.ends_ms && last_way)))
            later.at_ms = one.at_ms == 0 ? 0 : std::min(one.at_ms, start_ms_);
          break;
        }
        case Kind::start:
          if (!first_way) continue;
          later.at_ms = start_ms_;
          break;
        case Kind::says:
          continue;
        case Kind::restart:
        case Kind::silent:
        case Kind::heard:
          break;  // of what was found: on the ways to it nothing fails
        default:
          return false;
      }
      all.push_back(std::move(later));
    }
    for (const auto& [seat, last] : uses) {
      used_ms_[seat] = until_ms;
      if (last_way) continue;
      const ControllerTable& controller = tables_.controllers[seat.first];
      const bool button = controller.rows.inputs[seat.second].kind == rows::InputKind::button;
      const std::uint8_t rest = button ? std::uint8_t{0} : rest_[index(controller.inputs[seat.second])];
      if ((!button && !manner_.puts_back) || last->kind == Happening::Kind::lost || last->value == rest ||
          last->brief)
        continue;
      Happening up = *last;
      up.value = rest;
      up.keys.clear();
      up.at_ms = until_ms + manner_.pause_ms / 2;
      all.push_back(std::move(up));
    }
    return true;
  }

  /// When all that the way needs is there in time, and what it uses is free.
  std::int64_t begins_ms(const Found& found) const {
    const std::int64_t began_ms = start_of(found.play);
    std::int64_t begins_ms = start_ms_;
    for (const Found::Need& need : found.needs)
      for (const auto& [way, done_ms] : done_ms_)
        if (way->comes_to == need.key())
          begins_ms = std::max(begins_ms,
                               done_ms + manner_.pause_ms - std::max<std::int64_t>(need.at_ms - began_ms, 0));
    std::set<Input> seen;
    for (const Happening& one : found.play.happenings) {
      if (!is_of_device(one)) continue;
      const Input seat{one.controller, one.input};
      const auto used = used_ms_.find(seat);
      if (used == used_ms_.end() || !seen.insert(seat).second) continue;
      begins_ms = std::max(begins_ms,
                           used->second + manner_.pause_ms - std::max<std::int64_t>(one.at_ms - began_ms, 0));
    }
    return begins_ms;
  }

  const RoomTables& tables_;
  const std::vector<std::uint8_t>& rest_;
  const std::vector<const Found*>& ways_;
  Manner manner_;
  std::int64_t start_ms_;
  std::map<Input, std::int64_t> used_ms_;  // until when
  std::map<const Found*, std::int64_t> done_ms_;
};

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

Effort::Effort(const Budget& budget) : looking(budget), scans(2 * budget.scans), instants(4 * budget.scans) {}
Effort::~Effort() = default;

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

/// A way to the need, and what it took to look for it.
Leads::Known Leads::looked_for(const Courses& courses, Freedoms freedoms, const Budget& budget,
                               const Found::Need& need) {
  Known known;
  const std::vector<Question> questions{fact_holds(need.controller, need.fact)};
  Props frontier;
  Slice part = slice_of(courses.room(), courses.tables(), questions, {}, freedoms, {}, frontier);
  if (part.round_ticks() == 0) return known;
  part.freedoms.late = part.freedoms.apart = false;
  // Inputs as they are; where one could not be so fast, held back.
  for (const bool held_back : {false, true}) {
    Space space(part, questions, nullptr, held_back);
    space.pin({}, true);
    space.limit(budget);
    Search search(space, budget.states);
    std::optional<std::pair<std::uint32_t, std::uint32_t>> met;
    search.run({}, [&](std::uint32_t node, std::uint32_t k) {
      if (space.at(search.nodes()[node].location).outcomes[k].answers & 1) met.emplace(node, k);
      return met.has_value();
    });
    auto scheduled =
        met ? schedule(space, way_of(search, met->first, met->second)) : std::optional<Scheduled>();
    known.scans += space.scans();
    if (!met) break;
    if (!scheduled) continue;
    known.way = found_in(space, std::move(*scheduled));
    known.way->comes_to = need.key();
    break;
  }
  return known;
}

/// What a way takes is charged to each question that makes use of it, whoever looked for it: so what comes of
/// one question does not hang on those before it.
const Found* Leads::way_to(const Courses& courses, Freedoms freedoms, Effort& left, const Found::Need& need) {
  const bool charged = left.ways.count(need.key()) != 0;
  if (!charged && left.scans == 0) return nullptr;
  const Budget& budget = left.looking;
  auto& ways = known_[{freedoms.hands, budget.scans, budget.states, budget.bytes}];
  auto known = ways.find(need.key());
  if (known == ways.end())
    known = ways.emplace(need.key(), looked_for(courses, freedoms, budget, need)).first;
  if (!charged) {
    const bool enough = known->second.scans <= left.scans;
    left.scans -= std::min(left.scans, known->second.scans);
    if (!enough) return nullptr;
    left.ways.insert(need.key());
  }
  return known->second.way ? &*known->second.way : nullptr;
}

/// Adds a way to each, those first that others wait for; false where none was found to one of them.
bool Leads::bring(const Courses& courses, Freedoms freedoms, Effort& left,
                  const std::vector<Found::Need>& needs, std::set<Found::Fact>& begun,
                  std::vector<const Found*>& ways) {
  for (const Found::Need& need : needs) {
    if (!begun.insert(need.key()).second) continue;
    const Found* const way = way_to(courses, freedoms, left, need);
    if (way == nullptr || !bring(courses, freedoms, left, way->needs, begun, ways)) return false;
    ways.push_back(way);
  }
  return true;
}

std::optional<std::pair<Playthrough, Replayed>> Leads::up_to(const Courses& of, Freedoms freedoms,
                                                             Effort& left, const Found& found,
                                                             const Claim& claim, Coverage* coverage) {
  constexpr std::int64_t kLeisureMs = 2000;
  const bool restarts = freedoms.restart, cuts = freedoms.cut;
  const Freedoms limits = restarts || cuts ? freedoms : Freedoms{};
  // Nobody loses, ends or overrides anything to get on.
  freedoms.losses = freedoms.operator_ = freedoms.override_ = false;
  freedoms.cut = freedoms.restart = false;
  std::set<Found::Fact> begun;
  std::vector<const Found*> ways;
  if (found.needs.empty() && !restarts && !cuts) return std::nullopt;
  if (!bring(of, freedoms, left, found.needs, begun, ways)) return std::nullopt;
  ways.push_back(&found);
  if (!left.courses) left.courses = std::make_unique<Courses>(of.room(), of.tables());
  Courses& courses = *left.courses;
  if (rest_.empty()) rest_ = values_at_rest(courses.room(), courses.tables());
  std::int64_t link_ms = 0;
  for (const model::Link& link : courses.room().links) link_ms = std::max(link_ms, link.delay_ms);
  const std::int64_t scan_ms = slowest_scan_ms(courses.tables());
  const std::int64_t short_ms = link_ms + 2 * scan_ms;
  std::vector<Manner> manners;
  const auto add = [&](bool stands, bool side_by_side, bool puts_back, std::int64_t pause_ms) {
    Manner manner;
    manner.stands = stands;
    manner.side_by_side = side_by_side;
    manner.puts_back = puts_back;
    manner.pause_ms = pause_ms;
    manners.push_back(manner);
  };
  for (const std::int64_t pause_ms : {short_ms, short_ms + kLeisureMs})
    for (const bool stands : {false, true}) add(stands, false, false, pause_ms);
  if (ways.size() > 1) {
    // Its message may take its time, and controllers do not look at it in the very scan.
    const std::int64_t needed_ms = found.needs.back().at_ms - start_of(found.play);
    for (const std::int64_t takes_ms : std::set<std::int64_t>{0, link_ms})
      for (const int scans : {0, -1, 1, -2, 2}) {
        add(true, false, false, short_ms);
        manners.back().ends_ms = needed_ms - takes_ms + scans * scan_ms;
      }
    for (const bool puts_back : {false, true}) add(false, true, puts_back, short_ms);
    add(false, false, true, short_ms);
  }
  using Shown = std::optional<std::pair<Playthrough, Replayed>>;
  const auto shown = [&](Playthrough play) -> Shown {
    if (left.instants == 0) return std::nullopt;
    const std::uint64_t before = courses.played();
    Replayed replayed = replay(courses, play, claim, coverage);
    left.instants -= std::min(left.instants, courses.played() - before);
    if (!shown_within(replayed, limits)) return std::nullopt;
    return std::make_pair(std::move(play), std::move(replayed));
  };
  for (const Manner& manner : manners)
    if (auto play = Joining(courses, rest_, ways, manner).joined())
      if (Shown done = shown(std::move(*play))) return done;
  const auto plainly = [&](bool stands, std::int64_t* found_ms) {
    Manner manner;
    manner.stands = stands;
    manner.pause_ms = short_ms;
    return Joining(courses, rest_, ways, manner).joined(found_ms);
  };
  for (std::size_t c = 0; c < courses.room().controllers.size() && restarts; ++c)
    for (const bool stands : {false, true})
      if (auto play = plainly(stands, nullptr)) {
        Happening fails;
        fails.kind = Happening::Kind::restart;
        fails.controller = static_cast<std::uint8_t>(c);
        fails.at_ms = play->until_ms += short_ms;
        play->happenings.push_back(std::move(fails));
        if (Shown done = shown(std::move(*play))) return done;
      }
  for (std::size_t c = 0; c < courses.room().controllers.size() && cuts; ++c)
    for (const bool stands : {false, true}) {
      std::int64_t found_ms = 0;
      const auto play = plainly(stands, &found_ms);
      if (!play) continue;
      // Before what was found, as soon as it has heard of the session; and once it is done.
      for (const std::int64_t at_ms : {found_ms + scan_ms, found_ms + short_ms, play->until_ms + short_ms}) {
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
