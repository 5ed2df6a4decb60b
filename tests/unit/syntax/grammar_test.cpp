// The grammar proved: no rule loops without consuming, and every form and option that findings show as an
// example reads.
#include <doctest/doctest.h>

#include <cstring>
#include <set>
#include <tao/pegtl.hpp>
#include <tao/pegtl/contrib/analyze.hpp>

#include "grammar/latch.hpp"
#include "grammar/messages.hpp"
#include "support.hpp"
#include "syntax/option_table.hpp"
#include "syntax/wording.hpp"

namespace {

using lw::ast::OptionKind;
using lw::grammar::Form;
using lw::grammar::Level;
using syntax_test::Parsed;

// A room of this one form.
std::string room_of(Level level, std::string_view form) {
  const std::string text(form);
  switch (level) {
    case Level::statement:
      return text.rfind("language", 0) == 0 ? text : "language 1\n" + text;
    case Level::part:
      return "language 1\n" + std::string(text.rfind("takes", 0) == 0 ? "design" : "prop") +
             (text.rfind("takes", 0) == 0 ? " d {\n" : " p on front {\n") + text + "\n}";
    case Level::inside:
      return "language 1\nprop p on front { state s {\n" + text + "\n} }";
    case Level::action:
      return "language 1\nprop p on front { state s { enter {\n" + text + "\n} } }";
    case Level::line:
      return "language 1\nrehearsal \"r\" {\n" + text + "\n}";
    case Level::fact:
      return "language 1\nlet l be " + text;
    default:
      return text;
  }
}

const Form kForms[] = {
#define LW_FORM(level, word, form, example) {Level::level, lw::grammar::w_##word, form, example},
#include "grammar/forms.def"
};

struct OptionRow {
  OptionKind kind;
  const char* written;
  const char* shape;
};
const OptionRow kOptions[] = {
#define LW_OPTION(kind, written, shape) {OptionKind::kind, written, #shape},
#include "grammar/options.def"
};
struct TakesRow {
  const char* of;
  OptionKind kind;
};
const TakesRow kTakes[] = {
#define LW_TAKES(of, kind, need) {#of, OptionKind::kind},
#include "grammar/options.def"
};
struct ExampleRow {
  OptionKind kind;
  const char* example;
};
const ExampleRow kExamples[] = {
#define LW_EXAMPLE(kind, example) {OptionKind::kind, example},
#include "grammar/forms.def"
};

// The options of a room in which `option` stands in the braces of `of`.
lw::ast::Options options_of(const std::string& of, const std::string& option, std::string& told) {
  std::string text = "language 1\n";
  if (of == "room") text += "room \"r\" { " + option + " }";
  if (of == "board") text += "board b { " + option + " }";
  if (of == "controller") text += "controller c is b { " + option + " }";
  if (of == "link") text += "link l joins a, b { " + option + " }";
  if (of == "thing") text += "thing t 5 g { " + option + " }";
  if (of == "sequence") text += "prop p on c { sequence s: a, b { " + option + " } }";
  if (text.size() == std::strlen("language 1\n")) text += of + " d at c.T1 { " + option + " }";
  const Parsed parsed(text);
  told = syntax_test::told(parsed);
  REQUIRE(parsed.file.statements.size() == 1);
  const auto& form = parsed.file.statements[0].form;
  if (const auto* room = std::get_if<lw::ast::Room>(&form)) return room->options;
  if (const auto* board = std::get_if<lw::ast::Board>(&form)) return board->options;
  if (const auto* controller = std::get_if<lw::ast::Controller>(&form)) return controller->options;
  if (const auto* link = std::get_if<lw::ast::Link>(&form)) return link->options;
  if (const auto* thing = std::get_if<lw::ast::Thing>(&form)) return thing->options;
  if (const auto* input = std::get_if<lw::ast::Input>(&form)) return input->options;
  if (const auto* output = std::get_if<lw::ast::Output>(&form)) return output->options;
  const auto* prop = std::get_if<lw::ast::Prop>(&form);
  REQUIRE(prop != nullptr);
  const auto* sequence = std::get_if<lw::ast::Sequence>(&prop->parts.at(0).form);
  REQUIRE(sequence != nullptr);
  return sequence->options;
}

// The alternative of OptionValue that a shape stands for, as grammar/options.def says.
std::size_t alternative_of(const std::string& shape) {
  using lw::ast::OptionValue;
  if (shape == "flag") return 0;
  if (shape == "time" || shape == "quantity") return 1;
  if (shape == "pair") return 2;
  if (shape == "text") return 3;
  if (shape == "texts") return 4;
  if (shape == "count") return 5;
  if (shape == "word") return 6;
  if (shape == "names") return 7;
  if (shape == "level") return 8;
  if (shape == "terminals") return 9;
  CHECK(shape == "starts");
  return 10;
}

}  // namespace

