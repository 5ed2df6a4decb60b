// Rehearsals: what is done to which device, and what is expected then.
//
// Tests: tests/unit/model/rehearsals_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

struct DeedReader {
  Workspace& work;
  Deed& deed;
  Span span;

  const Input& row(InputId id) const { return work.room.inputs[index(id)]; }

  /// The thing as it can lie on that scale or reader: by its mass, or by its tag.
  bool take_thing(const ast::Name& thing_name, const ast::Name& on) const {
    const auto thing = thing_named(work, {}, thing_name);
    const auto input =
        input_named(work, {}, on, "a scale or a reader", {InputKind::scale, InputKind::reader});
    deed.input = input;
    if (!thing || !input) return false;
    deed.thing = *thing;
    const Thing& known = work.room.things[index(*thing)];
    const bool scale = row(*input).kind == InputKind::scale;
    if (scale ? known.mass_pg.has_value() : known.tag.has_value()) return true;
    if (known.mass_pg || known.tag) {
      work.report.say(Code::wrong_kind, thing_name.span,
                      quoted(thing_name.text) + (scale ? " has no mass that a scale could weigh"
                                                       : " has no tag that a reader could read"),
                      "",
                      {scale ? "give the thing a mass after its name."
                             : "give it one: `tag \"04 A1 5C 22\"` in its braces."},
                      {{known.span, "", true}});
    }
    return false;
  }

  /// So many of the thing, no more than there are, and of a reader's one.
  void many(const ast::Number& count, const ast::Name& thing_name, const ast::Name& device,
            const std::string& done, const std::string& to_do) const {
    deed.count = count.value;
    if (!take_thing(thing_name, device)) return;
    const Thing& thing = work.room.things[index(deed.thing)];
    const bool reader = row(*deed.input).kind == InputKind::reader;
    const Span at = count.span.begin == count.span.end ? thing_name.span : count.span;
    if (deed.count < 1) {
      work.report.say(Code::out_of_range, at, "none of a thing cannot be " + done, "",
                      {"write how many are " + done + ", or leave the line out."});
    } else if (deed.count > thing.count) {
      work.report.say(Code::out_of_range, at,
                      "the room has " + std::to_string(thing.count) + " of " + quoted(thing.name), "",
                      {to_do + " as many as there are, or say how many there are with `count`."},
                      {{thing.span, "", true}});
    } else if (reader && deed.count > 1) {
      work.report.say(Code::out_of_range, at, "a reader reads one thing at a time", "", {to_do + " one."});
    }
  }

