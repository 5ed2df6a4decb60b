// The naive explorer on rooms so small that the answers were worked out by hand; the comments say how.
#include "naive.hpp"

#include <doctest/doctest.h>

#include <map>
#include <memory>
#include <string>

#include "compiled.hpp"

using lw::naive::Freedom;
using lw::naive::Naive;

namespace {

constexpr std::uint64_t kMostSteps = 2'000'000;

struct Room {
  explicit Room(const std::string& statements)
      : compiled(lw::oracle::compile_text("language 1\nuse \"boards.latch\"\n" + statements)) {
    INFO(compiled->first_error());
    REQUIRE(compiled->tables);
  }
  Naive naive(Freedom freedom) const {
    return Naive(*compiled->room, *compiled->tables, freedom, kMostSteps);
  }
  std::unique_ptr<lw::oracle::Compiled> compiled;
};

Freedom wider() {
  Freedom freedom;
  freedom.conditioning = false;
  return freedom;
}

// One plate that must be held down for 3 scans of 10 ms.
const char* const kDoor = R"(
room "Door" { finish door }
controller hall is quick { supply 12 V up to 2 A }
contact plate at hall.I1 { closed means down, open means up, debounce 10 ms, lost after 30 ms }
lamp glow at hall.K1 { draws 100 mA }
prop door on hall {
  state shut start { when plate down for 30 ms -> open }
  state open goal { keep glow on }
}
)";

}  // namespace

TEST_CASE("the states that a room shows, and how soon") {
  // Without losses and the operator. Idle while the plate has no value yet; in the scan in which it has one
  // the session starts and the prop wakes with it: shut at 0. It is first looked at in scan 1 (4.6), so its
  // run is 3 in scan 4: open. The session ends in the scan after that (7.2).
  const Room room(kDoor);
  Freedom freedom = wider();
  freedom.losses = freedom.operator_ = false;
  const Naive naive = room.naive(freedom);
  REQUIRE(naive.whole());
  // phase; state and solved of the door; level of the lamp (rows: 0 off, 1 on).
  const std::map<Naive::Visible, std::optional<int>> expected{
      {{0, 0, 0, 0}, std::nullopt}, {{1, 1, 0, 0}, 0}, {{1, 2, 1, 1}, 4}, {{2, 2, 1, 1}, 5}};
  CHECK(naive.visible() == expected);
}

TEST_CASE("with the operator there is a reset, and an end before anything is solved") {
  // Idle after a reset, whose scan shows nothing else; ended with the door still shut, at 1 (the end is asked
  // in scan 1 at the earliest); ended and open: the door still opens after the end (7.2), earliest at 4.
  const Room room(kDoor);
  const Naive naive = room.naive(wider());
  const std::map<Naive::Visible, std::optional<int>> expected{{{0, 0, 0, 0}, std::nullopt},
                                                              {{1, 1, 0, 0}, 0},
                                                              {{1, 2, 1, 1}, 4},
                                                              {{2, 1, 0, 0}, 1},
                                                              {{2, 2, 1, 1}, 4}};
  CHECK(naive.visible() == expected);
}

TEST_CASE("raw values: the debounce comes before the count") {
  // Debounce of one scan: two scans alike. The plate is known in the second scan, so the session starts then,
  // and the first scan shows the room idle. It may be down from power-up, so nothing is later than above.
  const Room room(kDoor);
  Freedom freedom;
  freedom.losses = freedom.operator_ = false;
  const Naive naive = room.naive(freedom);
  const std::map<Naive::Visible, std::optional<int>> expected{
      {{0, 0, 0, 0}, std::nullopt}, {{1, 1, 0, 0}, 0}, {{1, 2, 1, 1}, 4}, {{2, 2, 1, 1}, 5}};
  CHECK(naive.visible() == expected);
}

TEST_CASE("raw values: changes lie as far apart as the debounce keeps them") {
  // The arm is up in scan 1, the first look (its raw value down already), so down in scan 2; two scans alike
  // later it is up again, in scan 4. Under the wider assumption it changes in every scan.
  const Room room(R"(
room "Lever" { finish lever, starts by operator }
controller hall is quick { supply 12 V up to 2 A }
contact arm at hall.I1 { closed means down, open means up, debounce 10 ms, lost after 30 ms }
prop lever on hall {
  state one start { when arm up -> two }
  state two { when arm down -> three }
  state three { when arm up -> four }
  state four goal {}
}
)");
  Freedom freedom;
  freedom.losses = freedom.operator_ = false;
  CHECK(room.naive(freedom).visible().at({1, 3, 0}) == 2);
  CHECK(room.naive(freedom).visible().at({1, 4, 1}) == 4);
  freedom.conditioning = false;
  CHECK(room.naive(freedom).visible().at({1, 4, 1}) == 3);
}

