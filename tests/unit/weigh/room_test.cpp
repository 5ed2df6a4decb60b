// Rooms weighed: margins and grades at a window's edges, orders of placing counted by hand, tolerances at
// their limits.
#include "weigh/room.hpp"

#include <tuple>

#include "../model/resolved.hpp"
#include "weigh/fit.hpp"
#include "weigh/way.hpp"

using namespace lw::weigh;
using lw::model::test::resolve_text;

namespace {

constexpr std::int64_t kG = 1'000'000'000'000;

/// A room of such things and windows; `for` times are those of its rules.
lw::model::test::Resolved room(const std::string& things, const std::string& prop,
                               const std::string& scale = "") {
  const std::string bench = R"(language 1
board bench { inputs I1, outputs K1 up to 2 A, scales S1 to S2 }
room "Bench" { finish puzzle }
controller desk is bench
button bell at desk.I1
)" + (scale.empty() ? "scale pan at desk.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }\n"
                    : scale);
  return resolve_text(things + "prop puzzle on desk {\n" + prop + "  state open goal { }\n}\n",
                      bench.c_str());
}

constexpr const char* kRules = "state shut start { when fair for 1 s -> open }\n";

}  // namespace

TEST_CASE("a set lands surely, as written, possibly or not, at each edge") {
  // 100 g ± 2 g; a window from 98 g is shown from 97.5 g on: at its worst the thing is 0.5 g inside.
  const auto margin = [](const std::string& window) {
    const auto resolved = room("thing seal 100 g ± 2 g\n", "window fair on pan: " + window + "\n" + kRules);
    REQUIRE(resolved.room);
    WeighedRoom weighed(*resolved.room);
    const Landing landing = weighed.landing(weighed.places()[0], {1});
    return std::make_pair(landing.grade, landing.margin_pg);
  };
  CHECK(margin("98 g to 110 g") == std::make_pair(Grade::surely, kG / 2));
  CHECK(margin("99 g to 110 g") == std::make_pair(Grade::nominally, -kG / 2));
  CHECK(margin("101 g to 110 g") == std::make_pair(Grade::possibly, -5 * kG / 2));
  CHECK(margin("103 g to 110 g") == std::make_pair(Grade::near, -kG / 2));
  CHECK(margin("104 g to 110 g").first == Grade::not_at_all);
  // Up to 98 g is shown up to 98.5 g, less a picogram.
  CHECK(margin("80 g to 98 g") == std::make_pair(Grade::possibly, -7 * kG / 2 - 1));
}

TEST_CASE("what lives on the pan is not in a load, and leaves less to be shown") {
  const auto resolved =
      room("thing seal 100 g\n", std::string("window fair on pan: above 50 g\n") + kRules,
           "scale pan at desk.S1 { capacity 3 kg, division 1 g, empty below 5 g, rests 250 g }\n");
  REQUIRE(resolved.room);
  WeighedRoom weighed(*resolved.room);
  CHECK(weighed.places()[0].high == 2750);
  CHECK(weighed.landing(weighed.places()[0], {1}).load.nominal_pg == 100 * kG);
}

TEST_CASE("orders of placing that pass through a window, forwards and so backwards") {
  const auto resolved = room("thing ingot 400 g\nthing nugget 200 g { count 3 }\nthing bust 100 g\n",
                             "window fair on pan: ingot + 2 x nugget + bust ± 10 g\n"
                             "window half on pan: 390 g to 410 g\n"
                             "window some on pan: 700 g ± 10 g\n"
                             "window none on pan: 1500 g ± 10 g\n"
                             "state shut start { when fair for 1 s -> open, when half for 300 ms -> lost }\n"
                             "state lost { }\n");
  REQUIRE(resolved.room);
  WeighedRoom weighed(*resolved.room);
  const auto& places = weighed.places();
  const auto through = [&](std::size_t place) {
    const auto orders = orders_through(weighed, *places[0].intended, places[place]);
    REQUIRE(orders);
    return std::make_pair(orders->all, orders->through);
  };
  // ingot, nugget, nugget, bust: 4! / 2! = 12 orders. 400 g is shown by the ingot alone (3 orders begin with
  // it), or by both nuggets before the others (2 orders).
  CHECK(through(1) == std::make_pair(Count(12), Count(5)));
  // 700 g is ingot, nugget and bust, so all but the last is a nugget: 6 orders end with one.
  CHECK(through(2) == std::make_pair(Count(12), Count(6)));
  CHECK(through(3) == std::make_pair(Count(12), Count(0)));
  CHECK(weighed.words(orders_through(weighed, *places[0].intended, places[1])->first) == "ingot");

  const std::vector<Passing> found = passings(weighed);
  REQUIRE(found.size() == 1);
  CHECK(found[0].passed == &places[1]);
  CHECK(found[0].answer_ms == 700);
}

