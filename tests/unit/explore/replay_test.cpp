// Playthroughs brought about with real raw inputs: exact to the scan, for every kind of input.
#include "explore/replay.hpp"

#include <algorithm>

#include "../play/played.hpp"
#include "explore/courses.hpp"
#include "play/trace.hpp"

using namespace lw;
using test::played;

namespace {

using Kind = Happening::Kind;

/// In a room in which nothing was played before.
Replayed replay(const test::Played& room, const Playthrough& playthrough, const Claim& claim) {
  Courses courses(room.room, room.tables);
  return replay(courses, playthrough, claim);
}

/// One device of each kind, and a prop that reads them all.
const char* const kEvery = R"(
room "Every" { starts by operator, finish p }
controller hall is box
link floor joins hall, attic { delay up to 50 ms, lost after 2 s }
controller attic is box
thing ingot 418 g { home "shelf" }
thing nugget 187 g { count 3, home "coat" }
thing crown { tag "04 A1 5C 22", home "vault" }
contact gate at hall.I1 { closed means shut, open means lifted }
button  bell at hall.I2
scale   balance at hall.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }
gauge   dial at hall.G1 { from 0 deg to 360 deg, division 1 deg, wraps, settle 200 ms }
reader  pad at hall.R1
keypad  keys at hall.P1
signal  thunder over floor "thunder"
button  skip by operator "Skip"
lamp    glow at hall.K1
lamp    far at attic.K1
prop p on hall {
  window fair on balance: ingot + nugget ± 35 g
  window odd  on balance: 1000 g to 1010 g
  window north on dial: 350 deg to 10 deg
  state s start {
    when (fair or odd or north or gate lifted or bell held or pad reads crown or thunder on) for 1 h -> t
    when keys enters "4711" -> t
    when skip pressed -> t
    keep glow on while bell held
  }
  state t goal { }
}
prop q on attic { state here start { keep far on while gate lifted } }
)";

struct Every {
  std::unique_ptr<test::Played> room = played(kEvery);

  Happening of(Kind kind, const char* input, std::int64_t at_ms, std::uint8_t value = 0) const {
    const Seat seat = room->tables.inputs[room->input(input)].front();
    Happening happening;
    happening.kind = kind;
    happening.at_ms = at_ms;
    happening.controller = seat.controller;
    happening.input = seat.row;
    happening.value = value;
    return happening;
  }
  static Happening start(std::int64_t at_ms) {
    Happening happening;
    happening.kind = Kind::start;
    happening.at_ms = at_ms;
    return happening;
  }
  std::uint8_t cell(const char* input, std::int32_t division) const {
    const Seat seat = room->tables.inputs[room->input(input)].front();
    const auto& edges = room->tables.controllers[seat.controller].rows.inputs[seat.row].edges;
    return static_cast<std::uint8_t>(std::upper_bound(edges.begin(), edges.end(), division) - edges.begin());
  }

  /// What is done, a line each.
  std::string deeds(const Playthrough& playthrough) const {
    const Scripted made = script_of(room->room, room->tables, playthrough, Messages::late);
    if (!made.script) return made.why_not;
    std::string text;
    for (const model::Deed& deed : made.script->deeds)
      text +=
          std::to_string(deed.time_ms - made.script->later_ms) + " " + deed_words(room->room, deed) + "\n";
    return text;
  }
  /// When the conditioned values of an input are new in the real runtime, in the playthrough's own time.
  std::string seen(const Playthrough& playthrough, const char* input) const {
    const Scripted made = script_of(room->room, room->tables, playthrough, Messages::late);
    if (!made.script) return made.why_not;
    const Seat seat = room->tables.inputs[room->input(input)].front();
    RoomRun run(room->room, room->tables);
    run.world().make_ready();
    std::string text, was;
    std::size_t next = 0;
    while (run.next_scan_ms() <= made.script->until_ms) {
      for (; next < made.script->deeds.size() && made.script->deeds[next].time_ms <= run.next_scan_ms();
           ++next)
        CHECK_FALSE(run.perform(made.script->deeds[next], made.script->deeds[next].time_ms));
      const std::int64_t now_ms = run.scan() - made.script->later_ms;
      const auto value = run.value(seat.controller, seat.row);
      const std::string now = run.lost(seat.controller, seat.row) ? "lost"
                              : value                             ? std::to_string(*value)
                                                                  : "unknown";
      if (now != was) text += std::to_string(now_ms) + ":" + now + " ";
      was = now;
    }
    return text;
  }
};

