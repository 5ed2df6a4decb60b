// Drives that are cut and counts that are lost, read from the blocks of a run whose answers were worked out
// by hand.
#include "explore/incidents.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "compiled_room.hpp"
#include "explore/replay.hpp"

using lw::explore::Incident;

namespace {

const char* const kHead = R"(language 1
board bench {
  inputs I1 to I4, outputs K1 to K4 up to 2 A, scan 10 ms
}
room "Bench" { session 60 min, starts by operator, finish box }
controller hall is bench { supply 12 V up to 3 A }
button left at hall.I1 { debounce 10 ms }
button right at hall.I2 { debounce 10 ms }
lamp red at hall.K1 { draws 100 mA }
lamp green at hall.K2 { draws 100 mA }
lock gate at hall.K3 { draws 400 mA, fail-safe, rest secured }
)";

std::unique_ptr<lw::CompiledRoom> bench(const std::string& statements) {
  return lw::compiled(kHead + ("prop box on hall {\n" + statements) +
                      "  state done goal { keep gate released }\n}\n");
}

struct Press {
  std::int64_t at_ms;
  const char* name;
  bool overrides = false;
};

/// What may happen to the first prop, and what of it does, as "at 250 ms: 0" by its place in that.
struct Seen {
  std::vector<Incident> may;
  std::vector<std::string> happened;
};

Seen play(const lw::CompiledRoom& room, const std::vector<Press>& presses, std::int64_t until_ms = 5000) {
  Seen seen;
  seen.may = lw::explore::may_happen(*room.room, *room.tables, 0, 0);
  if (seen.may.empty()) return seen;
  lw::explore::Witness witness(*room.tables, seen.may);
  lw::RoomRun run(*room.room, *room.tables);
  run.world().make_ready();
  run.start();
  std::size_t next = 0;
  while (run.next_scan_ms() <= until_ms) {
    for (; next < presses.size() && presses[next].at_ms <= run.next_scan_ms(); ++next) {
      lw::model::Deed deed;
      deed.kind = lw::model::DeedKind::press;
      deed.value = 30;
      if (presses[next].overrides) {
        deed.kind = lw::model::DeedKind::operator_override;
        deed.prop = lw::model::PropId(0);
      } else {
        for (std::size_t n = 0; n < room.room->inputs.size(); ++n)
          if (room.room->inputs[n].name == presses[next].name) deed.input = lw::model::InputId(n);
      }
      REQUIRE(!run.perform(deed, std::max(presses[next].at_ms, run.now_ms())));
    }
    run.scan();
    for (const Incident& one : witness.look(run)) {
      const auto at = std::find(seen.may.begin(), seen.may.end(), one);
      REQUIRE(at != seen.may.end());
      seen.happened.push_back(std::to_string(run.now_ms()) + " ms: " + std::to_string(at - seen.may.begin()));
    }
  }
  return seen;
}

using Strings = std::vector<std::string>;

}  // namespace

// A press at 100 ms is taken in two equal scans: at 110 ms.
TEST_CASE("5.2 a drive is cut where another level takes its place in its time") {
  const auto room = bench(R"(  state shut start {
    when left pressed { keep red on for 200 ms }
    when right pressed { keep red blinking every 100 ms for 200 ms }
  }
)");
  // 0: what left does, 1: what right does. Retriggered at 200 ms, cut at 300, and after it has ended not at
  // all.
  const Seen seen =
      play(*room, {{100, "left"}, {200, "left"}, {300, "right"}, {600, "left"}, {900, "right"}});
  CHECK(seen.may.size() == 2);
  CHECK(seen.happened == Strings{"310 ms: 1"});
}

TEST_CASE("5.2 exact to the scan: what has had its last scan is cut no more") {
  const auto room = bench(R"(  state shut start {
    when left pressed { keep red on for 200 ms }
    when right pressed { keep red off for 200 ms }
  }
)");
  // From 110 ms it asks in twenty scans, the last at 300 ms.
  CHECK(play(*room, {{100, "left"}, {290, "right"}}).happened == Strings{"300 ms: 1"});
  CHECK(play(*room, {{100, "left"}, {300, "right"}}).happened.empty());
}

