// Each limit of table.def at its figure and one past it: the figure goes through encode, decode and lw_load;
// one more is named by encode, and refused by both readers when written all the same.
#include <doctest/doctest.h>

#include <string>

#include "runtime/runtime.h"
#include "table/bytes.hpp"
#include "table/bytes_write.hpp"
#include "tables.hpp"

namespace lw {
namespace {

using namespace rows;

std::uint8_t u8(std::size_t n) { return static_cast<std::uint8_t>(n); }

Table one_prop(std::size_t states = 1) {
  Table t;
  Prop prop;
  prop.states.resize(states);
  for (std::size_t s = 0; s < states; ++s) {
    prop.states[s].bodies = {static_cast<std::uint16_t>(s)};
    t.bodies.emplace_back();
  }
  t.props = {prop};
  t.levels = {{LevelKind::off, 0}};
  t.outputs = {{false, 1, 0, 0}};
  return t;
}

/// A table that has `n` of what the limit counts.
Table with(Limit limit, std::size_t n) {
  Table t = one_prop();
  const Input contact{InputKind::contact, 1, 3, 100, 0, {}, 0, 0};
  Sequence sequence;
  sequence.conditions = {kTrue};
  sequence.steps = {{0, 0, 0}};
  switch (limit) {
    case Limit::table_bytes: {
      t.link.cues = 1;
      // Lists of actions of one byte each, behind a byte for their count.
      std::size_t left = n - encode(t).bytes.size();
      while (left > 0) {
        const std::size_t bytes = left <= 200 ? left : left < 300 ? left - 150 : 200;
        t.actions.emplace_back(bytes - 1, Action{ActionKind::send, 0, 0, 0, 0});
        left -= bytes;
      }
      return t;
    }
    case Limit::inputs:
      t.inputs.assign(n, contact);
      return t;
    case Limit::cells:
      t.inputs = {{InputKind::scale, 1, 40, 100, 0, {}, 0, 0}};
      for (std::size_t k = 1; k < n; ++k) t.inputs[0].edges.push_back(static_cast<std::int32_t>(k));
      return t;
    case Limit::tags:
      t.tags.assign(n, "x");
      return t;
    case Limit::levels:
      t.levels.assign(n, t.levels[0]);
      return t;
    case Limit::outputs:
      t.outputs.assign(n, t.outputs[0]);
      return t;
    case Limit::clips:
      t.clips.assign(n, 1);
      return t;
    case Limit::timers:
      t.arena = 4;
      t.timers.assign(n, {0, 1});
      return t;
    case Limit::counters:
      t.arena = 1;
      t.counters.assign(n, {0, 1});
      return t;
    case Limit::sequences:
      t.arena = 3;
      t.sequences.assign(n, sequence);
      return t;
    case Limit::facts:
      t.inputs = {contact};
      t.facts.assign(n - 1, {FactKind::input_lost, 0, 0, 0, ""});
      return t;
    case Limit::drives:
      t.drives.assign(n, {0});
      t.props[0].drives_end = u8(n);
      return t;
    case Limit::tails:
      t.drives = {{0}};
      t.props[0].drives_end = 1;
      t.tails.assign(n, {0, 0, 1});
      t.props[0].tails_end = u8(n);
      return t;
    case Limit::props:
      while (t.props.size() < n) {
        t.props.push_back(t.props[0]);
        t.props.back().states[0].bodies = {static_cast<std::uint16_t>(t.bodies.size())};
        t.bodies.emplace_back();
      }
      return t;
    case Limit::states:
      return one_prop(n);
    case Limit::bodies:
      t.bodies.resize(n);
      for (std::size_t k = 1; k < n; ++k)
        t.props[0].states[0].bodies.push_back(static_cast<std::uint16_t>(k));
      return t;
    case Limit::rules:
      t.bodies[0].rules.assign(n, {RuleKind::edge, 0, kFalse, 0, 0, 1, -1});
      return t;
    case Limit::keeps:
      t.bodies[0].keeps.resize(n);
      return t;
    case Limit::action_list:
      t.link.cues = 1;
      t.actions = {ActionList(n, {ActionKind::send, 0, 0, 0, 0})};
      return t;
    case Limit::peers:
      t.controllers = 32;
      for (std::size_t k = 1; k <= n; ++k) t.link.peers.push_back({u8(k), 200, 0, 0, 0});
      return t;
    case Limit::bits:
      t.inputs = {contact};
      t.link.bits.assign(n, {FactKind::input_lost, 0, 0, 0, ""});
      t.link.input_bits = 100;
      t.link.state_bits = u8(n - 150);
      t.link.solved_bits = 50;
      return t;
    case Limit::cues:
      t.link.cues = u8(n);
      return t;
    case Limit::finish:
      t.session.finish.assign(n, {0, 0});
      return t;
    case Limit::readies:
      t.readies.resize(n);
      return t;
    case Limit::tells:
      t.tells.assign(n, kTrue);
      return t;
    case Limit::code_keys:
      t.inputs = {{InputKind::keypad, 1, 3, 100, 0, {}, 500, u8(n)}};
      return t;
    case Limit::conditions:
      t.arena = 3;
      sequence.conditions.assign(n, kTrue);
      t.sequences = {sequence};
      return t;
    case Limit::steps:
      t.arena = 3;
      sequence.steps.assign(n, {0, 0, 0});
      t.sequences = {sequence};
      return t;
    case Limit::count:
      t.arena = 1;
      t.counters = {{0, u8(n)}};
      return t;
    case Limit::silence:
      t.inputs = {contact};
      t.inputs[0].lost_after = static_cast<std::uint32_t>(n);
      return t;
    case Limit::scans:
      t.session.length = static_cast<std::uint32_t>(n);
      return t;
    case Limit::block_bytes:
      t.arena = static_cast<std::uint16_t>(n - block_size(block_parts(t)));
      return t;
  }
  FAIL("a limit without a table");
  return t;
}

/// How a reader says that the limit is passed.
Refusal said_of(Limit limit) {
  switch (limit) {
    case Limit::code_keys:
    case Limit::silence:
    case Limit::scans:
      return Refusal::range;
    case Limit::block_bytes:
      return Refusal::block;
    default:
      return Refusal::limit;
  }
}

std::uint8_t loaded(const std::vector<std::uint8_t>& bytes) {
  lw_table table;
  return lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size()));
}

}  // namespace