TEST_CASE("no rule of the grammar loops without consuming") {
  CHECK(tao::pegtl::analyze<lw::grammar::file>(1) == 0);
  namespace written = lw::grammar::written;
  CHECK(
      tao::pegtl::analyze<tao::pegtl::sor<written::blank, written::comment, written::name, written::fail_safe,
                                          written::fail_secure, written::terminal, written::text,
                                          written::digits, written::fraction, written::unit, written::percent,
                                          written::plus_minus, written::arrow, written::times>>(1) == 0);
}

TEST_CASE("the example of every form reads") {
  for (const Form& form : kForms) {
    if (form.word == lw::grammar::w_accept) continue;  // stands before a form, see below
    const std::string example(form.example);
    CAPTURE(example);
    CHECK(syntax_test::told(Parsed(room_of(form.level, form.example))) == "");
  }
  CHECK(syntax_test::told(Parsed("language 1\naccept overlap \"both lamps are meant\"\nclip a \"b\"")) == "");
}

TEST_CASE("the example of every form begins with its word, and so does the form") {
  for (const Form& form : kForms) {
    if (form.level == Level::fact) continue;
    const std::string word(lw::syntax::written(form.word));
    CAPTURE(word);
    CHECK(form.form.substr(0, word.size()) == word);
    CHECK(form.example.substr(0, word.size()) == word);
  }
}

TEST_CASE("every statement, part, line, action and deed of the grammar has its form") {
  // What the grammar names as an ending begins something; what begins something has a form to show.
  std::set<std::string> words;
  for (const Form& form : kForms) words.insert(std::string(lw::syntax::written(form.word)));
  for (const char* word :
       {"language", "use",    "room",   "board",   "controller", "link",     "thing", "scale",   "gauge",
        "contact",  "button", "reader", "keypad",  "signal",     "lamp",     "relay", "motor",   "lock",
        "voice",    "clip",   "cue",    "let",     "design",     "prop",     "chain", "promise", "rehearsal",
        "accept",   "takes",  "window", "timer",   "counter",    "sequence", "state", "in",      "ready",
        "enter",    "leave",  "keep",   "tell",    "when",       "after",    "play",  "quiet",   "start",
        "stop",     "add",    "take",   "set",     "send",       "expect",   "place", "load",    "press",
        "turn",     "type",   "lose",   "restore", "restart",    "delay",    "shift", "operator"}) {
    CAPTURE(word);
    CHECK(words.count(word) == 1);
  }
}

TEST_CASE("every option reads with its example, as the kind and the shape that options.def gives it") {
  for (const OptionRow& row : kOptions) {
    const std::string written = row.written;
    CAPTURE(written);
    std::string example;
    for (const ExampleRow& one : kExamples) {
      if (one.kind == row.kind) example = one.example;
    }
    CHECK(example.rfind(row.written, 0) == 0);
    if (row.kind == OptionKind::starts) CHECK(example == "starts by operator");
    std::string of;
    for (const TakesRow& one : kTakes) {
      if (one.kind == row.kind) of = one.of;
    }
    REQUIRE(of != "");
    std::string told;
    const lw::ast::Options options = options_of(of, example, told);
    CHECK(told == "");
    REQUIRE(options.size() == 1);
    CHECK(options[0].kind == row.kind);
    CHECK(options[0].value.index() == alternative_of(row.shape));
    CHECK(std::string(lw::ast::option_words(row.kind)) == row.written);
  }
}

TEST_CASE("a statement takes the options of options.def and no others") {
  for (const std::string of :
       {"room", "board", "controller", "link", "thing", "scale", "gauge", "contact", "button", "reader",
        "keypad", "lamp", "relay", "motor", "lock", "voice", "sequence"}) {
    for (const ExampleRow& one : kExamples) {
      bool takes = false;
      for (const TakesRow& row : kTakes) takes = takes || (row.of == of && row.kind == one.kind);
      CAPTURE(of);
      const std::string example = one.example;
      CAPTURE(example);
      std::string told;
      const lw::ast::Options options = options_of(of, one.example, told);
      CHECK(options.size() == (takes ? 1 : 0));
      CHECK((told == "") == takes);
      if (!takes) CHECK(told.find("`" + of + "` has no option `") != std::string::npos);
    }
  }
}

TEST_CASE("no finding of syntax speaks of the grammar's rules") {
  // Names of rules with an underscore or a C++ scope would show here.
  for (const std::string& room : syntax_test::room_names()) {
    std::string text = syntax_test::read_file(syntax_test::rooms_folder() + room + ".latch");
    for (std::size_t at = 0; at < text.size(); at += 97) {
      std::string cut = text;
      cut.erase(at, 3);
      for (const lw::Finding& finding : Parsed(cut).findings) {
        CHECK(finding.message.find("::") == std::string::npos);
        CHECK(finding.message.find("must<") == std::string::npos);
        CHECK(!finding.message.empty());
        CHECK(!finding.remedies.empty());
        CHECK(finding.message.back() != '.');
        for (const std::string& remedy : finding.remedies) CHECK(remedy.back() == '.');
      }
    }
  }
}
