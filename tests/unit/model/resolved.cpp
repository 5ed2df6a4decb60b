// See resolved.hpp.
#include "resolved.hpp"

#include <algorithm>

namespace lw::model::test {

const char* const kBench = R"(language 1
board bench { inputs I1 to I8, outputs K1 to K8 up to 2 A, scales S1 to S3, gauges G1 to G3, readers R1 to R2,
              keypads P1, voices A1, links L1 to L2, scan 10 ms }
room "Bench" { session 60 min, finish last }
controller front is bench { supply 12 V up to 2 A }
controller vault is bench { supply 12 V up to 2 A }
controller lone is bench
link floor joins front, vault { delay up to 200 ms }
thing ingot 418 g ± 1 g { home "shelf" }
thing nugget 187 g { count 3 }
thing crown { tag "04 A1 5C 22" }
scale balance at front.S1 { capacity 3 kg, division 1 g, empty below 5 g }
scale other at front.S2 { capacity 3 kg, division 1 g, empty below 5 g }
scale imperial at front.S3 { capacity 20 lb, division 0.2 oz, empty below 1 oz }
gauge dial at front.G1 { from 0 deg to 360 deg, division 1 deg, wraps }
gauge heat at front.G2 { from -40 °C to 120 °C, division 0.5 °C }
contact flap at front.I1 { closed means shut, open means ajar }
contact ledger at vault.I1 { closed means shut, open means lifted }
button bell at front.I2
button far_bell at vault.I2
button clear by operator "Cleared"
reader pad at front.R1
keypad keys at front.P1
signal show over floor "show"
cue fog over floor "fog"
lamp blue at front.K1 { draws 150 mA }
lamp far_lamp at vault.K1 { draws 150 mA }
relay pump at front.K2
motor crane at front.K3
lock drawer at front.K4 { fail-secure }
lock way_out at vault.K2 { fail-safe, exit, rest released }
voice horn at front.A1
clip ring "sounds/ring.wav"
prop last on front { state end start goal { } }
)";

namespace {

std::string shown(const SourceSet& sources, Span span) {
  const Position at = sources.position(span);
  const std::string& file = sources.name(span.file);
  return (file == "room.latch" ? "" : file + ":") + std::to_string(at.line) + ":" + std::to_string(at.column);
}

}  // namespace

std::string joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += line + "\n";
  return text;
}

std::vector<std::string> Resolved::lines() const {
  std::vector<std::string> all;
  for (const Finding& finding : findings) {
    all.push_back(shown(sources, finding.span) + " " + code_name(finding.code) + ": " + finding.message);
  }
  return all;
}

const Prop& Resolved::prop(const std::string& name) const {
  REQUIRE(room);
  for (const Prop& prop : room->props) {
    if (prop.name == name) return prop;
  }
  FAIL("no prop " << name);
  return room->props.front();
}

const Window& Resolved::window(const std::string& prop_name, const std::string& name) const {
  const Prop& in = prop(prop_name);
  for (const Window& window : in.windows) {
    if (window.name == name) return window;
  }
  FAIL("no window " << name);
  return in.windows.front();
}

Resolved resolve_text(const std::string& text, const char* bench) {
  Resolved resolved;
  const auto add = [&resolved](const char* name, const std::string& content) {
    const FileId file = resolved.sources.add(name, content);
    resolved.program.files.push_back(parse(resolved.sources, file, resolved.findings));
  };
  if (bench != nullptr) add("bench.latch", bench);
  add("room.latch", "language 1\n" + text);
  resolved.room = resolve(resolved.sources, resolved.program, resolved.findings);
  return resolved;
}

void check_pair(const std::string& text, const std::vector<std::string>& expected, const std::string& twin,
                const char* bench) {
  INFO(text);
  const Resolved bad = resolve_text(text, bench);
  CHECK(joined(bad.lines()) == joined(expected));
  const bool error = std::any_of(bad.findings.begin(), bad.findings.end(),
                                 [](const Finding& finding) { return finding.severity == Severity::error; });
  CHECK(bad.room.has_value() != error);
  INFO(twin);
  const Resolved good = resolve_text(twin, bench);
  CHECK(joined(good.lines()) == "");
  CHECK(good.room);
}

std::string in_state(const std::string& lines) {
  return "prop it on front { state only start goal {\n" + lines + "\n} }";
}

std::string in_prop(const std::string& parts) {
  return "prop it on front {\n" + parts + "\nstate only start goal { } }";
}

}  // namespace lw::model::test