namespace {

// Promises of all forms about one prop that can get stuck.
std::string with_promises(const std::string& promises) {
  return R"(
room "Two Ways" { finish box, starts by operator }
controller hall is quick { supply 12 V up to 2 A }
button left at hall.I1 { debounce 10 ms, lost after 30 ms }
button right at hall.I2 { debounce 10 ms, lost after 30 ms }
lamp glow at hall.K1 { draws 100 mA }
prop box on hall {
  state shut start { when left pressed -> warm, when right pressed -> jammed }
  state warm { after 30 ms -> open, when right held -> shut, keep glow on }
  state jammed {}
  state open goal {}
}
)" + promises;
}

Naive::Verdict judge(const std::string& promise, Freedom freedom) {
  const Room room(with_promises("promise \"p\": " + promise + "\n"));
  const Naive naive = room.naive(freedom);
  REQUIRE(naive.whole());
  return naive.promise(0);
}

}  // namespace

TEST_CASE("never") {
  // Awake at 0; pressed at the earliest in scan 1.
  CHECK(judge("never box jammed", wider()).scans == 1);
  CHECK(judge("never box warm and not glow on", wider()).kept);
  // The lamp is lit only in warm; open comes 3 scans after warm.
  CHECK(judge("never box open", wider()).scans == 4);
  CHECK(judge("never glow on and box jammed", wider()).kept);
  // Before a session nothing counts from its start.
  const Naive::Verdict idle = judge("never box waiting", wider());
  CHECK_FALSE(idle.kept);
  CHECK_FALSE(idle.scans);
}

TEST_CASE("can always reach") {
  // Jammed is for good: only a reset leads out, and that does not count (10.2).
  const Naive::Verdict open = judge("can always reach box open", wider());
  CHECK_FALSE(open.kept);
  CHECK(open.scans == 1);
  CHECK(judge("can always reach box open or box jammed", wider()).kept);
  // A lost button may come back; so losses do not make a room stuck, and the start is the operator's to give.
  CHECK(judge("can always reach box warm or box open or box jammed", wider()).kept);
  // Only a reset leads back to waiting.
  CHECK_FALSE(judge("can always reach box waiting", wider()).kept);
}

TEST_CASE("then within") {
  // Warm is left within 3 scans whatever is done, to shut or open.
  CHECK(judge("box warm then box open or box shut within 30 ms", wider()).kept);
  const Naive::Verdict late = judge("box warm then box open or box shut within 20 ms", wider());
  CHECK_FALSE(late.kept);
  CHECK(late.scans == 3);  // warm at 1, still neither at 3
  // A reset discharges; nothing else does.
  CHECK_FALSE(judge("box warm then box open within 30 ms", wider()).kept);
  // A press is answered in its own scan, if the box is shut and the other is not pressed with it.
  CHECK_FALSE(judge("left pressed then box warm within 10 ms", wider()).kept);
  CHECK(judge("box open then finish within 10 ms", wider()).kept);
}

TEST_CASE("finish not before") {
  CHECK(judge("finish not before 40 ms", wider()).kept);
  const Naive::Verdict early = judge("finish not before 50 ms", wider());
  CHECK_FALSE(early.kept);
  CHECK(early.scans == 4);
  CHECK(judge("finish not before 40 ms", Freedom{}).kept);
  CHECK_FALSE(judge("finish not before 50 ms", Freedom{}).kept);
}

TEST_CASE("what is met: states, rules, moves at once, props at odds") {
  const Room room(R"(
room "Met" { finish one, two, starts by operator }
controller hall is quick { supply 12 V up to 2 A }
button left at hall.I1 { debounce 10 ms, lost after 30 ms }
contact gate at hall.I2 { debounce 10 ms, lost after 30 ms }
lamp glow at hall.K1 { draws 100 mA }
prop one on hall {
  state a start {
    when left pressed -> b
    when gate closed -> c
    when gate closed and gate open -> d
  }
  state b goal { keep glow on }
  state c goal { keep glow off }
  state d goal {}
}
prop two on hall {
  state a start { after 20 ms -> b, when one b -> a }
  state b goal { keep glow on }
}
)");
  const Naive naive = room.naive(wider());
  const lw::naive::Met& met = naive.met();
  // State d is never entered, and its rule, the third of body 0, never taken.
  CHECK(met.entered.count({0, 0, 3}) == 1);
  CHECK(met.entered.count({0, 0, 4}) == 0);
  CHECK(met.taken.count({0, 0, 0, 0}) == 1);
  CHECK(met.taken.count({0, 0, 0, 1}) == 1);
  CHECK(met.taken.count({0, 0, 0, 2}) == 0);
  // Pressed as the gate closes: two moves of one. Of two: `one b` is seen a scan after, in scan 2 at the
  // earliest, when the 2 scans have passed too.
  CHECK(met.at_once == std::set<std::pair<std::uint8_t, std::uint8_t>>{{0, 0}, {0, 1}});
  // Off by c beside on by two.
  CHECK(met.at_odds == std::set<std::pair<std::uint8_t, std::uint8_t>>{{0, 0}});
}

