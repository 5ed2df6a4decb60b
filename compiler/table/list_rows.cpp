#include "table/list_rows.hpp"

#include <fmt/format.h>

#include "table/bytes_fields.hpp"

namespace lw::listing {
namespace {

using rows::InputKind;

/// "3" or "3 to 5" of the numbers from `from` to before `end`.
std::string numbers(std::size_t from, std::size_t end) {
  return ends(std::to_string(from), std::to_string(end - 1));
}

std::string group(const std::vector<rows::RawFact>& facts, std::size_t n) {
  const format::FactGroup g = format::groups_of(facts)[n];
  return fmt::format("{} of kind {}", plural(g.count, "fact"),
                     format::kFactKinds[static_cast<std::size_t>(g.kind)].name);
}

/// Without its folder, where no other file of the room is called the same.
std::string short_name(const std::vector<std::string>& files, std::size_t n) {
  const auto base = [](const std::string& path) { return path.substr(path.rfind('/') + 1); };
  for (std::size_t k = 0; k < files.size(); ++k)
    if (k != n && base(files[k]) == base(files[n])) return files[n];
  return base(files[n]);
}

std::size_t bytes_of(const rows::Sequence& r) {
  return 3u + 4u * (std::size_t{r.has_each} + r.has_gaps + r.has_within);
}

}  // namespace

std::size_t Rows::first_derived() const {
  std::size_t n = 1 + t_.facts.size();
  for (const rows::Sequence& r : t_.sequences) n += r.facts.size();
  return n;
}

std::size_t Rows::prop_of_body(std::size_t body) const {
  // A prop's bodies follow those of the prop before it.
  for (std::size_t p = t_.props.size(); p-- > 0;)
    for (const rows::State& state : t_.props[p].states)
      for (const std::uint16_t named : state.bodies)
        if (named == body) return p;
  return 0;
}

std::pair<std::size_t, std::size_t> Rows::state_of_row(std::size_t row) const {
  std::size_t prop = 0;
  while (row >= t_.props[prop].states.size()) row -= t_.props[prop++].states.size();
  return {prop, row + 1};
}

std::string Rows::count_row(const RowAt& row) const {
  using format::Section;
  switch (row.section) {
    case Section::inputs:
      return plural(t_.inputs.size(), "input");
    case Section::tags:
      return plural(t_.tags.size(), "tag");
    case Section::levels:
      return plural(t_.levels.size(), "level");
    case Section::outputs: {
      std::size_t voices = 0;
      for (const rows::Output& r : t_.outputs) voices += r.voice;
      return fmt::format("{}, {}", plural(t_.outputs.size(), "output"), plural(voices, "voice"));
    }
    case Section::clips:
      return plural(t_.clips.size(), "clip");
    case Section::timers:
      return plural(t_.timers.size(), "timer");
    case Section::counters:
      return plural(t_.counters.size(), "counter");
    case Section::facts:
      return plural(format::groups_of(t_.facts).size(), "group");
    case Section::sequences:
      return plural(t_.sequences.size(), "sequence");
    case Section::derived:
      return plural(t_.derived.size(), "derived fact");
    case Section::drives:
      return plural(t_.drives.size(), "drive");
    case Section::tails:
      return plural(t_.tails.size(), "tail");
    case Section::props:
      return plural(t_.props.size(), "prop");
    case Section::words:
      return row.index == 0 ? fmt::format("{} `ready`", t_.readies.size())
                            : fmt::format("{} `tell`", t_.tells.size());
    default: {
      std::size_t states = 0;
      for (const rows::Prop& r : t_.props) states += r.states.size();
      return plural(states, "state");
    }
  }
}

std::string Rows::input_row(std::size_t n) const {
  const rows::Input& r = t_.inputs[n];
  std::string text =
      fmt::format("{}, {} {}", w_.input(n),
                  r.kind == InputKind::operator_button
                      ? "operator button"
                      : std::string(format::kInputKinds[static_cast<std::size_t>(r.kind)].name),
                  r.terminal);
  if (r.steady != 0) text += "; steady after " + w_.duration(r.steady);
  if (r.lost_after != 0) text += "; lost after " + w_.duration(r.lost_after);
  if (r.kind == InputKind::keypad)
    text += fmt::format("; {} between keys; remembers {}", w_.duration(r.gap), plural(r.longest, "key"));
  if (r.circle != 0) text += fmt::format("; wraps at {} divisions", r.circle);
  if (r.kind != InputKind::scale && r.kind != InputKind::gauge) return text;
  text += "; " + plural(r.edges.size() + 1, "cell");
  for (std::size_t k = 0; k <= r.edges.size(); ++k)
    text += fmt::format("{} {} = {}", k == 0 ? ":" : ",", k, w_.input_value(n, k));
  return text;
}

std::string Rows::output_row(std::size_t n) const {
  const rows::Output& r = t_.outputs[n];
  std::string kind = r.voice ? "voice" : "switched or dimmed";
  if (s_ && n < s_->outputs.size() && !s_->outputs[n].kind.empty()) kind = shown(s_->outputs[n].kind);
  std::string text =
      fmt::format("{}, {} {}; at rest {}", w_.output(n), kind, r.terminal, w_.level(r.rest, n));
  if (r.odds != r.rest) text += "; at odds " + w_.level(r.odds, n);
  return text;
}

std::string Rows::sequence_row(std::size_t n) const {
  const rows::Sequence& r = t_.sequences[n];
  std::string text = w_.sequence(n) + ": ";
  if (r.has_each) {
    text += "each " + w_.literal(r.each);
    if (r.hold != 0) text += " for " + w_.duration(r.hold);
    text += ": ";
  }
  for (std::size_t k = 0; k < r.steps.size(); ++k) {
    const rows::SequenceStep& step = r.steps[k];
    if (k != 0) text += ", then ";
    if (step.gap_low != 0) text += fmt::format("no sooner than {} ", w_.duration(step.gap_low));
    if (step.gap_high != 0) text += fmt::format("within {} ", w_.duration(step.gap_high));
    text += w_.literal(r.conditions[step.condition]);
  }
  if (r.has_within) text += "; all within " + w_.duration(r.within);
  if (r.wrong_ignored) text += "; wrong ignored";
  text += "; listens while " + w_.literal(r.listens);
  if (r.hush != rows::kFalse) text += "; hushed while " + w_.literal(r.hush);
  std::size_t number = 1 + t_.facts.size();
  for (std::size_t before = 0; before < n; ++before) number += t_.sequences[before].facts.size();
  for (const rows::SequenceFact& fact : r.facts)
    text += fmt::format("; fact {}: {}", number++, w_.sequence_fact(n, fact));
  return text + "; " + arena(r.place, bytes_of(r));
}

std::string Rows::prop_row(std::size_t n) const {
  const rows::Prop& r = t_.props[n];
  const std::size_t drives = n == 0 ? 0u : t_.props[n - 1].drives_end;
  const std::size_t tails = n == 0 ? 0u : t_.props[n - 1].tails_end;
  return joined(
      {fmt::format("{}: {}", w_.prop(n), plural(r.states.size(), "state")), "starts " + w_.state(n, r.start),
       r.goal == 0 ? "scenery" : "goal " + w_.state(n, r.goal),
       r.wakes == rows::kTrue ? "wakes with the session" : "wakes when " + w_.literal(r.wakes),
       r.locals_size == 0 ? "" : "declares " + arena(r.locals, r.locals_size),
       r.age_top == 0 ? "" : fmt::format("age in {}, up to {}", arena(r.age, 4), w_.duration(r.age_top)),
       r.drives_end == drives ? "" : "drives " + numbers(drives, r.drives_end),
       r.tails_end == tails ? "" : "tails " + numbers(tails, r.tails_end)},
      "; ");
}

std::string Rows::state_row(std::size_t n) const {
  const auto [prop, state] = state_of_row(n);
  const rows::State& r = t_.props[prop].states[state - 1];
  std::vector<std::string> bodies;
  for (const std::uint16_t body : r.bodies) bodies.push_back(std::to_string(body));
  return fmt::format("{} {}{}: bod{} {}", w_.prop(prop), w_.state(prop, state), r.goal ? ", a goal" : "",
                     bodies.size() == 1 ? "y" : "ies", joined(bodies, ", "));
}

std::string Rows::body_row(const RowAt& row) const {
  const rows::Body& r = t_.bodies[row.index];
  std::size_t runs = 0;
  for (const rows::Rule& rule : r.rules) runs += rule.run_width;
  const Symbol* own = symbol(row);
  return joined(
      {fmt::format("body {}", row.index) + (own && !own->name.empty() ? ", " + shown(own->name) : ""),
       r.rules.empty() ? "" : plural(r.rules.size(), "rule"),
       r.keeps.empty() ? "" : plural(r.keeps.size(), "keep"),
       r.enter < 0 ? "" : "enter " + w_.actions(r.enter), r.leave < 0 ? "" : "leave " + w_.actions(r.leave),
       r.locals_size == 0 ? "" : "declares " + arena(r.locals, r.locals_size),
       runs == 0 ? "" : "runs in " + arena(r.runs, runs)},
      "; ");
}

std::string Rows::rule_row(const rows::Rule& r, std::size_t prop) const {
  std::string text;
  switch (r.kind) {
    case rows::RuleKind::level:
    case rows::RuleKind::edge:
      text = "when " + w_.literal(r.condition);
      if (r.n != 0) text += " for " + w_.duration(r.n);
      break;
    case rows::RuleKind::age:
      text = "after " + w_.duration(r.n);
      break;
    case rows::RuleKind::every:
      // Written one less, since its run is 0 where the age is 1.
      text = "after " + w_.duration(std::uint64_t{r.n} + 1);
      break;
  }
  if (r.a != 0) text += " again every " + w_.duration(r.a);
  if (r.actions >= 0) text += " " + w_.actions(r.actions);
  if (r.target != 0) text += " -> " + w_.state(prop, r.target);
  if (r.run_width != 0) text += fmt::format("; a run of {}", plural(r.run_width, "byte"));
  return text;
}

std::string Rows::keep_row(const rows::Keep& r) const {
  std::string text = fmt::format("keep {} {}", w_.output(r.output), w_.level(r.level, r.output));
  if (r.has_while) text += " while " + w_.literal(r.while_);
  if (r.tail < 0) return text;
  const rows::Tail& tail = t_.tails[static_cast<std::size_t>(r.tail)];
  return text + fmt::format(" then {} longer (tail {})", w_.duration(tail.length), r.tail);
}

std::string Rows::link_row() const {
  const rows::Link& r = t_.link;
  return joined(
      {plural(r.cues, "cue"),
       r.send_every == 0 ? "tells nobody" : "tells what changed, and all every " + w_.duration(r.send_every),
       fmt::format("hears {}", plural(r.peers.size(), "controller"))},
      "; ");
}

std::string Rows::peer_row(std::size_t n) const {
  const rows::Peer& r = t_.link.peers[n];
  return fmt::format("{}, lost after {}; hears {} of inputs, {} of states, {} of solved props", w_.peer(n),
                     w_.duration(r.lost_after), plural(r.input_bits, "bit"), r.state_bits, r.solved_bits);
}

std::string Rows::session_row() const {
  const rows::Session& r = t_.session;
  std::string starts;
  switch (r.starts) {
    case rows::StartKind::itself:
      starts = "starts by itself once every input is known";
      break;
    case rows::StartKind::operator_:
      starts = "starts when the operator starts it";
      break;
    case rows::StartKind::hears:
      starts = "starts when it hears of it";
      break;
    case rows::StartKind::when:
    case rows::StartKind::edge:
      starts = "starts when " + w_.literal(r.condition);
      if (r.hold != 0) starts += " for " + w_.duration(r.hold);
      if (r.starts == rows::StartKind::when && r.hush != rows::kFalse)
        starts += ", hushed while " + w_.literal(r.hush);
      starts += ", or by the operator";
      break;
  }
  std::vector<std::string> finish;
  for (const rows::Finish& f : r.finish)
    finish.push_back(f.where == 0 ? w_.prop(f.which)
                                  : fmt::format("bit {} of {}", f.which, w_.peer(f.where - 1u)));
  return joined({starts, r.length == 0 ? "without end" : "lasts " + w_.duration(r.length),
                 finish.empty() ? "" : "finished by " + joined(finish, ", ")},
                "; ");
}

/// `: "the words"` of a ready or tell.
std::string Rows::quoted(const RowAt& row) const {
  const Symbol* own = symbol(row);
  return own && !own->name.empty() ? fmt::format(": \"{}\"", shown(own->name)) : "";
}

std::string Rows::ready_row(const RowAt& row) const {
  const rows::Ready& r = t_.readies[row.index];
  std::string text = "ready when " + w_.literal(r.condition);
  if (r.hold != 0) text += fmt::format(" for {}; a run in {}", w_.duration(r.hold), arena(r.place, 4));
  return text + quoted(row);
}

std::string Rows::meaning(const RowAt& row) const {
  const std::size_t n = row.index;
  // What a fact says, and the name that the room gives it where that is another.
  const auto also = [](const std::string& words, const std::string& name) {
    return name.empty() || name == words ? words : fmt::format("{}, `{}`", words, name);
  };
  switch (row.row) {
    case Row::header:
      return {};
    case Row::count:
      return count_row(row);
    case Row::input:
      return input_row(n);
    case Row::tag:
      return w_.tag(n);
    case Row::level:
      return fmt::format("level {}: {}", n, w_.level(n));
    case Row::output:
      return output_row(n);
    case Row::clip:
      return fmt::format("{}, {}", w_.clip(n), w_.duration(t_.clips[n]));
    case Row::timer:
      return fmt::format("{}, {}; {}", w_.timer(n), w_.duration(t_.timers[n].length),
                         arena(t_.timers[n].place, 4));
    case Row::counter:
      return fmt::format("{}, {} from end to end; {}", w_.counter(n), t_.counters[n].span,
                         arena(t_.counters[n].place, 1));
    case Row::group:
      return group(t_.facts, n);
    case Row::raw:
      return fmt::format("fact {}: {}", n + 1, also(w_.raw(t_.facts[n]), w_.fact(n + 1)));
    case Row::sequence:
      return sequence_row(n);
    case Row::fact: {
      const Symbol* own = symbol(row);
      return fmt::format("fact {}: {}", first_derived() + n,
                         also(w_.derived(t_.derived[n]), own ? shown(own->name) : ""));
    }
    case Row::drive:
      return fmt::format("drive {}: {}", n,
                         also(w_.output(t_.drives[n].output), symbol(row) ? shown(symbol(row)->name) : ""));
    case Row::tail: {
      const rows::Tail& r = t_.tails[n];
      const std::size_t output = t_.drives[r.drive].output;
      return fmt::format("tail {}: {} {} for {} longer, by drive {}", n, w_.output(output),
                         w_.level(r.level, output), w_.duration(r.length), r.drive);
    }
    case Row::prop:
      return prop_row(n);
    case Row::offset: {
      const auto [prop, state] = state_of_row(n);
      return fmt::format("where the list of {} {} stands", w_.prop(prop), w_.state(prop, state));
    }
    case Row::state:
      return state_row(n);
    case Row::body:
      return body_row(row);
    case Row::rule:
      return rule_row(t_.bodies[n].rules[row.sub], prop_of_body(n));
    case Row::keep:
      return keep_row(t_.bodies[n].keeps[row.sub]);
    case Row::list:
      return fmt::format("list {}, {}", n, plural(t_.actions[n].size(), "action"));
    case Row::action:
      return w_.action(t_.actions[n][row.sub]);
    case Row::link:
      return link_row();
    case Row::peer:
      return peer_row(n);
    case Row::own:
      return fmt::format("tells {} of inputs, {} of states, {} of solved props; {}",
                         plural(t_.link.input_bits, "bit"), t_.link.state_bits, t_.link.solved_bits,
                         plural(format::groups_of(t_.link.bits).size(), "group"));
    case Row::own_group:
      return group(t_.link.bits, n);
    case Row::own_bit:
      return fmt::format("bit {}: {}", n,
                         also(w_.raw(t_.link.bits[n]), symbol(row) ? shown(symbol(row)->name) : ""));
    case Row::session:
      return session_row();
    case Row::ready:
      return ready_row(row);
    case Row::tell:
      return "tell while " + w_.literal(t_.tells[n]) + quoted(row);
  }
  return {};
}

const Symbol* Rows::symbol(const RowAt& row) const {
  if (!s_) return nullptr;
  const std::size_t n = row.index;
  switch (row.row) {
    case Row::input:
      return n < s_->inputs.size() ? &s_->inputs[n].input : nullptr;
    case Row::tag:
      return symbol_at(s_->tags, n);
    case Row::output:
      return n < s_->outputs.size() ? &s_->outputs[n].output : nullptr;
    case Row::clip:
      return symbol_at(s_->clips, n);
    case Row::timer:
      return symbol_at(s_->timers, n);
    case Row::counter:
      return symbol_at(s_->counters, n);
    case Row::raw:
      return symbol_at(s_->facts, n + 1);
    case Row::sequence:
      return symbol_at(s_->sequences, n);
    case Row::fact:
      return symbol_at(s_->facts, first_derived() + n);
    case Row::drive:
      return symbol_at(s_->drives, n);
    case Row::tail:
      return symbol_at(s_->tails, n);
    case Row::prop:
      return n < s_->props.size() ? &s_->props[n].prop : nullptr;
    case Row::state: {
      const auto [prop, state] = state_of_row(n);
      return prop < s_->props.size() ? symbol_at(s_->props[prop].states, state - 1) : nullptr;
    }
    case Row::body:
      return n < s_->bodies.size() ? &s_->bodies[n].body : nullptr;
    case Row::rule:
      return n < s_->bodies.size() ? symbol_at(s_->bodies[n].rules, row.sub) : nullptr;
    case Row::keep:
      return n < s_->bodies.size() ? symbol_at(s_->bodies[n].keeps, row.sub) : nullptr;
    case Row::own_bit:
      return symbol_at(s_->own_bits, n);
    case Row::ready:
      return symbol_at(s_->readies, n);
    case Row::tell:
      return symbol_at(s_->tells, n);
    default:
      return nullptr;
  }
}

std::string Rows::source(const RowAt& row) const {
  const Symbol* own = symbol(row);
  if (!own || own->line == 0 || own->file >= s_->files.size()) return {};
  return fmt::format("{}:{}", shown(short_name(s_->files, own->file)), own->line);
}

std::string Rows::value(const RowAt& row, const Seen& seen) const {
  using format::Field;
  const auto n = static_cast<std::size_t>(seen.value);
  const format::FieldInfo* const f = seen.field;
  const auto is = [&](Field field) { return f == &format::info(field); };
  if (f->type == format::Type::lit || is(Field::prop_wakes)) return w_.literal(static_cast<rows::Literal>(n));
  for (const Field field :
       {Field::input_steady, Field::input_lost_after, Field::input_gap, Field::clip_length,
        Field::timer_length, Field::sequence_hold, Field::sequence_gap_top, Field::sequence_within,
        Field::sequence_gap_low, Field::sequence_gap_high, Field::tail_length, Field::prop_age_top,
        Field::rule_n, Field::rule_a, Field::link_send_every, Field::peer_lost_after, Field::session_hold,
        Field::session_length, Field::ready_hold})
    if (is(field)) return w_.duration(n);
  if (is(Field::input_kind)) return std::string(format::kInputKinds[n].name);
  if (is(Field::level_kind)) return std::string(format::kLevelKinds[n].name);
  if (is(Field::output_kind)) return n == 0 ? "switched or dimmed" : "voice";
  if (is(Field::group_kind)) return std::string(format::kFactKinds[n].name);
  if (is(Field::rule_head)) return std::string(format::kRuleKinds[n & 3].name);
  if (is(Field::session_starts)) return std::string(format::kStartKinds[n].name);
  if (is(Field::output_rest) || is(Field::output_odds)) return w_.level(n, row.index);
  if (is(Field::drive_output)) return w_.output(n);
  if (is(Field::tail_level) || is(Field::keep_level)) return w_.level(n);
  if (is(Field::peer_controller)) return w_.controller(n);
  if (is(Field::prop_start) || is(Field::prop_goal)) return n == 0 ? "none" : w_.state(row.index, n);
  if (is(Field::rule_target)) return w_.state(prop_of_body(row.index), n);
  if (is(Field::keep_output)) return w_.output(n);
  if (is(Field::action_head)) {
    const format::KindInfo& kind = format::kActions[n >> 5];
    return std::string(kind.name);
  }
  if (f->row == "header" || row.row == Row::count) return {};
  if (f->name == "input") return w_.input(n);
  if (f->name == "prop") return w_.prop(n);
  if (f->name == "counter") return w_.counter(n);
  if (f->name == "timer") return w_.timer(n);
  if (f->name == "output") return w_.output(n);
  if (f->name == "peer") return w_.peer(n);
  if (f->name == "clip") return w_.clip(n);
  if (f->name == "N") return w_.duration(n);
  return {};
}

}  // namespace lw::listing