  void operator()(const std::monostate&) const {}
  void operator()(const ast::Expect& expect) const {
    deed.kind = DeedKind::expect;
    for (const ast::Cond& cond : expect.conds) {
      if (auto reading = read_for(work, {}, cond, std::nullopt, {false, "in an `expect`"})) {
        deed.expected.push_back(std::move(reading->cond));
      }
    }
  }
  void operator()(const ast::PlaceThing& place) const {
    deed.kind = DeedKind::place;
    many(place.count, place.thing, place.on, "placed", "place");
  }
  void operator()(const ast::TakeOff& take) const {
    deed.kind = DeedKind::take;
    many(take.count, take.thing, take.off, "taken", "take");
  }
  void operator()(const ast::PlaceTag& place) const {
    deed.kind = DeedKind::place_tag;
    deed.input = input_named(work, {}, place.on, "a reader", {InputKind::reader});
    if (const auto bytes = tag_of(work, place.tag)) deed.text = *bytes;
  }
  void operator()(const ast::TakeTag& take) const {
    deed.kind = DeedKind::take_tag;
    deed.input = input_named(work, {}, take.off, "a reader", {InputKind::reader});
    if (const auto bytes = tag_of(work, take.tag)) deed.text = *bytes;
  }
  void operator()(const ast::Load& load) const {
    deed.kind = DeedKind::load;
    deed.input = input_named(work, {}, load.on, "a scale", {InputKind::scale});
    if (!load.quantity) return;
    if (const auto mass = amount(work, *load.quantity, Dimension::mass, Sign::not_negative))
      deed.value = *mass;
  }
  void operator()(const ast::Press& press) const {
    deed.kind = DeedKind::press;
    deed.value = 200;
    deed.input =
        input_named(work, {}, press.button, "a button", {InputKind::button, InputKind::operator_button});
    const auto time = duration(work, {}, press.time);
    if (time) deed.value = *time;
    if (press.time && deed.input && row(*deed.input).kind == InputKind::operator_button) {
      work.report.say(Code::idle_option, span_of(*press.time), "an operator's button is pressed for one scan",
                      "", {"leave out how long."});
    }
  }
  void operator()(const ast::SetInput& set) const {
    deed.kind = DeedKind::set;
    deed.input =
        input_named(work, {}, set.input, "a contact or a signal", {InputKind::contact, InputKind::signal});
    if (!deed.input || !set.word) return;
    const Input& input = row(*deed.input);
    const bool signal = input.kind == InputKind::signal;
    const std::string high = signal ? "on" : input.closed_word;
    const std::string low = signal ? "off" : input.open_word;
    if (set.word.text == high || set.word.text == low) {
      deed.value = set.word.text == high ? 1 : 0;
      return;
    }
    const std::string near = nearest_name(set.word.text, {high, low});
    work.report.say(Code::unknown_fact, set.word.span,
                    quoted(input.name) + " cannot be set " + quoted(set.word.text),
                    "It can be set " + list_of({high, low}, "or") + ".",
                    {"write " + (near.empty() ? list_of({high, low}, "or") : quoted(near)) + "."},
                    {{input.span, "", true}});
  }
  void operator()(const ast::Turn& turn) const {
    deed.kind = DeedKind::turn;
    deed.input = input_named(work, {}, turn.gauge, "a gauge", {InputKind::gauge});
    if (!deed.input || !turn.quantity) return;
    const Input& gauge = row(*deed.input);
    if (gauge.division == 0) return;
    const auto value = amount(work, *turn.quantity, gauge.dimension, Sign::any);
    if (!value) return;
    if (*value < gauge.from || *value > gauge.to) {
      work.report.say(Code::out_of_range, turn.quantity->span,
                      quoted(gauge.name) + " goes from " + format_quantity({gauge.from, gauge.dimension}) +
                          " to " + format_quantity({gauge.to, gauge.dimension}),
                      "", {"turn it to a value between these ends."}, {{gauge.span, "", true}});
      return;
    }
    deed.value = *value - gauge.from;
  }
  void operator()(const ast::Type& type) const {
    deed.kind = DeedKind::type;
    deed.input = input_named(work, {}, type.keypad, "a keypad", {InputKind::keypad});
    if (const auto keys = keys_of(work, type.keys, false)) deed.text = *keys;
  }
  void operator()(const ast::Lose& lose) const { fall_silent(lose.what, DeedKind::lose); }
  void operator()(const ast::Restore& restore) const { fall_silent(restore.what, DeedKind::restore); }
  void fall_silent(const ast::Name& name, DeedKind kind) const {
    deed.kind = kind;
    const Workspace& here = work;
    const Symbol* symbol =
        named(work, {}, name, "a device that can be lost, a link or a controller", [&here](const Symbol& s) {
          if (s.kind == NameKind::link || s.kind == NameKind::controller) return true;
          if (s.kind != NameKind::input) return false;
          const InputKind input = here.room.inputs[s.index].kind;
          return input != InputKind::operator_button && input != InputKind::signal;
        });
    if (symbol == nullptr) return;
    if (symbol->kind == NameKind::link)
      deed.link = static_cast<LinkId>(symbol->index);
    else if (symbol->kind == NameKind::controller)
      deed.controller = static_cast<ControllerId>(symbol->index);
    else
      deed.input = static_cast<InputId>(symbol->index);
  }
  void operator()(const ast::Restart& restart) const {
    deed.kind = DeedKind::restart;
    deed.controller = controller_named(work, restart.controller);
  }
  void operator()(const ast::Delay& delay) const {
    deed.kind = DeedKind::delay;
    deed.link = link_named(work, delay.link);
    if (const auto time = duration(work, {}, delay.time, Sign::not_negative)) deed.value = *time;
  }
  void operator()(const ast::Shift& shift) const {
    deed.kind = DeedKind::shift;
    deed.controller = controller_named(work, shift.controller);
    if (const auto time = duration(work, {}, shift.time, Sign::not_negative)) deed.value = *time;
  }
  void operator()(const ast::Operator& act) const {
    switch (act.kind) {
      case ast::Operator::Kind::start:
        deed.kind = DeedKind::operator_start;
        return;
      case ast::Operator::Kind::end:
        deed.kind = DeedKind::operator_end;
        return;
      case ast::Operator::Kind::reset:
        deed.kind = DeedKind::operator_reset;
        return;
      case ast::Operator::Kind::override_prop:
        break;
    }
    deed.kind = DeedKind::operator_override;
    deed.prop = prop_named(work, act.prop);
    if (deed.prop) report_scenery(work, *deed.prop, act.prop.span);
  }
};

}  // namespace

void resolve_rehearsal(Workspace& work, const ast::Rehearsal& written, Span span) {
  Rehearsal rehearsal;
  rehearsal.span = span;
  rehearsal.title = written.title.value();
  constexpr std::int64_t kLongest = std::int64_t{1} << 60;
  work.rehearsing = true;
  std::int64_t earliest_ms = 0;  // the line before cannot have been earlier
  for (const ast::Line& line : written.lines) {
    take_accepts(work, line.accepts, line.span);
    Deed deed;
    deed.span = line.span;
    using Moment = ast::Line::Moment;
    const bool may_be_zero = line.moment == Moment::at;
    const auto time = duration(work, {}, line.time, may_be_zero ? Sign::not_negative : Sign::positive);
    deed.time_ms = time.value_or(0);
    switch (line.moment) {
      case Moment::same:
        deed.when = When::same;
        break;
      case Moment::at:
        deed.when = When::at;
        if (time && *time < earliest_ms) {
          work.report.say(Code::out_of_range, span_of(*line.time), "the line before comes later than that",
                          "Lines stand in the order in which they happen; the one before comes at " +
                              format_quantity({earliest_ms, Dimension::time}) + " at the earliest.",
                          {"move the line up, or write `after` and the time since the line before."});
        }
        earliest_ms = std::max(earliest_ms, deed.time_ms);
        break;
      case Moment::after:
        deed.when = When::after;
        earliest_ms = std::min(kLongest, earliest_ms + std::min(deed.time_ms, kLongest));
        break;
      case Moment::within:
        deed.when = When::within;
        if (line.whole && line.time && !std::holds_alternative<ast::Expect>(line.deed)) {
          work.report.say(Code::syntax, span_of(*line.time), "`within` stands before `expect` alone",
                          "What is done is done at one time.", {"write `at` or `after`."});
        }
        break;
    }
    std::visit(DeedReader{work, deed, line.span}, line.deed);
    rehearsal.deeds.push_back(std::move(deed));
  }
  work.rehearsing = false;
  work.room.rehearsals.push_back(std::move(rehearsal));
}

}  // namespace lw::model
