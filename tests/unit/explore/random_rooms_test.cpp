// All that is asked of a room, asked of random ones: nothing may end in a fault of the explorer's own (a
// bound that is missing, a rule that moved and was not due), which it throws. Whether its answers are right
// is held to the naive explorer in tests/explore.
#include <doctest/doctest.h>

#include <exception>
#include <string>

#include "../../oracle/compiled.hpp"
#include "../../oracle/random_room.hpp"
#include "../sanitized.hpp"
#include "check/prove.hpp"

namespace lw {

TEST_CASE("no question to a random room ends in a fault") {
  Proving how;
  how.asked = true;
  how.budget.scans = 2000;
  std::size_t rooms = 0, findings = 0;
  for (std::uint64_t seed = 141; seed < 141 + 12 / test::kOneIn; ++seed) {
    oracle::Dice dice(seed);
    const std::string text = oracle::render(oracle::random_room(dice));
    const auto compiled = oracle::compile_text(text);
    if (!compiled->tables) continue;
    ++rooms;
    CompiledRoom room;
    room.sources = std::move(compiled->sources);
    room.room = std::move(compiled->room);
    room.tables = std::move(compiled->tables);
    try {
      findings += prove(room, how).findings.size();
    } catch (const std::exception& fault) {
      FAIL_CHECK("seed " << seed << ": " << fault.what() << "\n" << text);
    }
  }
  MESSAGE(rooms << " rooms, " << findings << " findings");
  CHECK(rooms > 0);
  CHECK(findings > 0);
}

}  // namespace lw
