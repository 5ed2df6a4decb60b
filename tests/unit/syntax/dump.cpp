// The tree of a room as text: see dump.hpp.
#include "dump.hpp"

#include "text/quantity.hpp"

namespace syntax_test {
namespace {

namespace ast = lw::ast;

struct Dump {
  std::string out;

  void word(const std::string& text) {
    if (!out.empty() && out.back() != '(' && out.back() != '{' && out.back() != '[') out += ' ';
    out += text;
  }
  void open(const char* what) { word(std::string("(") + what); }
  void close() { out += ")"; }

  void put(const ast::Name& name) { word(name.text.empty() ? "?" : std::string(name.text)); }
  void put(const ast::Text& text) { word("\"" + text.value() + "\""); }
  void put(const ast::Terminal& terminal) { word("#" + std::string(terminal.text)); }
  void put(const ast::Number& number) { word(std::to_string(number.value)); }
  void put(const ast::Quantity& quantity) { word(lw::format_quantity(quantity.value)); }
  void put(const ast::Percent& percent) { word(std::to_string(percent.millionths) + " ppm"); }
  void put(std::monostate) {}
  template <typename... Kinds>
  void put(const std::variant<Kinds...>& value) {
    std::visit([this](const auto& one) { this->put(one); }, value);
  }
  template <typename Kind>
  void put(const std::optional<Kind>& value) {
    if (value) put(*value);
  }
  template <typename Kind>
  void put(const std::vector<Kind>& list) {
    for (const Kind& one : list) put(one);
  }
  template <typename Kind>
  void put_as(const char* what, const std::optional<Kind>& value) {
    if (!value) return;
    word(what);
    put(*value);
  }

  void put(const ast::Accept& accept) {
    open("accept");
    put(accept.code);
    put(accept.reason);
    close();
  }

  void put(const ast::Fact& fact) {
    std::string subject(fact.subject.text);
    if (fact.member) subject += "." + std::string(fact.member->text);
    word(subject);
    if (fact.predicate == ast::Predicate::bare) return;
    static const char* const kNames[] = {
        "",    "",       ":reads", ":reads-nothing", ":reads-anything", ":reads-anything-but", ":enters",
        ":is", ":above", ":below", ":past",          ":has-left",       ":blinking",           ":at",
        ":on", ":off"};
    const auto predicate = static_cast<std::size_t>(fact.predicate);
    if (fact.predicate == ast::Predicate::word) {
      put(fact.word);
    } else {
      word(kNames[predicate]);
    }
    put(fact.operand);
  }
  void put(const ast::Cond& cond) {
    using Kind = ast::Cond::Kind;
    if (cond.kind == Kind::fact) {
      open("is");
      put(cond.fact);
      close();
      return;
    }
    static const char* const kNames[] = {"", "not", "and", "or", "any", "exactly"};
    open(kNames[static_cast<std::size_t>(cond.kind)]);
    if (cond.kind == Kind::any || cond.kind == Kind::exactly) put(cond.count);
    put(cond.terms);
    close();
  }
  void put(const ast::Held& held) {
    put(held.cond);
    put_as("for", held.time);
  }
  void put(const ast::Level& level) {
    static const char* const kNames[] = {"on", "off", "released", "secured", "at", "blinking", "playing"};
    word(kNames[static_cast<std::size_t>(level.kind)]);
    if (level.kind == ast::Level::Kind::at) put(level.percent);
    put(level.every);
    if (level.kind == ast::Level::Kind::playing) put(level.clip);
  }

  void put(const ast::KeepFor& keep) {
    word("keep");
    put(keep.outputs);
    put(keep.level);
    put_as("for", keep.time);
  }
  void put(const ast::Play& play) {
    word("play");
    put(play.clip);
    put(play.voice);
    put_as("at", play.loudness);
  }
  void put(const ast::Quiet& quiet) {
    word("quiet");
    put(quiet.voice);
  }
  void put(const ast::StartTimer& start) {
    word("start");
    put(start.timer);
  }
  void put(const ast::StopTimer& stop) {
    word("stop");
    put(stop.timer);
  }
  void put(const ast::AddTo& add) {
    word("add");
    put(add.count);
    put(add.counter);
  }
  void put(const ast::TakeFrom& take) {
    word("take");
    put(take.count);
    put(take.counter);
  }
  void put(const ast::SetTo& set) {
    word("set");
    put(set.counter);
    put(set.count);
  }
  void put(const ast::Send& send) {
    word("send");
    put(send.cue);
  }
  void put(const ast::Action& action) {
    word("{");
    put(action.form);
    out += "}";
  }

  void put(const ast::ValuePair& pair) {
    put(pair.first);
    put(pair.second);
  }
  void put(const ast::Terminals& terminals) {
    put(terminals.first);
    put_as("to", terminals.last);
    put_as("up to", terminals.up_to);
  }
  void put(const ast::Starts& starts) {
    if (starts.when) {
      put(*starts.when);
    } else {
      word("by-operator");
      put(starts.label);
    }
  }
  void put(const ast::Option& option) {
    word("{" + std::string(ast::option_words(option.kind)));
    put(option.value);
    out += "}";
  }

