// Published answers, as rooms of tests/known. The comments of the rooms say what the answers are.
#include <doctest/doctest.h>

#include <fstream>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "compiled.hpp"
#include "explore/courses.hpp"
#include "explore/explore.hpp"
#include "explore/measures.hpp"
#include "naive.hpp"

using lw::naive::Freedom;
using lw::naive::Naive;

namespace {

std::unique_ptr<lw::oracle::Compiled> known(const std::string& name) {
  std::ifstream file(std::string(LATCHWORK_SOURCE_DIR) + "/tests/known/" + name);
  REQUIRE(file);
  std::ostringstream text;
  text << file.rdbuf();
  auto compiled = lw::oracle::compile_text(text.str());
  INFO(compiled->first_error());
  REQUIRE(compiled->tables);
  return compiled;
}

/// The search as people play it: nothing lost, nobody resets.
Naive play(const lw::oracle::Compiled& room, bool conditioning) {
  Freedom freedom;
  freedom.losses = freedom.operator_ = false;
  freedom.conditioning = conditioning;
  Naive naive(*room.room, *room.tables, freedom, 40'000'000);
  REQUIRE(naive.whole());
  return naive;
}

bool kept(const lw::oracle::Compiled& room, const Naive& naive, const std::string& title) {
  for (std::size_t n = 0; n < room.room->promises.size(); ++n)
    if (room.room->promises[n].title == title) return naive.promise(n).kept;
  FAIL("no promise " << title);
  return false;
}

/// The states of some props together, in a session.
std::size_t combinations(const lw::oracle::Compiled& room, const Naive& naive,
                         const std::vector<std::string>& props,
                         const std::function<bool(const std::vector<std::string>&)>& counts = nullptr) {
  std::set<std::vector<std::string>> found;
  for (const auto& [visible, scans] : naive.visible()) {
    if (visible[0] == 0) continue;
    std::vector<std::string> states;
    for (const std::string& name : props)
      for (std::size_t p = 0; p < room.room->props.size(); ++p)
        if (room.room->props[p].name == name)
          states.push_back(room.room->props[p].states[visible[1 + 2 * room.tables->props[p].row] - 1u].name);
    if (!counts || counts(states)) found.insert(states);
  }
  return found.size();
}

void hanoi(const std::string& name, const std::string& moves, std::size_t states) {
  const auto room = known(name);
  const Naive naive = play(*room, false);
  CHECK(kept(*room, naive, moves));
  CHECK_FALSE(kept(*room, naive, "no more"));
  CHECK(kept(*room, naive, "always"));
  const std::size_t discs = room->room->props.size() - 2;
  std::vector<std::string> names;
  for (std::size_t d = 1; d <= discs; ++d) names.push_back("disc" + std::to_string(d));
  CHECK(combinations(*room, naive, names) == states);
}

}  // namespace

TEST_CASE("jugs of 3 and 5 litres: 4 litres in 6 steps, over 16 fillings") {
  const auto room = known("jugs_3_5.latch");
  const Naive naive = play(*room, false);
  CHECK(kept(*room, naive, "six steps"));
  CHECK_FALSE(kept(*room, naive, "no more"));
  CHECK(kept(*room, naive, "four litres"));
  CHECK_FALSE(kept(*room, naive, "never four"));
  CHECK(combinations(*room, naive, {"small", "big"}) == 16);
}

TEST_CASE("jugs of 3 and 6 litres: never 4, over 6 fillings") {
  const auto room = known("jugs_3_6.latch");
  const Naive naive = play(*room, false);
  CHECK(kept(*room, naive, "never four"));
  CHECK_FALSE(kept(*room, naive, "four litres"));
  CHECK(combinations(*room, naive, {"small", "big"}) == 6);
}