TEST_CASE("parts that only tolerances bring into a window, and windows that two at once leap over") {
  const auto resolved = room("thing ingot 400 g ± 5 g\nthing nugget 200 g\nthing bust 100 g\n",
                             "window fair on pan: ingot + nugget + bust ± 20 g\n"
                             "window worn on pan: 403 g to 410 g\n"
                             "window some on pan: 50 g to 450 g\n"
                             "window most on pan: 90 g to 610 g\n"
                             "window once on pan: 150 g to 350 g\n" +
                                 std::string(kRules));
  REQUIRE(resolved.room);
  WeighedRoom weighed(*resolved.room);
  const auto& places = weighed.places();
  const auto through = [&](std::size_t place) {
    const auto orders = orders_through(weighed, *places[0].intended, places[place]);
    REQUIRE(orders);
    return std::make_tuple(orders->all, orders->through, orders->leapt);
  };
  // 403 g is shown by the ingot alone, and only when it is heavy: the 2 of 6 orders that begin with it.
  CHECK(through(1) == std::make_tuple(Count(6), Count(2), true));
  // Every order begins with one of the three; ingot and nugget at once, 600 g, are over it.
  CHECK(through(2) == std::make_tuple(Count(6), Count(6), true));
  // 600 g are within that one: all parts are, so that only all three at once leap over it.
  CHECK(through(3) == std::make_tuple(Count(6), Count(6), false));
  // Within it lie the nugget, and nugget and bust: 2 orders begin with the one, and of those that begin with
  // the bust the one that goes on with the nugget.
  CHECK(through(4) == std::make_tuple(Count(6), Count(3), true));
}

TEST_CASE("a rule that answers a part while the set is taken off, where another waits for the bare pan") {
  const auto found = [](const std::string& bare) {
    const auto resolved = room("thing ingot 400 g\nthing nugget 200 g\n",
                               "window fair on pan: ingot + nugget ± 10 g\nwindow lone on pan: ingot ± 10 g\n"
                               "state shut start { when fair for 1 s -> lit }\n"
                               "state lit { when lone for 300 ms -> lost, when " +
                                   bare + " -> open }\nstate lost { }\n");
    REQUIRE(resolved.room);
    const WeighedRoom weighed(*resolved.room);
    std::vector<bool> off;
    for (const Passing& passing : passings(weighed)) off.push_back(passing.taking_off);
    return off;
  };
  CHECK(found("pan empty") == std::vector<bool>{true});
  CHECK(found("(pan empty and bell held)") == std::vector<bool>{true});
  CHECK(found("(not pan empty and bell held)").empty());
  CHECK(found("bell held").empty());
}

TEST_CASE("which conditions a hand can meet alone") {
  const auto alone = [](const std::string& condition) {
    const auto resolved = room("thing ingot 400 g\n",
                               "window fair on pan: ingot ± 10 g\nwindow much on pan: above fair\n"
                               "state shut start { when " +
                                   condition + " -> open }\n");
    REQUIRE(resolved.room);
    return by_hand_alone(resolved.room->props[0].bodies[0].rules[0].condition);
  };
  CHECK(alone("fair"));
  CHECK(alone("(fair or much) for 1 s"));
  CHECK(alone("(fair and not bell held) for 1 s"));
  CHECK(alone("any 1 of (fair, bell held)"));
  CHECK(!alone("bell held"));
  CHECK(!alone("(fair and bell held) for 1 s"));
  CHECK(!alone("any 2 of (fair, bell held)"));
}

TEST_CASE(
    "the widest tolerance is one step under what the next set reaches, and the least is what the set needs") {
  // 100 g ± 2 g and 120 g ± 1 g; no class, so only the division that a reading may be behind. 119 g is shown
  // as 118 g at the worst, so 117 g is the last that the window may hold: ± 17 g. Of its own it needs 2 g and
  // the division: ± 3 g.
  const auto resolved = room("thing seal 100 g ± 2 g\nthing urn 120 g ± 1 g\n",
                             std::string("window fair on pan: seal ± 50 g\n") + kRules);
  REQUIRE(resolved.room);
  WeighedRoom weighed(*resolved.room);
  const Fit found = fit(weighed, weighed.places()[0]);
  CHECK(found.needed == 3);
  CHECK(found.widest == 17);
  CHECK(written(weighed, weighed.places()[0], found.widest) == "window fair on pan: seal ± 17 g");
}

TEST_CASE("where there is no tolerance the smallest change of each thing is found") {
  // The urn must come to lie so far off that what the seal needs, ± 3 g, is clear of it: by the arithmetic
  // above 100 g
  // + 3 + 1 + 1 + 1 = 106 g, so a step heavier than 105 g; on the lighter side 94 g.
  const auto resolved = room("thing seal 100 g ± 2 g\nthing urn 105 g ± 1 g\n",
                             std::string("window fair on pan: seal ± 5 g\n") + kRules);
  REQUIRE(resolved.room);
  WeighedRoom weighed(*resolved.room);
  const Place& place = weighed.places()[0];
  const Fit none = fit(weighed, place);
  CHECK(!none.found());
  REQUIRE(none.in_the_way.size() == 1);
  const auto found = changes(weighed, place, none, 5);
  REQUIRE(found.size() == 2);
  CHECK(found[0].by_pg == (found[0].kind == 0 ? -kG : kG));
  CHECK(found[1].by_pg == (found[1].kind == 0 ? -kG : kG));
}

TEST_CASE("a rule should wait longer where the things of another window pass through") {
  const auto resolved = room("thing ingot 400 g\nthing nugget 200 g\n",
                             "window fair on pan: ingot + nugget ± 10 g\nwindow lone on pan: ingot ± 10 g\n"
                             "state shut start { when fair for 1 s -> open, when lone for 1 s -> open }\n");
  REQUIRE(resolved.room);
  WeighedRoom weighed(*resolved.room);
  CHECK(proposed_hold_ms(weighed, weighed.places()[0]) == 800);
  CHECK(proposed_hold_ms(weighed, weighed.places()[1]) == 2000);
}
