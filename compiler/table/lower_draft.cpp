// Hardware, link and session rows, and the numbering at the end. See lower_draft.hpp; tests:
// tests/unit/lower.
#include "table/lower_draft.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lw::lowering {
namespace {

using model::index;

rows::InputKind kind_of(model::InputKind kind) {
  switch (kind) {
    case model::InputKind::scale:
      return rows::InputKind::scale;
    case model::InputKind::gauge:
      return rows::InputKind::gauge;
    case model::InputKind::contact:
      return rows::InputKind::contact;
    case model::InputKind::button:
      return rows::InputKind::button;
    case model::InputKind::operator_button:
      return rows::InputKind::operator_button;
    case model::InputKind::reader:
      return rows::InputKind::reader;
    case model::InputKind::keypad:
      return rows::InputKind::keypad;
    default:
      return rows::InputKind::signal;
  }
}

/// Calls visit on every literal of the table's rows but those of derived facts.
template <class Visit>
void each_literal(rows::Table& table, Visit&& visit) {
  for (rows::Sequence& sequence : table.sequences) {
    visit(sequence.listens);
    visit(sequence.hush);
    visit(sequence.each);
    for (Literal& condition : sequence.conditions) visit(condition);
  }
  for (rows::Prop& prop : table.props) visit(prop.wakes);
  for (rows::Body& body : table.bodies) {
    for (rows::Rule& rule : body.rules) visit(rule.condition);
    for (rows::Keep& keep : body.keeps) visit(keep.while_);
  }
  visit(table.session.condition);
  visit(table.session.hush);
  for (rows::Ready& ready : table.readies) visit(ready.condition);
  for (Literal& tell : table.tells) visit(tell);
}

}  // namespace

Draft::Draft(const Plan& plan, const Links& links, std::size_t controller, Report& report)
    : plan_(plan),
      links_(links),
      controller_(controller),
      report_(report),
      seats_(plan.controllers[controller]),
      clock_(plan.clocks[controller]),
      conditions_(plan, links, controller, pool_, report) {}

void Draft::limit(std::size_t count, std::uint32_t most, const char* things) {
  const model::Controller& controller = plan_.room.controllers[controller_];
  report_.over_limit(count, most, controller.span, fmt::format("`{}`", controller.name), things,
                     "move props, with what they read and drive, to a further controller.");
}

void Draft::write(const std::vector<std::int64_t>& clip_ms) {
  hardware(clip_ms);
  for (const model::PropId id : seats_.props) prop(id);
  for (const model::PropId id : seats_.props)
    for (std::size_t item = 0; item < plan_.prop(id).sequences.size(); ++item) sequence(id, item);
  for (const model::PropId id : seats_.props) words(id);
  link();
  session();
  table_.arena = static_cast<std::uint16_t>(arena_.used());
  limit(arena_.used(), LW_MAX_block_bytes, "bytes of timers, counters, sequences and runs");
  limit(table_.levels.size(), LW_MAX_levels, "different levels of its outputs");
  limit(table_.drives.size(), LW_MAX_drives, "outputs that props drive for a time");
  limit(table_.tails.size(), LW_MAX_tails, "keeps with `then … longer`");
  limit(table_.readies.size(), LW_MAX_readies, "lines of `ready`");
  limit(table_.tells.size(), LW_MAX_tells, "lines of `tell`");
}

void Draft::hardware(const std::vector<std::int64_t>& clip_ms) {
  table_.scan_ms = static_cast<std::uint16_t>(clock_.scan_ms());
  table_.controller = static_cast<std::uint8_t>(controller_);
  table_.controllers = static_cast<std::uint8_t>(plan_.controllers.size());
  for (const model::InputId id : seats_.inputs) add_input(id);
  for (const model::ThingId id : seats_.tags) table_.tags.push_back(*plan_.room.things[index(id)].tag);
  for (const model::ClipId id : seats_.clips)
    table_.clips.push_back(clock_.scans(clip_ms[index(id)], plan_.room.clips[index(id)].span));
  for (const model::OutputId id : seats_.outputs) add_output(id);
}

