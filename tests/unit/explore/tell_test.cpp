// Playthroughs as people read them, and as rehearsals that pass when they are written into the room.
#include "explore/tell.hpp"

#include "../play/played.hpp"
#include "explore/courses.hpp"
#include "report/timeline.hpp"

using namespace lw;
using test::played;

namespace {

using Kind = Happening::Kind;

const char* const kRoom = R"(
room "Two Lamps" { STARTS, finish p }
controller hall is box
thing ingot 418 g { home "shelf" }
thing nugget 187 g { count 3, home "coat" }
contact gate at hall.I1 { closed means shut, open means lifted }
button  bell at hall.I2
scale   balance at hall.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }
keypad  keys at hall.P1
lamp    red  at hall.K1
lamp    blue at hall.K2
prop p on hall {
  window fair on balance: ingot + nugget ± 35 g
  ready when gate shut "Gate shut"
  state s start {
    keep red on while fair
    keep blue on while gate lifted
    when keys enters "47" for 0 s -> t
  }
  state t goal { }
}
promise "one lamp": never red on and blue on
promise "quick":    gate lifted then red on within 100 ms
promise "open":     can always reach (p t and red on)
promise "slow":     finish not before 10 s
)";

std::string room_text(const std::string& starts) {
  std::string text = kRoom;
  text.replace(text.find("STARTS"), 6, starts);
  text.replace(text.find(" for 0 s"), 8, "");
  return text;
}

struct Told {
  std::string text;
  std::unique_ptr<test::Played> room;
  explicit Told(const std::string& starts) : text(room_text(starts)), room(played(text)) {}

  Happening of(const char* input, std::int64_t at_ms, std::uint8_t value) const {
    Happening happening;
    happening.at_ms = at_ms;
    happening.input = room->tables.inputs[room->input(input)].front().row;
    happening.value = value;
    return happening;
  }
  Playthrough both(std::int64_t gate_ms, std::int64_t scale_ms, bool started) const {
    Playthrough playthrough;
    playthrough.happenings = {of("gate", 0, 1), of("balance", 0, 0), of("bell", 0, 0)};
    if (started) {
      Happening start;
      start.kind = Kind::start;
      start.at_ms = 10;
      playthrough.happenings.push_back(start);
    }
    playthrough.happenings.push_back(of("balance", scale_ms, 1));
    playthrough.happenings.push_back(of("gate", gate_ms, 0));
    playthrough.until_ms = std::max(gate_ms, scale_ms);
    return playthrough;
  }
  std::string account(const Playthrough& playthrough, std::size_t promise, const std::string& shows) const {
    Courses courses(room->room, room->tables);
    const Replayed done = replay(courses, playthrough, broken(room->room, room->tables, promise));
    if (!done.shown) return done.why_not;
    return report::timeline(lw::account(room->room, room->tables, done, shows), 100);
  }
  std::string rehearsal(const Playthrough& playthrough, std::size_t promise) const {
    Courses courses(room->room, room->tables);
    return rehearsal_text(courses, playthrough, broken(room->room, room->tables, promise), "it \"breaks\"",
                          expected_of_broken(room->sources, room->room, room->tables, promise));
  }
  /// How the rehearsal goes, once it stands in the room's text.
  std::string rehearsed(const std::string& rehearsal) const {
    const auto with = played(text + rehearsal);
    REQUIRE(with->room.rehearsals.size() == 1);
    CHECK(with->room.rehearsals[0].title == "it \"breaks\"");
    return test::told(*with, rehearse(with->sources, with->room, with->tables, 0).failure);
  }
};

}  // namespace

TEST_CASE("an account tells what is done and what the room answers, from the session's start") {
  const Told told("starts by operator");
  CHECK(told.account(told.both(2000, 1000, true), 0, "red and blue are on at once") ==
        R"(     time   what happens                      what the room does         line
    0.0 s   operator starts the session       p is s
    0.59 s  ingot put on balance
            nugget put on balance
    0.99 s  balance settles at 605 g, `fair`  red on                       21
    1.96 s  gate lifted
    1.99 s                                    blue on                      22
                                              red and blue are on at once
)");
}

TEST_CASE("a playthrough is written as a rehearsal that passes in the room") {
  for (const char* const starts : {"starts by operator", "session 1 h"}) {
    CAPTURE(std::string(starts));
    const Told told(starts);
    const bool by_operator = told.room->room.starts == model::SessionStart::by_operator;
    const std::string late = told.rehearsal(told.both(2000, 1000, by_operator), 0);
    CHECK(told.rehearsed(late) == "passed");
    if (by_operator)
      CHECK(late == R"(rehearsal "it ""breaks""" {
  at 590 ms   place ingot on balance, place nugget on balance
  at 1.96 s   set gate lifted
  at 1.99 s   expect red on and blue on
}
)");
    // The scale must be loaded before the start to be heard so soon: all comes a little later.
    const std::string soon = told.rehearsal(told.both(60, 50 + 450, by_operator), 0);
    CHECK(told.rehearsed(soon) == "passed");
    const std::string quick = told.rehearsal(told.both(900, 1500, by_operator), 1);
    CHECK(told.rehearsed(quick) == "passed");
    Happening code = told.of("keys", 3000, 0);
    code.keys = "47";
    Playthrough typed = told.both(900, 1500, by_operator);
    typed.happenings.push_back(code);
    typed.until_ms = 3010;
    const std::string fast = told.rehearsal(typed, 3);
    CHECK(told.rehearsed(fast) == "passed");
    const std::string open = told.rehearsal(typed, 2);
    CHECK(told.rehearsed(open) == "passed");
  }
}

TEST_CASE("what no rehearsal can do is not written as one") {
  const Told told("starts by operator");
  Playthrough never = told.both(500, 1000, false);
  CHECK(told.rehearsal(never, 0).empty());
}
