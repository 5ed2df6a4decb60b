// What stands in the braces of states and `in` blocks: rules, keeps, tells, actions; and `ready`.
//
// Tests: tests/unit/model/bodies_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

struct Context {
  Workspace& work;
  PropWork& prop;
  Where where;
  std::optional<Reader> reader;
};

/// The output, if it hangs at the prop's controller or is not known to hang anywhere else.
std::optional<OutputId> own_output(Context& at, const ast::Name& name, const char* wanted,
                                   std::initializer_list<OutputKind> kinds) {
  const auto output = output_named(at.work, at.where, name, wanted, kinds);
  if (!output || !at.reader) return output;
  const Output& row = at.work.room.outputs[index(*output)];
  if (row.ordinal == 0 || row.controller == at.reader->controller) return output;
  const auto controller = [&at](ControllerId id) { return quoted(at.work.room.controllers[index(id)].name); };
  at.work.report.say(Code::far_output, name.span,
                     quoted(row.name) + " hangs at " + controller(row.controller) +
                         ", and this prop lives on " + controller(at.reader->controller),
                     "A prop drives only what hangs at its own controller, so that no lost message leaves an "
                     "output as it was.",
                     {"let a prop on " + controller(row.controller) + " drive it, by a state of this one."},
                     {{row.place_span, "", true}});
  return std::nullopt;
}

void read_keep(Context& at, const ast::KeepFor& keep, Action action, std::vector<Action>& actions) {
  const auto hold = duration(at.work, at.where, keep.time);
  for (const ast::Name& name : keep.outputs) {
    const auto output = own_output(at, name, "an output", {});
    const auto level = output ? level_of(at.work, at.where, keep.level, *output) : std::nullopt;
    if (!level || !hold) continue;
    action.kind = ActionKind::keep;
    action.output = *output;
    action.level = *level;
    action.hold_ms = *hold;
    actions.push_back(action);
  }
}

void read_play(Context& at, const ast::Play& play, Action action, std::vector<Action>& actions) {
  const auto clip = clip_named(at.work, at.where, play.clip);
  const auto voice = own_output(at, play.voice, "a voice", {OutputKind::voice});
  if (play.loudness) {
    const auto loudness = percent(at.work, *play.loudness);
    if (!loudness) return;
    if (*loudness == 0) {
      at.work.report.say(Code::out_of_range, play.loudness->span, "a clip at 0 % is not heard", "",
                         {"write 1 % to 100 %, or `quiet` to stop what plays."});
      return;
    }
    action.percent = *loudness;
  }
  if (!clip || !voice) return;
  action.kind = ActionKind::play;
  action.clip = *clip;
  action.output = *voice;
  actions.push_back(action);
}

void read_timer(Context& at, const ast::Name& name, ActionKind kind, Action action,
                std::vector<Action>& actions) {
  const Symbol* timer = own_named(at.work, at.where, name, NameKind::timer);
  if (timer == nullptr) return;
  action.kind = kind;
  action.timer = static_cast<TimerId>(timer->index);
  actions.push_back(action);
}

/// `n` goes to the counter (set) or into it (add, take): it must fit between its ends.
void read_counter(Context& at, const ast::Name& name, const ast::Number& n, ActionKind kind, Action action,
                  std::vector<Action>& actions) {
  const Symbol* symbol = own_named(at.work, at.where, name, NameKind::counter);
  if (symbol == nullptr) return;
  const Counter& counter = at.work.room.props[index(at.prop.id)].counters[symbol->index];
  if (counter.low == counter.high) return;  // its ends were reported
  const bool set = kind == ActionKind::set;
  const std::int64_t low = set ? counter.low : 1;
  const std::int64_t high = set ? counter.high : counter.high - counter.low;
  if (n.value < low || n.value > high) {
    at.work.report.say(
        Code::out_of_range, n.span, quoted(name.text) + " does not go so far",
        "It counts from " + std::to_string(counter.low) + " to " + std::to_string(counter.high) + ".",
        {set ? "write a number from " + std::to_string(low) + " to " + std::to_string(high) + "."
             : "write a step of " + std::to_string(low) + " to " + std::to_string(high) +
                   ", or give the counter a higher end."},
        {{counter.span, "", true}});
    return;
  }
  action.kind = kind;
  action.counter = static_cast<CounterId>(symbol->index);
  action.n = n.value;
  actions.push_back(action);
}