  void put(const ast::Let& let) {
    open("let");
    put(let.name);
    put(let.value);
    close();
  }
  void put(const ast::Edge& edge) {
    if (std::holds_alternative<std::monostate>(edge.value)) word("empty");
    put(edge.value);
  }
  void put(const ast::Addend& addend) {
    if (addend.count != 1) word(std::to_string(addend.count) + " x");
    put(addend.value);
  }
  void put(const ast::Window& window) {
    open("window");
    put(window.name);
    put(window.input);
    using Kind = ast::Range::Kind;
    const ast::Range& range = window.range;
    static const char* const kNames[] = {"above", "below", "between", "±", "±", "to"};
    if (range.kind == Kind::above || range.kind == Kind::below || range.kind == Kind::between) {
      word(kNames[static_cast<std::size_t>(range.kind)]);
      if (range.kind != Kind::below) put(range.low);
      if (range.kind != Kind::above) put(range.high);
    } else {
      for (std::size_t i = 0; i < range.sum.size(); ++i) {
        if (i > 0) word("+");
        put(range.sum[i]);
      }
      word(kNames[static_cast<std::size_t>(range.kind)]);
      put(range.quantity);
      put(range.of_target);
    }
    close();
  }
  void put(const ast::Timer& timer) {
    open("timer");
    put(timer.name);
    put(timer.time);
    close();
  }
  void put(const ast::Counter& counter) {
    open("counter");
    put(counter.name);
    put(counter.low);
    put(counter.high);
    close();
  }
  void put(const ast::Gap& gap) {
    word("[");
    put(gap.first);
    word(gap.spread ? "±" : "to");
    put(gap.second);
    out += "]";
  }
  void put(const ast::Sequence& sequence) {
    open("sequence");
    put(sequence.name);
    put_as("each", sequence.each);
    put(sequence.steps);
    put(sequence.options);
    close();
  }

  void put(const ast::Keep& keep) {
    open("keep");
    put(keep.outputs);
    put(keep.level);
    put_as("while", keep.condition);
    put_as("longer", keep.longer);
    close();
  }
  void put(const ast::Tell& tell) {
    open("tell");
    put(tell.text);
    put_as("while", tell.condition);
    close();
  }
  void put(const ast::Enter& enter) {
    open("enter");
    put(enter.actions);
    close();
  }
  void put(const ast::Leave& leave) {
    open("leave");
    put(leave.actions);
    close();
  }
  void put(const ast::When& when) {
    open("when");
    put(when.held);
    put_as("again", when.again);
    put(when.actions);
    put_as("->", when.target);
    close();
  }
  void put(const ast::After& after) {
    open("after");
    put(after.time);
    put_as("again", after.again);
    put(after.actions);
    put_as("->", after.target);
    close();
  }
  void put(const ast::Inside& line) {
    put(line.accepts);
    put(line.form);
    if (!line.whole) out += "!";
  }
  void put(const ast::Ready& ready) {
    open("ready");
    put(ready.held);
    put(ready.text);
    close();
  }
  void put(const ast::In& in) {
    open("in");
    if (in.every) word("every-state");
    put(in.states);
    put(in.body);
    close();
  }
  void put(const ast::State& state) {
    open("state");
    put(state.name);
    if (state.start) word("start");
    if (state.goal) word("goal");
    put(state.body);
    close();
  }
  void put(const ast::Takes& takes) {
    open("takes");
    for (const ast::Takes::Place& place : takes.places) {
      word("[");
      put(place.kind);
      put(place.name);
      put(place.unless_given);
      out += "]";
    }
    close();
  }
  void put(const ast::Part& part) {
    put(part.accepts);
    put(part.form);
    if (!part.whole) out += "!";
  }