Playthrough made_of(std::vector<Happening> happenings, std::int64_t until_ms) {
  Playthrough playthrough;
  playthrough.happenings = std::move(happenings);
  playthrough.until_ms = until_ms;
  return playthrough;
}

}  // namespace

TEST_CASE("a contact's and a button's new words come in the scan that the playthrough names") {
  const Every every;
  // The scale takes 400 ms and the gauge 200 ms to be known; all else follows that.
  const Playthrough gate =
      made_of({every.of(Kind::input, "gate", 0, 1), every.of(Kind::input, "gate", 500, 0),
               every.of(Kind::input, "gate", 540, 1)},
              600);
  CHECK(every.seen(gate, "gate") == "-400:unknown -370:1 500:0 540:1 ");
  CHECK(every.deeds(gate) == "-400 gate shut\n470 gate lifted\n510 gate shut\n");
  const Playthrough bell =
      made_of({every.of(Kind::input, "bell", 300, 1), every.of(Kind::input, "bell", 700, 0)}, 900);
  // Of what nothing is said at first, it is at rest; what comes too soon for that stands so from the start.
  CHECK(every.seen(bell, "bell") == "-400:unknown -370:0 300:1 700:0 ");
  Playthrough soon =
      made_of({every.of(Kind::input, "gate", 410, 0), every.of(Kind::input, "dial", 410, 1)}, 420);
  soon.known_ms = 400;
  CHECK(every.seen(soon, "dial") == "0:unknown 200:0 410:1 ");
  soon.happenings[1].at_ms = 400;
  CHECK(every.seen(soon, "dial") == "0:unknown 200:1 ");
  const Playthrough known =
      made_of({every.of(Kind::input, "bell", 0, 0), every.of(Kind::input, "bell", 300, 1),
               every.of(Kind::input, "bell", 700, 0)},
              900);
  CHECK(every.seen(known, "bell") == "-400:unknown -370:0 300:1 700:0 ");
  CHECK(every.deeds(known) == "270 bell pressed for 400 ms\n");
}

TEST_CASE("a button that is pressed briefly is let go as soon as it is taken in") {
  const Every every;
  Happening first = every.of(Kind::input, "bell", 300, 1), second = every.of(Kind::input, "bell", 380, 1);
  first.brief = second.brief = true;
  const Playthrough twice = made_of({every.of(Kind::input, "bell", 0, 0), first, second}, 500);
  CHECK(every.seen(twice, "bell") == "-400:unknown -370:0 300:1 340:0 380:1 420:0 ");
  CHECK(every.deeds(twice) == "270 bell pressed for 40 ms\n350 bell pressed for 40 ms\n");
  second.at_ms = 370;
  CHECK(every.deeds(made_of({every.of(Kind::input, "bell", 0, 0), first, second}, 500)).substr(0, 19) ==
        "`bell` cannot chang");
}

TEST_CASE("where a playthrough knows when inputs are known, nothing comes later than it says") {
  const Every every;
  Playthrough known =
      made_of({every.of(Kind::input, "gate", 0, 1), every.of(Kind::input, "gate", 450, 0)}, 500);
  known.known_ms = 400;
  CHECK(every.seen(known, "gate") == "0:unknown 30:1 450:0 ");
  known.known_ms = 300;  // of a part of the room whose inputs are known sooner
  CHECK(every.seen(known, "gate") == "-100:unknown -70:1 450:0 ");
}