TEST_CASE("two controllers: a message comes at once, or as late as its link allows") {
  // The vault's rule reads the hall's plate over a link of up to 20 ms. The hall scans first, so a message
  // may be taken in the same scan; or 1 or 2 scans later. The plate may be down from power-up, and the vault
  // hears of the session's start with the message that says so: it wakes in that scan.
  const std::string text = R"(
room "Far" { finish safe, starts by operator }
controller hall is quick { supply 12 V up to 2 A }
controller vault is quick { supply 12 V up to 2 A }
link floor joins hall, vault { delay up to 20 ms, lost after 200 ms }
contact plate at hall.I1 { debounce 10 ms, lost after 30 ms }
prop safe on vault {
  state shut start { when plate closed -> open }
  state open goal {}
}
)";
  Freedom freedom = wider();
  freedom.losses = freedom.operator_ = false;
  const auto judge_far = [&](const std::string& promise) {
    const Room room(text + "promise \"p\": " + promise + "\n");
    const Naive naive = room.naive(freedom);
    REQUIRE(naive.whole());
    return naive.promise(0);
  };
  CHECK(judge_far("never safe open").scans == 1);
  // What is as fast as can be does not bound what is slow: the plate may open before it is heard of.
  CHECK(judge_far("session running then not (safe waiting) within 20 ms").kept);
  CHECK_FALSE(judge_far("session running then not (safe waiting) within 10 ms").kept);
  // Never early: the vault wakes in scan 2, and looks at the plate, as it was then 2 scans ago, in scan 3.
  freedom.late = false;
  CHECK_FALSE(judge_far("session running then not (safe waiting) within 10 ms").kept);
  CHECK(judge_far("session running then not (safe waiting) within 20 ms").kept);
  CHECK(judge_far("never safe open").scans == 3);
  // Scanning between the hall's scans, the vault takes a message in by one scan later.
  freedom.late = freedom.apart = true;
  CHECK_FALSE(judge_far("session running then not (safe waiting) within 20 ms").kept);
  CHECK(judge_far("session running then not (safe waiting) within 30 ms").kept);
}

// A lamp that is lit while the other controller is lost.
const char* const kTwo = R"(
room "Two" { starts by operator, finish watch }
controller hall is quick { supply 12 V up to 2 A }
controller study is quick
link floor joins hall, study { delay up to 10 ms, lost after 30 ms }
lamp glow at hall.K1 { draws 100 mA }
prop watch on hall { state calm start goal { keep glow on while study lost } }
)";

TEST_CASE("a controller is lost where links are cut, or where it is without power for long") {
  // The study says in each scan that it is there; three without a message, and it is lost.
  const Room room(kTwo);
  const auto is_lit = [&](Freedom freedom) {
    freedom.losses = freedom.operator_ = freedom.late = false;
    const Naive naive = room.naive(freedom);
    REQUIRE(naive.whole());
    bool lit = false;
    // phase, state, solved and lamp of the hall; phase of the study.
    for (const auto& [visible, scans] : naive.visible()) lit = lit || visible[3] == 1;
    return lit;
  };
  Freedom cut = wider(), restart = wider();
  cut.cut = restart.restart = true;
  CHECK_FALSE(is_lit(wider()));
  CHECK(is_lit(cut));
  CHECK(is_lit(restart));
}

TEST_CASE("a controller that loses power begins again, and what was due of it is not asked for any more") {
  // To be without power is to be as power comes, which is seen anyway. The session ends in the scan after the
  // door is open (7.2); where power is gone by then it does not, and need not.
  const Room room(std::string(kDoor) + R"(
promise "open for good": can always reach door open
promise "over in time": door open then session ended within 10 ms
)");
  Freedom freedom = wider();
  freedom.losses = freedom.operator_ = false;
  const Naive before = room.naive(freedom);
  freedom.restart = true;
  const Naive after = room.naive(freedom);
  CHECK(before.visible() == after.visible());
  CHECK(after.promise(0).kept);
  CHECK(before.promise(1).kept);
  CHECK(after.promise(1).kept);
}
