// The limits of runtime/table.def: what just fits is lowered, one more is a finding at its place, never a
// wrong table.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <functional>

#include "build.hpp"
#include "runtime/table.h"

namespace lw::test {
namespace {

using model::FactKind;
using model::InputKind;
using model::LevelKind;
using model::OutputKind;

/// `make` fills a room with so many of a thing, in one prop `p`.
void fits_and_no_more(std::size_t most, const std::string& says,
                      const std::function<void(Build&, std::size_t)>& make) {
  CAPTURE(says);
  Build fits;
  make(fits, most);
  fits.lower();
  Build over;
  make(over, most + 1);
  CHECK(over.refused() == std::vector<std::string>{"over_limit"});
  REQUIRE(!over.findings.empty());
  CHECK(over.findings[0].message == says);
}

std::string named(const char* stem, std::size_t n) { return fmt::format("{}{}", stem, n); }

}  // namespace

TEST_CASE("inputs, outputs and props of a controller") {
  fits_and_no_more(LW_MAX_inputs, "`desk` has 251 inputs, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     b.prop("p").state("s");
                     for (std::size_t k = 0; k < n; ++k) b.input(InputKind::contact, named("c", k));
                   });
  fits_and_no_more(LW_MAX_outputs, "`desk` has 251 outputs, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     b.prop("p").state("s");
                     for (std::size_t k = 0; k < n; ++k) b.output(OutputKind::lamp, named("l", k));
                   });
  fits_and_no_more(LW_MAX_props, "`desk` has 251 props, and a table holds 250", [](Build& b, std::size_t n) {
    for (std::size_t k = 0; k < n; ++k) b.prop(named("p", k)).state("s");
  });
}

TEST_CASE("what a controller's props declare and use") {
  fits_and_no_more(LW_MAX_timers, "`desk` has 251 timers, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     p.state("s");
                     for (std::size_t k = 0; k < n; ++k) p.timer(named("t", k), 1000);
                   });
  fits_and_no_more(LW_MAX_counters, "`desk` has 251 counters, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     p.state("s");
                     for (std::size_t k = 0; k < n; ++k) p.counter(named("c", k), 0, 3);
                   });
  fits_and_no_more(LW_MAX_sequences, "`desk` has 251 sequences, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     const model::InputId bell = b.input(InputKind::button, "bell");
                     PropBuild p = b.prop("p");
                     p.state("s");
                     for (std::size_t k = 0; k < n; ++k)
                       p.sequence(named("q", k), {of_input(FactKind::button_pressed, bell)});
                   });
  fits_and_no_more(LW_MAX_clips, "`desk` has 251 clips, and a table holds 250", [](Build& b, std::size_t n) {
    const model::OutputId horn = b.output(OutputKind::voice, "horn");
    PropBuild p = b.prop("p");
    const model::StateId s = p.state("s");
    const model::StateId t = p.state("t");
    for (std::size_t k = 0; k < n; ++k)
      p.body(k < 200 ? s : t).enter.push_back(play(b.clip(named("c", k)), horn));
  });
  fits_and_no_more(
      LW_MAX_tags, "`desk` has 251 tags that its readers tell apart, and a table holds 250",
      [](Build& b, std::size_t n) {
        const model::InputId pad = b.input(InputKind::reader, "pad");
        PropBuild p = b.prop("p");
        const model::StateId s = p.state("s");
        std::vector<model::Cond> any_of;
        for (std::size_t k = 0; k < n; ++k)
          any_of.push_back(reads(FactKind::reads_thing, pad, b.thing(named("t", k), named("tag", k))));
        p.when(p.body(s), any(any_of), s);
      });
}

TEST_CASE("cells of a scale") {
  fits_and_no_more(LW_MAX_cells, "`pan` has 252 ranges that its windows tell apart, and a table holds 251",
                   [](Build& b, std::size_t n) {
                     const model::InputId pan = b.input(InputKind::scale, "pan");
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     std::vector<model::Cond> any_of;
                     for (std::size_t k = 0; k + 1 < n; ++k)
                       any_of.push_back(p.in_window(
                           p.window(named("w", k), pan, static_cast<std::int64_t>(10 * k), std::nullopt)));
                     p.when(p.body(s), any(any_of), s);
                   });
}