TEST_CASE("5.2 the same level for no less long takes nothing away") {
  const auto room = bench(R"(  state shut start {
    when left pressed { keep red on for 200 ms }
    when right pressed { keep red on for 100 ms }
  }
)");
  // Only the shorter one can cut the longer, and does not once that has no more left than it asks for.
  const Seen seen = play(*room, {{100, "left"}, {190, "right"}, {1000, "left"}, {1100, "right"}});
  CHECK(seen.may.size() == 1);
  CHECK(seen.happened == Strings{"200 ms: 0"});
}

TEST_CASE("5.2 of two that start in one scan the last stays") {
  const auto room = bench(R"(  state shut start {
    when left pressed { keep red on for 200 ms } -> done
    when right pressed -> shut
    leave { keep red off for 100 ms }
  }
)");
  // As the prop is left what leaving asks for comes before the move's own.
  const Seen seen = play(*room, {{100, "right"}, {500, "left"}});
  CHECK(seen.may.size() == 2);
  CHECK(seen.happened == Strings{"510 ms: 0"});
}

TEST_CASE("5.2 a swap, and what only fills up, are no cuts") {
  CHECK(play(*bench(R"(  state shut start {
    when left pressed { keep red on for 1 s, keep green off for 1 s }
    when right pressed { keep green on for 1 s, keep red off for 1 s }
  }
)"),
             {})
            .may.empty());
  // A lock is no lamp.
  CHECK(play(*bench(R"(  state shut start {
    when left pressed { keep gate released for 1 s, keep red on for 1 s }
    when right pressed { keep gate secured for 1 s, keep red off for 1 s }
  }
)"),
             {})
            .may.size() == 4);
  // `then … longer` gives way to it.
  CHECK(play(*bench(R"(  state shut start {
    keep red blinking every 100 ms while right held then 1 s longer
    when left pressed { keep red on for 1 s }
  }
)"),
             {{100, "right"}, {400, "left"}})
            .happened.empty());
}

TEST_CASE("6.7 a count past either end, where it is counted both ways") {
  const auto room = bench(R"(  counter found: 1 to 3
  state shut start {
    when left pressed { add 2 to found }
    when right pressed { take 1 from found }
  }
)");
  // 1, 3, 3 (lost), 2, 3 (one of two lost), 2, 1, 1 (lost).
  const Seen seen = play(*room, {{100, "left"},
                                 {300, "left"},
                                 {500, "right"},
                                 {700, "left"},
                                 {900, "right"},
                                 {1100, "right"},
                                 {1300, "right"}});
  CHECK(seen.may.size() == 2);
  CHECK(seen.happened == Strings{"310 ms: 0", "710 ms: 0", "1310 ms: 1"});
  CHECK(play(*bench(R"(  counter found: 0 to 3
  state shut start {
    when left pressed { add 2 to found }
    when right pressed { set found to 0 }
    when found is 3 -> done
  }
)"),
             {})
            .may.empty());
}

TEST_CASE(
    "6.7 changes of one scan act in order, and what a state declares is fresh between leave and enter") {
  const auto room = bench(R"(  counter all: 0 to 2
  state shut start {
    counter own: 0 to 1
    when left pressed { add 1 to all } -> shut
    when right pressed { take 1 from own }
    enter { add 1 to all, add 1 to own }
    leave { take 1 from all }
  }
)");
  // `all` is 1 at the start; at the first press 0, 1, 2, at the second 1, 2, 2 (lost as the state is
  // entered). `own` is fresh each time before it is counted.
  const Seen seen = play(*room, {{100, "left"}, {500, "left"}});
  CHECK(seen.may.size() == 5);
  CHECK(seen.happened == Strings{"510 ms: 2"});
}

TEST_CASE("4.1 an override leaves and enters too") {
  const auto room = bench(R"(  state shut start {
    leave { keep red on for 100 ms }
    when left pressed -> lit
  }
  state lit goal { enter { keep red off for 100 ms } }
)");
  CHECK(play(*room, {{100, "", true}}).happened.size() == 1);
}