TEST_CASE("at its limit a table fits") {
  for (std::size_t k = 0; k < std::size(format::kLimits); ++k) {
    CAPTURE(std::string(format::kLimits[k].name));
    const Table table = with(static_cast<Limit>(k), format::kLimits[k].most);
    const Encoded encoded = encode(table);
    REQUIRE(encoded.overruns.empty());
    const Decoded decoded = decode(encoded.bytes);
    CAPTURE(decoded.refused.sentence);
    CHECK(decoded.table.has_value());
    CHECK(loaded(encoded.bytes) == LW_OK);
    if (static_cast<Limit>(k) == Limit::table_bytes) CHECK(encoded.bytes.size() == 65535);
    if (static_cast<Limit>(k) == Limit::block_bytes) CHECK(block_size(block_parts(table)) == 65535);
  }
}

TEST_CASE("one past its limit it is told by how much, and no reader takes it") {
  for (std::size_t k = 0; k < std::size(format::kLimits); ++k) {
    CAPTURE(std::string(format::kLimits[k].name));
    const Limit limit = static_cast<Limit>(k);
    const std::uint32_t most = format::kLimits[k].most;
    if (limit == Limit::count) continue;  // a counter's span is a u8: more cannot be said
    const Table table = with(limit, most + 1);
    const Encoded encoded = encode(table);
    CHECK(encoded.bytes.empty());
    REQUIRE(encoded.overruns.size() == 1);
    CHECK(encoded.overruns[0].limit == limit);
    CHECK(encoded.overruns[0].have == most + 1);
    CHECK(encoded.overruns[0].most == most);
    if (limit == Limit::table_bytes) continue;  // its size cannot be written
    const std::vector<std::uint8_t> bytes = format::write(table);
    CHECK(format::kRefusals[static_cast<std::size_t>(decode(bytes).refused.refusal)].name ==
          format::kRefusals[static_cast<std::size_t>(said_of(limit))].name);
    CHECK(loaded(bytes) == static_cast<std::uint8_t>(said_of(limit)));
  }
}

TEST_CASE("an overrun says whose it is") {
  Table table = with(Limit::rules, 251);
  table.inputs = {{InputKind::contact, 1, 3, 100, 0, {}, 0, 0},
                  {InputKind::contact, 1, 70000, 100, 0, {}, 0, 0}};
  const Encoded encoded = encode(table);
  REQUIRE(encoded.overruns.size() == 2);
  CHECK(encoded.overruns[0].limit == Limit::silence);
  CHECK(encoded.overruns[0].row == Row::input);
  CHECK(encoded.overruns[0].index == 1);
  CHECK(encoded.overruns[1].limit == Limit::rules);
  CHECK(encoded.overruns[1].row == Row::body);
  CHECK(encoded.overruns[1].index == 0);
  const Encoded inputs = encode(with(Limit::inputs, 251));
  CHECK(inputs.overruns[0].row == Row::input);
  CHECK(inputs.overruns[0].index == 250);
}

TEST_CASE("a peer tells no more bits than a controller may") {
  Table table;
  table.controllers = 2;
  table.link.peers = {{1, 200, 100, 100, 51}};
  CHECK(encode(table).overruns[0].limit == Limit::bits);
  CHECK(decode(format::write(table)).refused.refusal == Refusal::limit);
  CHECK(loaded(format::write(table)) == LW_REFUSAL_limit);
  table.link.peers[0].solved_bits = 50;
  CHECK(encode(table).overruns.empty());
}

}  // namespace lw