TEST_CASE("bridge and torch: 17 minutes and none faster, over 30 states") {
  const auto room = known("bridge.latch");
  const Naive naive = play(*room, false);
  CHECK(kept(*room, naive, "none faster"));
  CHECK_FALSE(kept(*room, naive, "seventeen minutes"));
  CHECK(kept(*room, naive, "always across"));
  const auto at_rest = [](const std::vector<std::string>& states) {
    return states[0] == "here" || states[0] == "there";
  };
  CHECK(combinations(*room, naive, {"torch", "ann", "bob", "cid", "dot"}, at_rest) == 30);
}

TEST_CASE("Hanoi: 2^n - 1 moves, 3^n states") {
  hanoi("hanoi_3.latch", "7 moves", 27);
  hanoi("hanoi_4.latch", "15 moves", 81);
}

TEST_CASE("Fischer's protocol: later than the writing time is safe, from it is not") {
  for (const bool conditioning : {false, true}) {
    const auto later = known("fischer_later.latch");
    const Naive safe = play(*later, conditioning);
    CHECK(kept(*later, safe, "one at a time"));
    CHECK(kept(*later, safe, "each may"));
    const auto from = known("fischer_from.latch");
    CHECK_FALSE(kept(*from, play(*from, conditioning), "one at a time"));
    // Where each is, and whose turn it is.
    if (!conditioning) CHECK(combinations(*later, safe, {"one", "two", "sign"}) == 18);
  }
}

TEST_CASE("under the real conditioning the answers stand too") {
  const auto jugs = known("jugs_3_5.latch");
  const Naive poured = play(*jugs, true);
  CHECK(kept(*jugs, poured, "six steps"));
  CHECK_FALSE(kept(*jugs, poured, "no more"));
  CHECK_FALSE(kept(*jugs, poured, "never four"));
}

TEST_CASE("the explorer gives the published answers") {
  struct Known {
    const char* room;
    std::vector<const char*> kept, broken;
    std::optional<std::int64_t> fastest_ms = {};  // to the finish
  };
  const std::vector<Known> all{
      {"jugs_3_5.latch", {"six steps", "four litres"}, {"no more", "never four"}, 210},
      {"jugs_3_6.latch", {"never four"}, {"four litres"}},
      {"bridge.latch", {"none faster", "always across"}, {"seventeen minutes"}, 690},
      {"hanoi_3.latch", {"7 moves", "always"}, {"no more"}, 260},
      {"hanoi_4.latch", {"15 moves", "always"}, {"no more"}, 580},
      {"fischer_later.latch", {"one at a time", "each may"}, {}},
      {"fischer_from.latch", {"each may"}, {"one at a time"}},
  };
  lw::Freedoms freedoms;
  freedoms.losses = freedoms.operator_ = false;
  for (const Known& one : all) {
    const auto room = known(one.room);
    lw::Courses courses(*room->room, *room->tables);
    const lw::Explorer explorer(courses, freedoms, lw::Budget{});
    const auto answer = [&](const std::string& title) {
      for (std::size_t n = 0; n < room->room->promises.size(); ++n)
        if (room->room->promises[n].title == title) return explorer.promise(n);
      FAIL("no promise " << title);
      return lw::Explored{};
    };
    for (const char* const title : one.kept) {
      const lw::Explored explored = answer(title);
      INFO(std::string(one.room) << ": " << std::string(title) << ": " << explored.bound);
      CHECK(explored.answer == lw::Answer::proved);
    }
    if (one.fastest_ms) {
      const lw::Measured fastest = lw::fastest_finish(courses, explorer, 0);
      INFO(std::string(one.room) << ": " << fastest.how);
      CHECK(fastest.exact());
      CHECK(fastest.bound == *one.fastest_ms);
    }
    for (const char* const title : one.broken) {
      const lw::Explored explored = answer(title);
      INFO(std::string(one.room) << ": " << std::string(title) << ": " << explored.bound);
      CHECK(explored.answer == lw::Answer::refuted);
    }
  }
}