TEST_CASE("what changes faster than its debounce lets through cannot be brought about") {
  const Every every;
  const Playthrough gate =
      made_of({every.of(Kind::input, "gate", 0, 1), every.of(Kind::input, "gate", 500, 0),
               every.of(Kind::input, "gate", 530, 1)},
              600);
  CHECK(every.deeds(gate) ==
        "`gate` cannot change again by 0.53 s: what is read there is taken in no faster");
  const Replayed done = replay(*every.room, gate, in_state(0, 0, 2));
  CHECK_FALSE(done.shown);
  CHECK(done.why_not == "`gate` cannot change again by 0.53 s: what is read there is taken in no faster");
}

TEST_CASE("a scale gets things that weigh in the cell, and a hand where none do") {
  const Every every;
  const Playthrough weighed = made_of({every.of(Kind::input, "balance", 0, every.cell("balance", 0)),
                                       every.of(Kind::input, "balance", 1000, every.cell("balance", 600)),
                                       every.of(Kind::input, "balance", 2000, every.cell("balance", 1005)),
                                       every.of(Kind::input, "balance", 3000, every.cell("balance", 0))},
                                      3000);
  const std::string fair = std::to_string(every.cell("balance", 600));
  const std::string odd = std::to_string(every.cell("balance", 1005));
  CHECK(every.seen(weighed, "balance") == "-400:unknown 0:0 1000:" + fair + " 2000:" + odd + " 3000:0 ");
  CHECK(every.deeds(weighed) ==
        "600 ingot put on balance\n600 nugget put on balance\n"
        "1600 400 g laid on balance\n"
        "2600 hand taken off balance\n2600 nugget taken off balance\n");  // the ingot alone is in no window
}

TEST_CASE("a gauge is turned to the middle of its cell, round the circle too") {
  const Every every;
  const Playthrough turned = made_of({every.of(Kind::input, "dial", 0, every.cell("dial", 180)),
                                      every.of(Kind::input, "dial", 300, every.cell("dial", 355)),
                                      every.of(Kind::input, "dial", 510, every.cell("dial", 5))},
                                     600);
  CHECK(every.seen(turned, "dial") == "-400:unknown -200:1 300:2 510:0 ");
  CHECK(every.deeds(turned) == "-400 dial turned to 180°\n100 dial turned to 354°\n310 dial turned to 5°\n");
}

TEST_CASE("readers read things with that tag, a stranger's, and nothing") {
  const Every every;
  const Playthrough read =
      made_of({every.of(Kind::input, "pad", 0, 0), every.of(Kind::input, "pad", 200, 1),
               every.of(Kind::input, "pad", 300, 2), every.of(Kind::input, "pad", 400, 0)},
              500);
  CHECK(every.seen(read, "pad") == "-400:unknown -370:0 200:1 300:2 400:0 ");
  CHECK(every.deeds(read) ==
        "170 crown put on pad\n270 crown taken off pad\n270 tag 00 00 00 00 put on pad\n"
        "370 tag 00 00 00 00 taken off pad\n");
}

TEST_CASE("keys are typed so that the last of them comes in the scan that the playthrough names") {
  const Every every;
  Happening code = every.of(Kind::input, "keys", 1000);
  code.keys = "4711";
  const Playthrough typed = made_of({Every::start(500), code}, 1000);
  CHECK(every.deeds(typed) == "500 operator starts the session\n730 \"4711\" typed on keys\n");
  const Replayed done = replay(*every.room, typed, in_state(0, 0, 2));
  CHECK(done.shown);
  CHECK(done.seen_ms - done.script.later_ms == 1000);
  // Typed at once after the start, it would have to begin before: everything comes a little later.
  code.at_ms = 510;
  Courses courses(every.room->room, every.room->tables);
  const Replayed late =
      replay_after_start(courses, made_of({Every::start(500), code}, 520), in_state(0, 0, 2));
  CHECK(late.shown);
  CHECK(late.seen_ms - *late.start_ms == 280);
}