void read_send(Context& at, const ast::Send& send, Action action, std::vector<Action>& actions) {
  const Symbol* symbol =
      named(at.work, at.where, send.cue, "a cue", [](const Symbol& s) { return s.kind == NameKind::cue; });
  if (symbol == nullptr) return;
  const Cue& cue = at.work.room.cues[symbol->index];
  const Link& link = at.work.room.links[index(cue.link)];
  if (at.reader &&
      std::find(link.joins.begin(), link.joins.end(), at.reader->controller) == link.joins.end()) {
    at.work.report.say(
        Code::no_link, send.cue.span,
        "the cue " + quoted(cue.name) + " cannot be sent from " +
            quoted(at.work.room.controllers[index(at.reader->controller)].name),
        "It goes over the link " + quoted(link.name) + ", which does not join that controller.",
        {"join it: name it in the `link` statement."}, {{link.span, "", true}});
    return;
  }
  action.kind = ActionKind::send;
  action.cue = static_cast<CueId>(symbol->index);
  actions.push_back(action);
}

void read_actions(Context& at, const std::vector<ast::Action>& written, std::vector<Action>& actions) {
  for (const ast::Action& line : written) {
    Action action;
    action.span = line.span;
    if (const auto* keep = std::get_if<ast::KeepFor>(&line.form))
      read_keep(at, *keep, action, actions);
    else if (const auto* play = std::get_if<ast::Play>(&line.form))
      read_play(at, *play, action, actions);
    else if (const auto* start = std::get_if<ast::StartTimer>(&line.form))
      read_timer(at, start->timer, ActionKind::start, action, actions);
    else if (const auto* stop = std::get_if<ast::StopTimer>(&line.form))
      read_timer(at, stop->timer, ActionKind::stop, action, actions);
    else if (const auto* add = std::get_if<ast::AddTo>(&line.form))
      read_counter(at, add->counter, add->count, ActionKind::add, action, actions);
    else if (const auto* take = std::get_if<ast::TakeFrom>(&line.form))
      read_counter(at, take->counter, take->count, ActionKind::take, action, actions);
    else if (const auto* set = std::get_if<ast::SetTo>(&line.form))
      read_counter(at, set->counter, set->count, ActionKind::set, action, actions);
    else if (const auto* send = std::get_if<ast::Send>(&line.form))
      read_send(at, *send, action, actions);
    else if (const auto* quiet = std::get_if<ast::Quiet>(&line.form)) {
      if (const auto voice = own_output(at, quiet->voice, "a voice", {OutputKind::voice})) {
        action.kind = ActionKind::quiet;
        action.output = *voice;
        actions.push_back(action);
      }
    }
  }
}

void read_target(Context& at, const std::optional<ast::Name>& name, Rule& rule) {
  if (!name) return;
  const Symbol* state = own_named(at.work, at.where, *name, NameKind::state);
  if (state != nullptr) rule.target = static_cast<StateId>(state->index);
}

struct LineReader {
  Context& at;
  Body& body;
  Span span;

  void operator()(const ast::When& when) const {
    Rule rule;
    rule.span = span;
    auto reading = read_held(at.work, at.where, when.held, at.reader, {true, ""}, rule.hold_ms);
    if (const auto again = duration(at.work, at.where, when.again)) rule.again_ms = *again;
    if (reading && reading->edge && when.again) report_edge(at.work, *reading->edge, "with `again every`");
    read_actions(at, when.actions, rule.actions);
    read_target(at, when.target, rule);
    if (reading) rule.condition = std::move(reading->cond);
    body.rules.push_back(std::move(rule));
  }
  void operator()(const ast::After& after) const {
    Rule rule;
    rule.span = span;
    rule.after = true;
    if (const auto time = duration(at.work, at.where, after.time)) rule.hold_ms = *time;
    if (const auto again = duration(at.work, at.where, after.again)) rule.again_ms = *again;
    read_actions(at, after.actions, rule.actions);
    read_target(at, after.target, rule);
    body.rules.push_back(std::move(rule));
  }
  void operator()(const ast::Keep& keep) const {
    Keep row;
    row.span = span;
    if (keep.condition) {
      if (auto reading = read_for(at.work, at.where, *keep.condition, at.reader, {false, "under `while`"})) {
        row.while_ = std::move(reading->cond);
      }
    }
    if (const auto longer = duration(at.work, at.where, keep.longer)) row.longer_ms = *longer;
    for (const ast::Name& name : keep.outputs) {
      const auto output = own_output(at, name, "an output", {});
      const auto level = output ? level_of(at.work, at.where, keep.level, *output) : std::nullopt;
      if (!level) continue;
      row.output = *output;
      row.level = *level;
      body.keeps.push_back(row);
    }
  }
  void operator()(const ast::Tell& tell) const {
    Tell row;
    row.span = span;
    row.words = tell.text.value();
    if (tell.condition) {
      if (auto reading = read_for(at.work, at.where, *tell.condition, at.reader,
                                  {false, "under the `while` of a `tell`"})) {
        row.while_ = std::move(reading->cond);
      }
    }
    body.tells.push_back(std::move(row));
  }
  void operator()(const ast::Enter& enter) const { read_actions(at, enter.actions, body.enter); }
  void operator()(const ast::Leave& leave) const { read_actions(at, leave.actions, body.leave); }
  // Read where they are named, or with the prop's values.
  void operator()(const ast::Let& let) const { (void)let; }
  void operator()(const ast::Window& window) const { (void)window; }
  void operator()(const ast::Timer& timer) const { (void)timer; }
  void operator()(const ast::Counter& counter) const { (void)counter; }
  void operator()(const ast::Sequence& sequence) const { (void)sequence; }
};

