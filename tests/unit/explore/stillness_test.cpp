// Scans that are known and passed over leave what the runtime would: blocks byte for byte, what rules did,
// and what counts of them say.
#include "play/stillness.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include "../../oracle/compiled.hpp"
#include "../../oracle/random_room.hpp"
#include "../sanitized.hpp"
#include "any_script.hpp"
#include "check/compile.hpp"
#include "play/coverage.hpp"

using namespace lw;

namespace {

struct Passed {
  std::uint64_t scans = 0, still = 0;
};

std::string words(const std::vector<PropStep>& steps) {
  std::string all;
  for (const PropStep& step : steps)
    all += std::to_string(static_cast<int>(step.kind)) + ":" + std::to_string(step.controller) + "." +
           std::to_string(step.prop) + " " + std::to_string(step.from) + ">" + std::to_string(step.to) +
           " by " + std::to_string(step.rule.body) + "." + std::to_string(step.rule.rule) + "; ";
  return all;
}

/// How long each rule's condition has been true, and how old each state is.
std::string counts(const RoomRun& run, const Firings& firings) {
  std::string all;
  for (std::uint8_t c = 0; c < run.controllers(); ++c) {
    for (std::size_t p = 0; p < run.rows(c).props.size(); ++p) all += std::to_string(firings.age(c, p)) + " ";
    for (std::uint16_t b = 0; b < run.rows(c).bodies.size(); ++b)
      for (std::uint16_t r = 0; r < run.rows(c).bodies[b].rules.size(); ++r)
        all +=
            std::to_string(firings.run_of({c, b, r}).value_or(0)) + (firings.run_of({c, b, r}) ? "," : "-");
  }
  return all;
}

/// One script, played twice: once with nothing known from one instant to the next.
void hold(const model::Room& room, const RoomTables& tables, const Script& script, Passed& passed) {
  RoomRun run(room, tables), plain(room, tables);
  Firings firings(run), of_plain(plain);
  Coverage coverage(room, tables), covered(room, tables);
  run.world().make_ready();
  plain.world().make_ready();
  coverage.begin();
  covered.begin();
  std::size_t next = 0;
  while (run.next_scan_ms() <= script.until_ms) {
    for (; next < script.deeds.size() && script.deeds[next].time_ms <= run.next_scan_ms(); ++next) {
      const std::int64_t at_ms = std::max(script.deeds[next].time_ms, run.now_ms());
      REQUIRE(run.perform(script.deeds[next], at_ms) == plain.perform(script.deeds[next], at_ms));
    }
    plain.take_up(plain.keep());
    run.scan();
    plain.scan();
    firings.look(run);
    of_plain.look(plain);
    coverage.count(run, firings.last());
    covered.count(plain, of_plain.last());
    for (const std::uint8_t c : run.scanned()) {
      ++passed.scans;
      passed.still += run.was_still(c) ? 1 : 0;
      REQUIRE_FALSE(plain.was_still(c));
      REQUIRE(run.fresh(c) == plain.fresh(c));
      for (std::size_t p = 0; p < run.rows(c).props.size(); ++p)
        REQUIRE(run.overridden(c, p) == plain.overridden(c, p));
    }
    REQUIRE(run.now_ms() == plain.now_ms());
    REQUIRE(blocks(run) == blocks(plain));
    REQUIRE(words(firings.last()) == words(of_plain.last()));
    REQUIRE(words(firings.passed_over()) == words(of_plain.passed_over()));
    REQUIRE(coverage.last() == covered.last());
    if (run.now_ms() % 170 == 0) REQUIRE(counts(run, firings) == counts(plain, of_plain));
  }
  REQUIRE(counts(run, firings) == counts(plain, of_plain));
}

}  // namespace

TEST_CASE("scans passed over are those of the runtime, in the rooms of samples") {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(LATCHWORK_SOURCE_DIR "/samples"))
    if (entry.path().extension() == ".latch") files.push_back(entry.path().string());
  std::sort(files.begin(), files.end());
  Passed passed;
  for (const std::string& file : files) {
    ReadError error;
    const auto room = compile(file, "", error);
    REQUIRE(room);
    if (!room->tables || room->room->props.empty()) continue;
    const bool broken = file.find("broken") != std::string::npos;
    for (std::uint64_t seed = 1; seed <= (broken ? 1 : 12); ++seed) {
      INFO(file << ", seed " << seed);
      Dice dice(seed);
      Script script = any_script(dice, *room->room);
      if (dice.chance(30)) script.until_ms += 40'000;  // longer than most clocks run
      hold(*room->room, *room->tables, script, passed);
    }
  }
  MESSAGE(passed.still << " of " << passed.scans << " scans were known");
  CHECK(passed.still > passed.scans / 2);
}

TEST_CASE("scans passed over are those of the runtime, in random rooms") {
  Passed passed;
  std::size_t rooms = 0;
  for (std::uint64_t seed = 1; rooms < 400 / test::kOneIn; ++seed) {
    Dice dice(seed);
    const auto compiled = oracle::compile_text(oracle::render(oracle::random_room(dice)));
    if (!compiled->tables || compiled->room->props.empty()) continue;
    ++rooms;
    INFO("seed " << seed);
    for (int n = 0; n < 4; ++n)
      hold(*compiled->room, *compiled->tables, any_script(dice, *compiled->room), passed);
  }
  MESSAGE(passed.still << " of " << passed.scans << " scans were known");
  CHECK(passed.still > passed.scans / 10);
}