  void put(const ast::Use& use) {
    open("use");
    put(use.path);
    close();
  }
  void put(const ast::Room& room) {
    open("room");
    put(room.title);
    put(room.options);
    close();
  }
  void put(const ast::Board& board) {
    open("board");
    put(board.name);
    put(board.options);
    close();
  }
  void put(const ast::Controller& controller) {
    open("controller");
    put(controller.name);
    put(controller.board);
    put(controller.options);
    close();
  }
  void put(const ast::Link& link) {
    open("link");
    put(link.name);
    put(link.joins);
    put(link.options);
    close();
  }
  void put(const ast::Thing& thing) {
    open("thing");
    put(thing.name);
    put(thing.mass);
    put_as("±", thing.tolerance);
    put(thing.options);
    close();
  }
  void put(const ast::Names& names) {
    put(names.first);
    put_as("to", names.last);
  }
  void put(const ast::Hangs& hangs) {
    using Kind = ast::Hangs::Kind;
    switch (hangs.kind) {
      case Kind::missing:
        word("nowhere");
        return;
      case Kind::at:
        word("at");
        put(hangs.on);
        put(hangs.first);
        put_as("to", hangs.last);
        return;
      case Kind::by_operator:
        word("by-operator");
        put(hangs.text);
        return;
      case Kind::over:
        word("over");
        put(hangs.on);
        put(hangs.text);
        return;
    }
  }
  void put(const ast::Input& input) {
    static const char* const kNames[] = {"scale", "gauge", "contact", "button", "reader", "keypad", "signal"};
    open(kNames[static_cast<std::size_t>(input.kind)]);
    put(input.names);
    put(input.hangs);
    put(input.options);
    close();
  }
  void put(const ast::Output& output) {
    static const char* const kNames[] = {"lamp", "relay", "motor", "lock", "voice"};
    open(kNames[static_cast<std::size_t>(output.kind)]);
    put(output.names);
    put(output.hangs);
    put(output.options);
    close();
  }
  void put(const ast::Clip& clip) {
    open("clip");
    put(clip.name);
    put(clip.path);
    close();
  }
  void put(const ast::Cue& cue) {
    open("cue");
    put(cue.name);
    put(cue.link);
    put(cue.text);
    close();
  }
  void put(const ast::Design& design) {
    open("design");
    put(design.name);
    put(design.parts);
    close();
  }
  void put(const ast::Prop& prop) {
    open("prop");
    put(prop.name);
    put_as("is", prop.design);
    word("on");
    put(prop.controller);
    for (const ast::Given& given : prop.given) {
      word("[");
      put(given.place);
      put(given.value);
      out += "]";
    }
    put(prop.parts);
    close();
  }
  void put(const ast::Chain& chain) {
    open("chain");
    for (const ast::Chain::Way& way : chain.ways) {
      word("[");
      put(way.cond);
      for (const ast::Name& prop : way.props) {
        word("->");
        put(prop);
      }
      out += "]";
    }
    close();
  }
  void put(const ast::Never& never) {
    word("never");
    put(never.cond);
  }
  void put(const ast::CanReach& reach) {
    word("can-reach");
    put(reach.cond);
  }
  void put(const ast::NotBefore& before) {
    word("finish-not-before");
    put(before.time);
  }
  void put(const ast::ThenWithin& then) {
    put(then.first);
    word("then");
    put(then.then);
    word("within");
    put(then.time);
  }
  void put(const ast::Promise& promise) {
    open("promise");
    put(promise.title);
    put(promise.form);
    close();
  }

  void put(const ast::Expect& expect) {
    word("expect");
    put(expect.conds);
  }
  void put(const ast::PlaceThing& place) {
    word("place " + std::to_string(place.count.value) + " x");
    put(place.thing);
    put(place.on);
  }
  void put(const ast::TakeOff& take) {
    word(take.count.value == 1 ? "take" : "take " + std::to_string(take.count.value) + " x");
    put(take.thing);
    put(take.off);
  }
  void put(const ast::PlaceTag& place) {
    word("place-tag");
    put(place.tag);
    put(place.on);
  }
  void put(const ast::TakeTag& take) {
    word("take-tag");
    put(take.tag);
    put(take.off);
  }
  void put(const ast::Load& load) {
    word("load");
    put(load.quantity);
    put(load.on);
  }
  void put(const ast::Press& press) {
    word("press");
    put(press.button);
    put_as("for", press.time);
  }
  void put(const ast::SetInput& set) {
    word("set");
    put(set.input);
    put(set.word);
  }
  void put(const ast::Turn& turn) {
    word("turn");
    put(turn.gauge);
    put(turn.quantity);
  }
  void put(const ast::Type& type) {
    word("type");
    put(type.keys);
    put(type.keypad);
  }
  void put(const ast::Lose& lose) {
    word("lose");
    put(lose.what);
  }
  void put(const ast::Restore& restore) {
    word("restore");
    put(restore.what);
  }
  void put(const ast::Restart& restart) {
    word("restart");
    put(restart.controller);
  }
  void put(const ast::Delay& delay) {
    word("delay");
    put(delay.link);
    put(delay.time);
  }
  void put(const ast::Shift& shift) {
    word("shift");
    put(shift.controller);
    put(shift.time);
  }
  void put(const ast::Operator& deed) {
    static const char* const kNames[] = {"operator-start", "operator-end", "operator-reset",
                                         "operator-override"};
    word(kNames[static_cast<std::size_t>(deed.kind)]);
    if (deed.kind == ast::Operator::Kind::override_prop) put(deed.prop);
  }
  void put(const ast::Line& line) {
    static const char* const kNames[] = {"[same", "[at", "[after", "[within"};
    put(line.accepts);
    word(kNames[static_cast<std::size_t>(line.moment)]);
    put(line.time);
    put(line.deed);
    out += "]";
    if (!line.whole) out += "!";
  }
  void put(const ast::Rehearsal& rehearsal) {
    open("rehearsal");
    put(rehearsal.title);
    put(rehearsal.lines);
    close();
  }
};

}  // namespace

std::string dump(const lw::ast::File& file) {
  std::string text;
  for (const lw::ast::Statement& statement : file.statements) {
    Dump dump;
    dump.put(statement.accepts);
    dump.put(statement.form);
    if (!statement.whole) dump.out += "!";
    text += dump.out + "\n";
  }
  return text;
}

}  // namespace syntax_test