void Draft::add_input(model::InputId id) {
  const model::Input& input = plan_.input(id);
  rows::Input row;
  row.kind = kind_of(input.kind);
  const auto silence = [&](std::int64_t ms) { return clock_.scans(ms, input.span, LW_MAX_silence); };
  if (input.kind == model::InputKind::operator_button || input.kind == model::InputKind::signal) {
    // They have no terminal, so they are numbered by themselves.
    const auto same = [&](const rows::Input& other) { return other.kind == row.kind; };
    row.terminal =
        static_cast<std::uint8_t>(1 + std::count_if(table_.inputs.begin(), table_.inputs.end(), same));
  } else {
    row.terminal = input.ordinal;
    row.steady = silence(input.steady_ms);
    row.lost_after = silence(input.lost_after_ms);
  }
  if (input.kind == model::InputKind::signal) {
    // 2.7: lost with its link.
    const model::Link& link = plan_.room.links[index(*input.link)];
    row.lost_after = silence(link.lost_after_ms);
    const bool joined =
        std::find(link.joins.begin(), link.joins.end(), model::ControllerId(controller_)) != link.joins.end();
    if (!joined)
      report_.error(Code::no_link, input.span,
                    fmt::format("`{}` cannot hear `{}`: link `{}` does not join it",
                                plan_.room.controllers[controller_].name, input.name, link.name),
                    "A signal is heard by the controllers that its link joins.",
                    fmt::format("let `{}` join `{}`, or move the prop that reads `{}`.", link.name,
                                plan_.room.controllers[controller_].name, input.name));
  }
  const Shape& shape = plan_.shapes[index(id)];
  if (input.kind == model::InputKind::gauge) row.circle = shape.circle;
  row.edges = shape.edges;
  if (input.kind == model::InputKind::keypad) {
    row.gap = silence(input.gap_ms);
    row.longest = std::max<std::uint8_t>(plan_.longest_codes[index(id)], 1);
  }
  table_.inputs.push_back(std::move(row));
}

void Draft::add_output(model::OutputId id) {
  const model::Output& output = plan_.output(id);
  rows::Output row;
  row.voice = output.kind == model::OutputKind::voice;
  row.terminal = output.ordinal;
  row.rest = level(output.rest, output, output.span);
  row.odds = row.rest;
  if (output.exit) row.odds = level({model::LevelKind::released, 0, 0, {}}, output, output.span);  // 5.4
  table_.outputs.push_back(row);
}

std::uint8_t Draft::level(const model::Level& level, const model::Output& output, Span span) {
  rows::Level row;
  switch (level.kind) {
    case model::LevelKind::off:
      row.kind = rows::LevelKind::off;
      break;
    case model::LevelKind::on:
      row.kind = rows::LevelKind::on;
      break;
    case model::LevelKind::at:
      row.kind = level.percent >= 100 ? rows::LevelKind::on
                 : level.percent <= 0 ? rows::LevelKind::off
                                      : rows::LevelKind::at;
      if (row.kind == rows::LevelKind::at) row.value = static_cast<std::uint16_t>(level.percent);
      break;
    case model::LevelKind::blinking: {
      row.kind = rows::LevelKind::blinking;
      row.value = static_cast<std::uint16_t>(clock_.scans(level.period_ms, span, 65535));
      if (row.value < 2)
        report_.error(Code::out_of_range, span, "this blink is shorter than the board can show",
                      fmt::format("The board works its outputs out once every {} ms.", clock_.scan_ms()),
                      fmt::format("blink every {} ms or slower.", 2 * clock_.scan_ms()));
      break;
    }
    case model::LevelKind::released:  // 5.6
      row.kind = output.fail_safe ? rows::LevelKind::off : rows::LevelKind::on;
      break;
    case model::LevelKind::secured:
      row.kind = output.fail_safe ? rows::LevelKind::on : rows::LevelKind::off;
      break;
    case model::LevelKind::playing:
      row.kind = rows::LevelKind::playing;
      row.value = plan_.clip_row(controller_, level.clip);
      break;
  }
  const auto at = std::find_if(table_.levels.begin(), table_.levels.end(), [&](const rows::Level& other) {
    return other.kind == row.kind && other.value == row.value;
  });
  const auto n = static_cast<std::uint8_t>(at - table_.levels.begin());
  if (at == table_.levels.end()) table_.levels.push_back(row);
  return n;
}

