// See tell.hpp.
#include "explore/tell.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "explore/courses.hpp"
#include "play/rehearse.hpp"
#include "play/trace.hpp"
#include "syntax/format.hpp"
#include "text/quantity.hpp"

namespace lw {

using model::Deed;
using model::DeedKind;
using model::index;

namespace {

/// A scale that nobody touches comes to rest too, which is no news.
void leave_out_settling(const model::Room& room, const std::vector<Deed>& deeds, std::vector<Event>& events) {
  std::vector<std::string> untouched;
  for (std::size_t n = 0; n < room.inputs.size(); ++n)
    if (std::none_of(deeds.begin(), deeds.end(),
                     [&](const Deed& deed) { return deed.input == model::InputId(n); }))
      untouched.push_back(room.inputs[n].name + " settles at ");
  std::string time;  // of a row that is left out, for the next one of its instant
  std::vector<Event> kept;
  for (Event& event : events) {
    if (!event.time.empty()) time.clear();
    if (std::any_of(untouched.begin(), untouched.end(),
                    [&](const std::string& words) { return event.happens.rfind(words, 0) == 0; })) {
      event.happens.clear();
      if (event.answers.empty()) {
        if (!event.time.empty()) time = event.time;
        continue;
      }
    }
    if (event.time.empty()) event.time = std::exchange(time, "");
    kept.push_back(std::move(event));
  }
  events = std::move(kept);
}

/// Of a device that is kept moving, deed after deed with no answer, the first and the last are told.
void leave_out_turning(const model::Room& room, std::vector<Event>& events) {
  constexpr std::size_t kMost = 4;
  std::vector<Event> kept;
  for (std::size_t first = 0; first < events.size();) {
    std::size_t end = first + 1;
    for (const model::Input& input : room.inputs) {
      if (input.kind != model::InputKind::scale && input.kind != model::InputKind::gauge) continue;
      const std::string turned = input.name + " turned to ", laid = " laid on " + input.name;
      const auto turns = [&](const Event& event) {
        return event.happens.rfind(turned, 0) == 0 || event.happens.find(laid) != std::string::npos;
      };
      std::size_t last = first;
      while (last < events.size() && turns(events[last]) && events[last].answers.empty()) ++last;
      end = std::max(end, last);
    }
    if (end - first <= kMost) {
      for (; first < end; ++first) kept.push_back(std::move(events[first]));
      continue;
    }
    kept.push_back(std::move(events[first]));
    Event between;
    between.happens = fmt::format("and so on, {} times", end - first - 2);
    kept.push_back(std::move(between));
    kept.push_back(std::move(events[end - 1]));
    first = end;
  }
  events = std::move(kept);
}

}  // namespace

// ---- The account
// ------------------------------------------------------------------------------------------------------

std::vector<Event> account(const model::Room& room, const RoomTables& tables, const Replayed& replayed,
                           const std::string& shows, const Mark* mark) {
  RoomRun run(room, tables);
  run.world().make_ready();
  Firings firings(run);
  const std::int64_t zero_ms = replayed.start_ms.value_or(0);
  // Before the session's start only what is done is told; what devices make of it is no news.
  std::optional<Trace> trace;
  std::vector<std::pair<std::int64_t, std::string>> before;
  const std::vector<Deed>& deeds = replayed.script.deeds;
  std::size_t next = 0;
  while (run.next_scan_ms() <= replayed.seen_ms) {
    if (!trace && (!replayed.start_ms || run.next_scan_ms() >= zero_ms)) {
      trace.emplace(run);
      for (auto& [at_ms, words] : before) trace->happens(at_ms, std::move(words));
    }
    const auto told = [&](std::int64_t at_ms, std::string words) {
      if (trace)
        trace->happens(at_ms, std::move(words));
      else
        before.emplace_back(at_ms, std::move(words));
    };
    const auto come_to = [&](std::int64_t at_ms) {
      if (mark == nullptr || mark->at_ms > at_ms) return;
      told(mark->at_ms, mark->words);
      mark = nullptr;
    };
    for (; next < deeds.size() && deeds[next].time_ms <= run.next_scan_ms(); ++next) {
      const Deed& deed = deeds[next];
      come_to(deed.time_ms);
      if (run.perform(deed, std::max(deed.time_ms, run.now_ms()))) break;
      std::string words = deed_words(room, deed);
      if (deed.controller && (deed.kind == DeedKind::operator_end || deed.kind == DeedKind::operator_reset))
        words += " at " + room.controllers[index(*deed.controller)].name;
      told(deed.time_ms, std::move(words));
    }
    come_to(run.next_scan_ms());
    run.scan();
    firings.look(run);
    if (trace) trace->look(run, firings);
  }
  std::vector<Event> events = trace ? trace->events(zero_ms) : std::vector<Event>();
  leave_out_settling(room, deeds, events);
  leave_out_turning(room, events);
  if (!shows.empty()) {
    Event last;
    last.time = clock_words(replayed.seen_ms - zero_ms);
    for (const Event& event : events)
      if (event.time == last.time) last.time.clear();
    last.answers = shows;
    events.push_back(std::move(last));
  }
  return events;
}

// ---- As a rehearsal
// -----------------------------------------------------------------------------------------------------

namespace {

std::string quantity(std::int64_t value, Dimension dimension) { return format_quantity({value, dimension}); }

std::string hex(const std::string& tag) {
  std::string text;
  for (const char byte : tag)
    text += fmt::format("{}{:02X}", text.empty() ? "" : " ", static_cast<unsigned char>(byte));
  return text;
}

/// The deed in the words of the language; empty when the language has none for it.
std::string written(const model::Room& room, const Deed& deed) {
  const auto device = [&]() -> const model::Input& { return room.inputs[index(*deed.input)]; };
  const auto things = [&] {
    const std::string& name = room.things[index(deed.thing)].name;
    return deed.count == 1 ? name : fmt::format("{} x {}", deed.count, name);
  };
  const bool elsewhere = deed.controller.has_value();
  switch (deed.kind) {
    case DeedKind::expect:
      return "";
    case DeedKind::place:
      return fmt::format("place {} on {}", things(), device().name);
    case DeedKind::take:
      return fmt::format("take {} off {}", things(), device().name);
    case DeedKind::load:
      if (deed.value < 0) return "";
      return fmt::format("load {} on {}", deed.value == 0 ? "0 g" : quantity(deed.value, Dimension::mass),
                         device().name);
    case DeedKind::place_tag:
      return fmt::format("place tag \"{}\" on {}", hex(deed.text), device().name);
    case DeedKind::take_tag:
      return fmt::format("take tag \"{}\" off {}", hex(deed.text), device().name);
    case DeedKind::press:
      if (device().kind == model::InputKind::operator_button) return "press " + device().name;
      if (deed.value == 0) return "";
      return fmt::format("press {} for {}", device().name, quantity(deed.value, Dimension::time));
    case DeedKind::set:
      if (device().kind == model::InputKind::signal)
        return fmt::format("set {} {}", device().name, deed.value != 0 ? "on" : "off");
      return fmt::format("set {} {}", device().name,
                         deed.value != 0 ? device().closed_word : device().open_word);
    case DeedKind::turn:
      return fmt::format("turn {} to {}", device().name,
                         quantity(device().from + deed.value, device().dimension));
    case DeedKind::type:
      return fmt::format("type \"{}\" on {}", deed.text, device().name);
    case DeedKind::lose:
    case DeedKind::restore: {
      const std::string word = deed.kind == DeedKind::lose ? "lose " : "restore ";
      if (deed.link) return word + room.links[index(*deed.link)].name;
      if (deed.controller) return word + room.controllers[index(*deed.controller)].name;
      if (device().kind == model::InputKind::signal) return "";
      return word + device().name;
    }
    case DeedKind::restart:
      return "restart " + room.controllers[index(*deed.controller)].name;
    case DeedKind::delay:
      return fmt::format("delay {} {}", room.links[index(*deed.link)].name,
                         quantity(deed.value, Dimension::time));
    case DeedKind::shift:
      return fmt::format("shift {} by {}", room.controllers[index(*deed.controller)].name,
                         quantity(deed.value, Dimension::time));
    case DeedKind::operator_start:
      return elsewhere ? "" : "operator start";
    case DeedKind::operator_end:
      return elsewhere ? "" : "operator end";
    case DeedKind::operator_reset:
      return elsewhere ? "" : "operator reset";
    case DeedKind::operator_override:
      return "operator override " + room.props[index(*deed.prop)].name;
  }
  return "";
}

/// The script as a rehearsal plays it, or nothing when it cannot: times from the session's start, what is
/// done before it in lines without a time, the operator's first start left out, which the rehearsal does
/// itself.
std::optional<model::Rehearsal> rehearsal_of(const model::Room& room, const Replayed& replayed,
                                             std::size_t expected) {
  if (!replayed.start_ms) return std::nullopt;
  model::Rehearsal rehearsal;
  bool started = false;
  std::vector<Deed> before;
  for (Deed deed : replayed.script.deeds) {
    if (deed.kind == DeedKind::operator_start && !started && deed.time_ms <= *replayed.start_ms) {
      started = true;
      continue;
    }
    // A signal that is on as power comes is set so; that it was not heard at first is the replay's alone.
    const bool of_signal = deed.input && room.inputs[index(*deed.input)].kind == model::InputKind::signal;
    if (of_signal && deed.time_ms == 0 && (deed.kind == DeedKind::lose || deed.kind == DeedKind::restore))
      continue;
    if (written(room, deed).empty()) return std::nullopt;
    deed.time_ms -= *replayed.start_ms;
    deed.when = deed.time_ms < 0 ? model::When::same : model::When::at;
    rehearsal.deeds.push_back(std::move(deed));
  }
  if (expected != 0) {
    Deed last;
    last.kind = DeedKind::expect;
    last.when = model::When::at;
    last.time_ms = replayed.seen_ms - *replayed.start_ms;
    last.expected.resize(expected);
    rehearsal.deeds.push_back(std::move(last));
  }
  return rehearsal;
}

/// Whether it goes as it expects.
bool passes(const model::Room& room, const RoomTables& tables, const model::Rehearsal& rehearsal,
            const std::vector<Expected>& expected) {
  model::Room with = room;
  with.rehearsals = {rehearsal};
  RoomTables tables_with = tables;
  tables_with.expected = {std::vector<std::vector<Question>>(rehearsal.deeds.size())};
  if (!expected.empty())
    for (const Expected& one : expected) tables_with.expected[0].back().push_back(one.question);
  SourceSet sources;
  sources.add("", "");
  return !rehearse(sources, with, tables_with, 0).failure;
}

std::string text_of(const model::Room& room, const model::Rehearsal& rehearsal, const std::string& title,
                    const std::vector<Expected>& expected) {
  std::string text = "language 1\nrehearsal \"";
  for (const char c : title) text += c == '"' ? "\"\"" : std::string(1, c);
  text += "\" {\n";
  std::int64_t time_ms = -1;
  for (const Deed& deed : rehearsal.deeds) {
    const bool again =
        deed.when == model::When::at && deed.time_ms == time_ms && deed.kind != DeedKind::expect;
    if (again)
      text += ", ";
    else
      text += "\n";
    if (deed.when == model::When::at && !again) text += "at " + quantity(deed.time_ms, Dimension::time) + " ";
    if (deed.when == model::When::at) time_ms = deed.time_ms;
    if (deed.kind != DeedKind::expect) {
      text += written(room, deed);
      continue;
    }
    text += "expect ";
    for (std::size_t n = 0; n < expected.size(); ++n) text += (n == 0 ? "" : ", ") + expected[n].words;
  }
  text += "\n}\n";
  SourceSet sources;
  Findings findings;
  const auto laid_out = formatted(sources, sources.add("rehearsal", text), findings);
  if (!laid_out) return "";
  const std::size_t begin = laid_out->find("rehearsal ");
  return laid_out->substr(begin);
}

}  // namespace

std::string rehearsal_text(Courses& courses, const Playthrough& playthrough, const Claim& claim,
                           const std::string& title, const std::vector<Expected>& expected) {
  const model::Room& room = courses.room();
  for (const bool hurried : {true, false}) {
    const Replayed replayed =
        hurried ? replay(courses, playthrough, claim) : replay_after_start(courses, playthrough, claim);
    if (!replayed.shown) continue;
    const auto rehearsal = rehearsal_of(room, replayed, expected.size());
    if (rehearsal && passes(room, courses.tables(), *rehearsal, expected))
      return text_of(room, *rehearsal, title, expected);
  }
  return "";
}

std::vector<Expected> expected_of_broken(const SourceSet& sources, const model::Room& room,
                                         const RoomTables& tables, std::size_t which) {
  const model::Promise& promise = room.promises[which];
  const auto words = [&](const model::Cond& cond) { return std::string(sources.text(cond.span)); };
  const auto denied = [&](const model::Cond& cond, const Question& question) {
    const bool simple = cond.kind == model::CondKind::fact;
    return Expected{simple ? "not " + words(cond) : "not (" + words(cond) + ")", opposite(question)};
  };
  switch (promise.kind) {
    case model::PromiseKind::never:
      return {{words(promise.condition), tables.promise_conditions[which]}};
    case model::PromiseKind::can_always_reach:
      return {denied(promise.condition, tables.promise_conditions[which])};
    case model::PromiseKind::then_within:
      if (is_edge(promise.answer)) return {};
      return {denied(promise.answer, tables.promise_answers[which])};
    case model::PromiseKind::finish_not_before:
      return {{"finish", tables.promise_conditions[which]}};
  }
  return {};
}

}  // namespace lw