std::nullopt_t wrong_level(Workspace& work, const ast::Level& level, const Output& output,
                           const char* takes) {
  const std::string kind = std::string(kind_phrase(output.kind)).substr(2);
  work.report.say(Code::wrong_level, level.span,
                  "the " + kind + " " + quoted(output.name) + " cannot be " + quoted(work.text(level.span)),
                  "", {std::string("it can be ") + takes + "."}, {{output.span, "", true}});
  return std::nullopt;
}

const char* levels_of(OutputKind kind) {
  switch (kind) {
    case OutputKind::lamp:
    case OutputKind::motor:
      return "`on`, `off`, `at 40 %` or `blinking every 1 s`";
    case OutputKind::relay:
      return "`on`, `off` or `blinking every 1 s`";
    case OutputKind::lock:
      return "`released` or `secured`";
    case OutputKind::voice:
      return "`playing` a clip";
  }
  return "";
}

}  // namespace

std::optional<Level> level_of(Workspace& work, const Where& where, const ast::Level& written, OutputId id) {
  if (written.span.begin == written.span.end) return std::nullopt;  // could not be read
  const Output& output = work.room.outputs[index(id)];
  const bool lock = output.kind == OutputKind::lock;
  const bool voice = output.kind == OutputKind::voice;
  const auto refuse = [&] { return wrong_level(work, written, output, levels_of(output.kind)); };
  Level level;
  switch (written.kind) {
    case ast::Level::Kind::on:
    case ast::Level::Kind::off:
      if (lock) {
        report_polarity(work, written.span, output, output.name);
        return std::nullopt;
      }
      if (voice) return refuse();
      level.kind = written.kind == ast::Level::Kind::on ? LevelKind::on : LevelKind::off;
      return level;
    case ast::Level::Kind::released:
    case ast::Level::Kind::secured:
      if (voice) return refuse();
      if (!lock) {
        report_polarity(work, written.span, output, output.name);
        return std::nullopt;
      }
      level.kind = written.kind == ast::Level::Kind::released ? LevelKind::released : LevelKind::secured;
      return level;
    case ast::Level::Kind::at: {
      if (output.kind != OutputKind::lamp && output.kind != OutputKind::motor) return refuse();
      const auto share = percent(work, written.percent);
      if (!share) return std::nullopt;
      level.kind = *share == 0 ? LevelKind::off : *share == 100 ? LevelKind::on : LevelKind::at;
      if (level.kind == LevelKind::at) level.percent = *share;
      return level;
    }
    case ast::Level::Kind::blinking: {
      if (lock || voice) return refuse();
      const auto every = duration(work, where, written.every);
      if (!every) return std::nullopt;
      level.kind = LevelKind::blinking;
      level.period_ms = *every;
      return level;
    }
    case ast::Level::Kind::playing: {
      if (!voice) return refuse();
      const auto clip = clip_named(work, where, written.clip);
      if (!clip) return std::nullopt;
      level.kind = LevelKind::playing;
      level.clip = *clip;
      return level;
    }
  }
  return std::nullopt;
}

void resolve_bodies(Workspace& work, PropWork& prop) {
  const Reporter::Within within(work.report, prop.used_at);
  Prop& room_prop = work.room.props[index(prop.id)];
  std::optional<Reader> reader;
  if (prop.placed) reader = Reader{room_prop.controller, room_prop.span};
  for (const ast::Part& part : *prop.parts) {
    const auto* ready = std::get_if<ast::Ready>(&part.form);
    if (ready == nullptr) continue;
    Ready row;
    row.span = part.span;
    row.words = ready->text.value();
    auto reading = read_held(work, {&prop, {}}, ready->held, reader, {false, "in a `ready`"}, row.hold_ms);
    if (!reading) continue;
    row.condition = std::move(reading->cond);
    room_prop.readies.push_back(std::move(row));
  }
  for (std::size_t i = 0; i < prop.bodies.size(); ++i) {
    Context at{work, prop, {&prop, static_cast<BodyId>(i)}, reader};
    for (const ast::Inside& inside : *prop.bodies[i].insides) {
      std::visit(LineReader{at, room_prop.bodies[i], inside.span}, inside.form);
    }
  }
}

}  // namespace lw::model