TEST_CASE("states, `in` blocks, rules, keeps and actions") {
  fits_and_no_more(LW_MAX_states, "`p` has 121 states, and a table holds 120", [](Build& b, std::size_t n) {
    PropBuild p = b.prop("p");
    for (std::size_t k = 0; k < n; ++k) p.state(named("s", k));
  });
  fits_and_no_more(LW_MAX_bodies, "`s` has 10 `in` blocks, itself counted, and a table holds 9",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     for (std::size_t k = 1; k < n; ++k) p.shared({s});
                   });
  fits_and_no_more(LW_MAX_rules, "this state has 251 rules, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     for (std::size_t k = 0; k < n; ++k) p.after(p.body(s), 1000, s);
                   });
  fits_and_no_more(LW_MAX_keeps, "this state has 251 keeps, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     const model::OutputId lamp = b.output(OutputKind::lamp, "lamp");
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     for (std::size_t k = 0; k < n; ++k) p.keep(p.body(s), lamp, level(LevelKind::on));
                   });
  fits_and_no_more(LW_MAX_action_list, "this list has 251 actions, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     const model::OutputId lamp = b.output(OutputKind::lamp, "lamp");
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     for (std::size_t k = 0; k < n; ++k) {
                       p.body(s).enter.push_back(keep_for(lamp, level(LevelKind::on), 1000));
                       p.body(s).enter.back().span = b.line();
                     }
                   });
}

TEST_CASE("levels, drives and tails") {
  fits_and_no_more(LW_MAX_levels, "`desk` has 251 different levels of its outputs, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     const model::OutputId lamp = b.output(OutputKind::lamp, "lamp");
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     const model::StateId t = p.state("t");
                     for (std::size_t k = 1; k < n; ++k)  // the rest level is one
                       p.keep(p.body(k < 200 ? s : t), lamp,
                              level(LevelKind::blinking, 0, 1000 + 10 * static_cast<std::int64_t>(k)));
                   });
  fits_and_no_more(LW_MAX_drives, "`desk` has 251 outputs that props drive for a time, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     const model::OutputId lamp = b.output(OutputKind::lamp, "lamp");
                     const model::OutputId other = b.output(OutputKind::lamp, "other");
                     for (std::size_t k = 0; k < n; k += 2) {
                       PropBuild p = b.prop(named("p", k));
                       const model::StateId s = p.state("s");
                       p.body(s).enter = {keep_for(lamp, level(LevelKind::on), 1000)};
                       if (k + 1 < n) p.body(s).enter.push_back(keep_for(other, level(LevelKind::on), 1000));
                     }
                   });
  fits_and_no_more(LW_MAX_tails, "`desk` has 251 keeps with `then … longer`, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     const model::OutputId lamp = b.output(OutputKind::lamp, "lamp");
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     const model::StateId t = p.state("t");
                     for (std::size_t k = 0; k < n; ++k)
                       p.keep(p.body(k < 200 ? s : t), lamp, level(LevelKind::on)).longer_ms = 1000;
                   });
}

TEST_CASE("readies and tells") {
  fits_and_no_more(LW_MAX_readies, "`desk` has 251 lines of `ready`, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     p.state("s");
                     for (std::size_t k = 0; k < n; ++k) (*p).readies.push_back({b.line(), {}, 0, "ready"});
                   });
  fits_and_no_more(LW_MAX_tells, "`desk` has 251 lines of `tell`, and a table holds 250",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     for (std::size_t k = 0; k < n; ++k) p.body(s).tells.push_back({b.line(), "tell", {}});
                   });
}

TEST_CASE("facts of a controller") {
  // One of them is always true; the others are counts.
  fits_and_no_more(LW_MAX_facts,
                   "`desk` has 4001 facts that its conditions are made of, and a table holds 4000",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     for (std::size_t k = 0; k + 1 < n; ++k) {
                       const std::size_t counter = k / 200;
                       if (k % 200 == 0) p.counter(named("c", counter), 0, 255);
                       const model::Cond cond =
                           p.own_fact(FactKind::counter_is, counter, static_cast<std::int64_t>(k % 200));
                       if (k % 200 == 0 && k != 0) p.state(named("s", counter));
                       p.when(p.body(model::StateId(counter)), cond, s);
                     }
                   });
}