TEST_CASE("a signal comes over its link in the scan that the playthrough names, and is on from the start") {
  const Every every;
  const Playthrough heard =
      made_of({every.of(Kind::input, "thunder", 0, 0), every.of(Kind::input, "thunder", 200, 1),
               every.of(Kind::input, "thunder", 210, 0)},
              300);
  CHECK(every.seen(heard, "thunder") == "-400:0 200:1 210:0 ");
  const Playthrough on = made_of({every.of(Kind::input, "thunder", 0, 1)}, 100);
  CHECK(every.seen(on, "thunder") == "-400:unknown -350:1 ");
}

TEST_CASE("devices are lost and found in the scan that the playthrough names") {
  const Every every;
  for (const char* const input : {"gate", "pad", "balance", "dial", "bell"}) {
    CAPTURE(std::string(input));
    const Playthrough lost = made_of({every.of(Kind::input, input, 0, 0), every.of(Kind::lost, input, 1500),
                                      every.of(Kind::input, input, 2500, 1)},
                                     2600);
    const std::string seen = every.seen(lost, input);
    CHECK(seen.find(" 1500:lost 2500:1 ") != std::string::npos);
  }
  const Playthrough from_start =
      made_of({every.of(Kind::lost, "gate", 0), every.of(Kind::input, "gate", 100, 1)}, 200);
  CHECK(every.seen(from_start, "gate") == "-990:unknown 0:lost 100:1 ");
}

TEST_CASE("an operator's button is pressed in the scan that the playthrough names") {
  const Every every;
  const Playthrough skipped = made_of({Every::start(0), every.of(Kind::input, "skip", 100, 1)}, 100);
  const Replayed done = replay(*every.room, skipped, in_state(0, 0, 2));
  CHECK(done.shown);
  CHECK(done.seen_ms - done.script.later_ms == 100);
}

// ---- Claims
// ---------------------------------------------------------------------------------------------------------

namespace {

/// Two lamps that can be on at once, two moves that can meet, two props at odds, an answer that can be late.
const char* const kClaims = R"(
room "Claims" { starts by operator, finish p }
controller hall is box
contact one at hall.I1 { closed means shut, open means lifted }
contact two at hall.I2 { closed means shut, open means lifted }
lamp red  at hall.K1
lamp blue at hall.K2
prop p on hall {
  state s start {
    when one shut for 200 ms -> t
    when two shut for 200 ms -> u
    keep red on while one shut
    keep blue on while two shut
  }
  state t goal { }
  state u { after 500 ms -> s }
}
prop q on hall {
  state s start { keep red off while two shut }
}
promise "one lamp": never red on and blue on
promise "quick":    two shut then p u within 100 ms
promise "slow":     finish not before 300 ms
)";

Happening input(std::int64_t at_ms, std::uint8_t row, std::uint8_t value) {
  Happening happening;
  happening.at_ms = at_ms;
  happening.input = row;
  happening.value = value;
  return happening;
}

}  // namespace

TEST_CASE("each claim is seen where it is so, in the very scan, and nowhere else") {
  const auto room = played(kClaims);
  const auto at = [&](const std::vector<Happening>& happenings, const Claim& claim) {
    std::vector<Happening> all{Every::start(100), input(0, 0, 0), input(0, 1, 0)};
    all.insert(all.end(), happenings.begin(), happenings.end());
    const Replayed done = replay(*room, made_of(all, 1000), claim);
    return done.shown ? std::to_string(done.seen_ms - done.script.later_ms) : "not shown: " + done.why_not;
  };
  const std::string not_shown = "not shown: played in the room, it does not show by 0.9 s what it is to show";
  const auto broken = [&](std::size_t which) { return lw::broken(room->room, room->tables, which); };
  Claim moves;
  moves.kind = Claim::Kind::two_moves;
  moves.rule.rule = 0;
  moves.other = moves.rule;
  moves.other.rule = 1;
  Claim taken;
  taken.kind = Claim::Kind::taken;
  taken.rule.rule = 1;
  Claim odds;
  odds.kind = Claim::Kind::at_odds;
  odds.output = 0;

  SUBCASE("both contacts in one scan") {
    const std::vector<Happening> both{input(300, 0, 1), input(300, 1, 1)};
    CHECK(at(both, broken(0)) == not_shown);  // red is at odds, so at rest
    CHECK(at(both, odds) == "300");
    CHECK(at(both, moves) == "500");
    CHECK(at(both, taken) == not_shown);
    CHECK(at(both, broken(1)) == "400");
    CHECK(at(both, in_state(0, 0, 2)) == "500");
  }
  SUBCASE("one scan apart") {
    const std::vector<Happening> apart{input(310, 0, 1), input(300, 1, 1)};
    CHECK(at(apart, odds) == "310");
    CHECK(at(apart, moves) == not_shown);
    CHECK(at(apart, taken) == "500");
  }
  SUBCASE("the finish comes too soon, or just not") {
    CHECK(at({input(170, 0, 1)}, broken(2)) == "370");
    CHECK(at({input(190, 0, 1)}, broken(2)) == "390");
    CHECK(at({input(200, 0, 1)}, broken(2)).substr(0, 9) == "not shown");
  }
}