void Draft::link() {
  rows::Link& link = table_.link;
  link.cues = static_cast<std::uint8_t>(seats_.cues.size());
  const auto part = [](std::size_t bits) { return static_cast<std::uint8_t>(bits); };
  std::uint32_t smallest = 0;
  for (const Hearing& heard : links_.heard[controller_]) {
    rows::Peer peer;
    peer.controller = static_cast<std::uint8_t>(heard.controller);
    peer.lost_after = clock_.scans(heard.lost_after_ms, heard.span, LW_MAX_silence);
    peer.input_bits = part(links_.counts[heard.controller][0]);
    peer.state_bits = part(links_.counts[heard.controller][1]);
    peer.solved_bits = part(links_.counts[heard.controller][2]);
    link.peers.push_back(peer);
    if (smallest == 0 || peer.lost_after < smallest) smallest = peer.lost_after;
  }
  // Hearing goes both ways: who hears nobody is heard by nobody.
  if (smallest != 0) link.send_every = std::max<std::uint32_t>(smallest / 3, 1);
  link.input_bits = part(links_.counts[controller_][0]);
  link.state_bits = part(links_.counts[controller_][1]);
  link.solved_bits = part(links_.counts[controller_][2]);
  for (const Bit& bit : links_.bits[controller_]) link.bits.push_back(bit.fact);
}

void Draft::session() {
  const model::Room& room = plan_.room;
  rows::Session& session = table_.session;
  if (room.session_ms != 0) session.length = clock_.scans(room.session_ms, room.span);
  if (controller_ != 0) {
    session.starts = rows::StartKind::hears;
    return;
  }
  switch (room.starts) {
    case model::SessionStart::itself:
      session.starts = rows::StartKind::itself;
      break;
    case model::SessionStart::by_operator:
      session.starts = rows::StartKind::operator_;
      break;
    case model::SessionStart::when:
      session.condition = conditions_.of(room.start_condition);
      session.starts = model::is_edge(room.start_condition) ? rows::StartKind::edge : rows::StartKind::when;
      if (room.start_hold_ms != 0) session.hold = clock_.scans(room.start_hold_ms, room.start_condition.span);
      if (session.starts == rows::StartKind::when) {
        // A device that is found, or first known, does not start a session (7.1).
        std::vector<Literal> stirs;
        conditions_.add_stirs(room.start_condition, stirs);
        session.hush = pool_.any(std::move(stirs));
        pool_.place(session.hush, room.start_condition.span);
      }
      break;
  }
  for (const model::PropId id : room.finish) {
    const Seat seat = plan_.props[index(id)];
    rows::Finish row{0, seat.row};
    if (seat.controller != 0) {
      row.where = static_cast<std::uint8_t>(1 + *links_.peer(0, seat.controller));
      row.which = links_.bit(seat.controller, {rows::FactKind::prop_solved, seat.row, 0, 0, {}});
    }
    session.finish.push_back(row);
  }
}

void Draft::number() {
  const std::vector<std::size_t> order = sequence_order();
  std::vector<SequenceNeeds> needs;
  for (const std::size_t n : order) needs.push_back({n, sequence_needs(n)});
  std::vector<Literal> roots = wanted_;
  each_literal(table_, [&](Literal& literal) { roots.push_back(literal); });
  numbering_ = pool_.number(roots, needs);
  each_literal(table_, [&](Literal& literal) { literal = numbering_.literal(literal); });

  std::vector<rows::Sequence> sequences;
  std::vector<SequencePlace> places;
  for (std::size_t k = 0; k < order.size(); ++k) {
    sequences.push_back(std::move(table_.sequences[order[k]]));
    sequences.back().derived_before = numbering_.derived_before[k];
    sequences.back().facts = numbering_.own[k];
    places.push_back(sequence_places_[order[k]]);
  }
  table_.sequences = std::move(sequences);
  sequence_places_ = std::move(places);
  sequence_rows_.resize(order.size());
  for (std::size_t k = 0; k < order.size(); ++k) sequence_rows_[order[k]] = static_cast<std::uint32_t>(k);
  for (rows::RawFact& bit : table_.link.bits) number(bit);
  table_.facts = numbering_.raw;
  table_.derived = numbering_.derived;
  limit(numbering_.names.size(), LW_MAX_facts, "facts that its conditions are made of");
}

void Draft::number(rows::RawFact& visible) const {
  if (visible.kind == rows::FactKind::sequence_in) visible.a = sequence_rows_[visible.a];
}

ControllerTable Draft::take(const SourceSet& sources) {
  ControllerTable taken;
  taken.symbols = symbols(sources);
  taken.rows = std::move(table_);
  taken.inputs = seats_.inputs;
  taken.outputs = seats_.outputs;
  taken.clips = seats_.clips;
  taken.props = seats_.props;
  taken.cues = seats_.cues;
  taken.tags = seats_.tags;
  return taken;
}

}  // namespace lw::lowering