TEST_CASE("steps and conditions of a sequence, keys of a code, bytes of a tag") {
  fits_and_no_more(LW_MAX_steps, "`seq` has 33 steps, and a table holds 32", [](Build& b, std::size_t n) {
    const model::Cond held = of_input(FactKind::button_held, b.input(InputKind::button, "bell"));
    PropBuild p = b.prop("p");
    p.state("s");
    p.sequence("seq", std::vector<model::Cond>(n, held));
  });
  fits_and_no_more(
      LW_MAX_conditions, "`seq` has 17 different conditions in its steps, and a table holds 16",
      [](Build& b, std::size_t n) {
        PropBuild p = b.prop("p");
        p.state("s");
        std::vector<model::Cond> steps;
        for (std::size_t k = 0; k < n; ++k)
          steps.push_back(of_input(FactKind::button_pressed, b.input(InputKind::button, named("b", k))));
        p.sequence("seq", steps);
      });
  fits_and_no_more(LW_MAX_code_keys, "`pad` has 13 keys in its longest code, and a table holds 12",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     const model::StateId s = p.state("s");
                     model::Cond enters = of_input(FactKind::enters, b.input(InputKind::keypad, "pad"));
                     enters.fact.text = std::string(n, '7');
                     p.when(p.body(s), enters, s);
                   });
  fits_and_no_more(10, "the tag of `crown` has 11 bytes, and a table holds 10", [](Build& b, std::size_t n) {
    PropBuild p = b.prop("p");
    const model::StateId s = p.state("s");
    const model::ThingId crown = b.thing("crown", std::string(n, 'x'));
    p.when(p.body(s), reads(FactKind::reads_thing, b.input(InputKind::reader, "pad"), crown), s);
  });
}

TEST_CASE("the ends of a counter") {
  fits_and_no_more(LW_MAX_count, "`c` has 256 steps between its ends, and a table holds 255",
                   [](Build& b, std::size_t n) {
                     PropBuild p = b.prop("p");
                     p.state("s");
                     p.counter("c", 10, 10 + static_cast<std::int64_t>(n));
                   });
  Build nothing;
  PropBuild p = nothing.prop("p");
  p.state("s");
  p.counter("c", 3, 3);
  CHECK(nothing.refused() == std::vector<std::string>{"out_of_range"});
}

TEST_CASE("conditions in one count") {
  const auto count_of = [](Build& b, std::size_t n) {
    PropBuild p = b.prop("p");
    const model::StateId s = p.state("s");
    p.counter("c", 0, 255);
    p.counter("d", 0, 255);
    std::vector<model::Cond> parts;
    for (std::size_t k = 0; k < n; ++k)
      parts.push_back(p.own_fact(FactKind::counter_is, k / 200, static_cast<std::int64_t>(k % 200)));
    p.when(p.body(s), join(model::CondKind::at_least, parts, 2), s);
  };
  fits_and_no_more(255, "this count has 256 conditions, and a table holds 255", count_of);
}

TEST_CASE("facts that other controllers read; controllers on one link") {
  const auto bits = [](std::size_t n) {
    auto b = std::make_unique<Build>(std::vector<std::string>{"desk", "hall"});
    b->link({0, 1});
    PropBuild p = b->prop("p");
    p.state("s");
    p.counter("c", 0, 255);
    p.counter("d", 0, 255);
    PropBuild q = b->prop("q", 1);
    const model::StateId s = q.state("s");
    std::vector<model::Cond> parts;
    for (std::size_t k = 0; k < n; ++k)
      parts.push_back(p.own_fact(FactKind::counter_is, k / 200, static_cast<std::int64_t>(k % 200)));
    q.when(q.body(s), any(parts), s);
    return b;
  };
  bits(LW_MAX_bits)->lower();
  const auto over = bits(LW_MAX_bits + 1);
  CHECK(over->refused() == std::vector<std::string>{"over_limit"});
  CHECK(over->findings[0].message ==
        "`desk` has 251 facts that other controllers read, and a table holds 250");

  const auto crowd = [](std::size_t n) {
    std::vector<std::string> names;
    std::vector<std::size_t> joins;
    for (std::size_t c = 0; c < n; ++c) {
      names.push_back(named("c", c));
      joins.push_back(c);
    }
    auto b = std::make_unique<Build>(names);
    b->link(joins);
    b->prop("p").state("s");
    return b;
  };
  crowd(LW_MAX_peers + 1)->lower();
  CHECK(crowd(LW_MAX_peers + 2)->refused().front() == "over_limit");
}