TEST_CASE("a link is cut, and heard again; a controller's operator asks there") {
  const auto room = played(R"(
room "Pair" { starts by operator, finish here }
controller hall  is box
controller vault is box
link floor joins hall, vault { delay up to 200 ms, lost after 2 s }
button near at hall.I1
lamp   glow at hall.K1
lamp   far  at vault.K1
lamp   dead at vault.K2
prop here on hall {
  state apart start { when near held -> joined }
  state joined goal { keep glow on, when not near held -> apart }
}
prop there on vault {
  state watch start { keep far on while near held, keep dead on while hall lost }
}
)");
  const auto lamp = [&](const char* name) {
    const Seat seat = room->tables.outputs[room->output(name)];
    Ask ask;
    ask.controller = seat.controller;
    ask.fact = {rows::FactKind::output_is, seat.row, 1, 0, {}};
    return seen({ask});
  };
  Happening silent;
  silent.kind = Kind::silent;
  silent.at_ms = 5000;
  silent.controller = 1;
  Happening heard = silent;
  heard.kind = Kind::heard;
  heard.at_ms = 7000;
  const Replayed cut = replay(*room, made_of({Every::start(300), silent}, 5000), lamp("dead"));
  CHECK(cut.shown);
  CHECK(cut.script.deeds.back().kind == model::DeedKind::lose);
  Claim again = lamp("far");
  const Replayed joined =
      replay(*room, made_of({Every::start(300), silent, heard, input(6000, 0, 1)}, 8000), again);
  CHECK(joined.shown);
  CHECK(joined.seen_ms - joined.script.later_ms > 6500);

  // A message that takes its whole delay, and one that takes none.
  Happening says;
  says.kind = Kind::says;
  says.at_ms = 900;
  says.takes_ms = 50;
  const std::vector<Happening> press{Every::start(300), input(0, 0, 0), input(1000, 0, 1)};
  const Replayed late = replay(*room, made_of(press, 1200), again);
  CHECK(late.seen_ms - late.script.later_ms == 1200);
  const Replayed at_once = replay(*room, made_of(press, 1000), again);
  CHECK(at_once.seen_ms - at_once.script.later_ms == 1000);
  std::vector<Happening> timed = press;
  timed.push_back(says);
  const Scripted made = script_of(room->room, room->tables, made_of(timed, 1050), Messages::late);
  REQUIRE(made.script);
  CHECK(std::any_of(made.script->deeds.begin(), made.script->deeds.end(), [&](const model::Deed& deed) {
    return deed.kind == model::DeedKind::delay && deed.value == 50 &&
           deed.time_ms - made.script->later_ms == 900;
  }));

  Happening end;
  end.kind = Kind::end;
  end.controller = 1;
  end.at_ms = 2000;
  Ask ended;
  ended.controller = 1;
  ended.fact = {rows::FactKind::session_in, 2, 2, 0, {}};
  const Replayed there = replay(*room, made_of({Every::start(300), end}, 2000), seen({ended}));
  CHECK(there.shown);
  CHECK(there.seen_ms - there.script.later_ms == 2000);
}