TEST_CASE("durations: as long as a controller can count, and no longer") {
  const auto after = [](std::int64_t ms) {
    auto b = std::make_unique<Build>();
    PropBuild p = b->prop("p");
    const model::StateId s = p.state("s");
    p.after(p.body(s), ms, s);
    return b;
  };
  after(10 * std::int64_t{LW_MAX_scans})->lower();
  const auto over = after(10 * std::int64_t{LW_MAX_scans} + 1);
  CHECK(over->refused() == std::vector<std::string>{"over_limit"});
  CHECK(over->findings[0].message == "46 h 36 min 12 s 141 ms is longer than the board can time");

  Build silent;
  silent.in(silent.input(InputKind::contact, "c")).lost_after_ms = 655350;
  silent.prop("p").state("s");
  CHECK(silent.refused() == std::vector<std::string>{"over_limit"});
  silent.findings.clear();
  silent.room.inputs[0].lost_after_ms = 655340;
  silent.lower();
}

TEST_CASE("a blink that no scan can show, a board too slow, a circle of two divisions") {
  Build blink;
  const model::OutputId lamp = blink.output(OutputKind::lamp, "lamp");
  PropBuild p = blink.prop("p");
  const model::StateId s = p.state("s");
  p.keep(p.body(s), lamp, level(LevelKind::blinking, 0, 10));
  CHECK(blink.refused() == std::vector<std::string>{"out_of_range"});
  p.body(s).keeps[0].level.period_ms = 11;
  blink.findings.clear();
  CHECK(lines_of(blink.lower().controllers[0], "body") == "body 0 [p s]\n  keep lamp blinking 2\n");
  p.body(s).keeps[0].level.period_ms = 655351;
  CHECK(blink.refused() == std::vector<std::string>{"over_limit"});

  Build slow({"desk"}, 1001);
  slow.prop("p").state("s");
  CHECK(slow.refused() == std::vector<std::string>{"out_of_range"});

  Build small;
  small.gauge("dial", 0, 2, true);
  small.prop("p").state("s");
  CHECK(small.refused() == std::vector<std::string>{"out_of_range"});
}

TEST_CASE("a table or a state block of more bytes than its format has") {
  Build b;
  const model::OutputId lamp = b.output(OutputKind::lamp, "lamp");
  std::int64_t ms = 200000;
  for (std::size_t n = 0; n < 60; ++n) {
    PropBuild p = b.prop(named("p", n));
    const model::StateId s = p.state("s");
    for (int k = 0; k < 200; ++k) {
      model::Rule& rule = p.after(p.body(s), ms += 10, std::nullopt);
      rule.actions = {keep_for(lamp, level(LevelKind::on), ms)};
    }
  }
  CHECK(b.refused() == std::vector<std::string>{"over_limit"});
  CHECK(b.findings[0].message.rfind("`desk` needs ", 0) == 0);
  CHECK(b.findings[0].message.find("and the format allows 65535") != std::string::npos);

  Build wide;
  for (std::size_t n = 0; n < 85; ++n) {
    PropBuild p = wide.prop(named("p", n));
    const model::StateId s = p.state("s");
    for (int k = 0; k < 200; ++k) {
      model::Rule& rule = p.after(p.body(s), 700000, std::nullopt);
      rule.again_ms = 700000;
      rule.actions = {
          keep_for(wide.room.outputs.empty() ? wide.output(OutputKind::lamp, "lamp") : model::OutputId{},
                   level(LevelKind::on), 10)};
    }
  }
  CHECK(wide.refused() == std::vector<std::string>{"over_limit"});
  CHECK(wide.findings[0].message ==
        "`desk` has 68000 bytes of timers, counters, sequences and runs, and a table holds 65535");
}

}  // namespace lw::test
