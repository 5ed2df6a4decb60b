// Conditions: facts joined, with what a moment may join and where it may stand (4.6), and who can work it out
// (9.1).
//
// A moment (an edge) is carried up through `and` and `or` as the leaf that makes the condition one, so that a
// finding can name it wherever a `let` hid it. Tests: tests/unit/model/conditions_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

constexpr std::size_t kMostFacts =
    2000;  // lets in lets double quickly; no room needs as many in one condition

std::string origin(const Workspace& work, const Leaf& leaf) {
  std::string text = quoted(work.text(leaf.origin));
  if (leaf.fact.kind == FactKind::button_pressed && text.find(' ') == std::string::npos) {
    text.insert(text.size() - 1, " pressed");
  }
  return text;
}

std::vector<Place> place_of(const Leaf& leaf) {
  if (leaf.use == leaf.origin) return {};
  return {{leaf.origin, "", true}};
}

/// Inputs of which a lost one would make the leaf false.
void add_losable(const Workspace& work, const Reading& reading, std::vector<Losable>& inputs) {
  for (const Leaf& leaf : reading.leaves) {
    const FactKind kind = leaf.fact.kind;
    if (!speaks_of_input(kind) || is_edge(kind) || kind == FactKind::input_moving ||
        kind == FactKind::input_lost)
      continue;
    std::string_view name = work.text(leaf.origin);
    name = name.substr(0, name.find_first_of(" \t\r\n."));
    if (leaf.fact.kind == FactKind::in_window) {
      name = work.props[index(leaf.fact.prop)].windows[index(leaf.fact.window)].written->input.text;
    }
    inputs.push_back({leaf.fact.input, std::string(name)});
  }
}

void append(Reading& whole, Reading&& part) {
  whole.leaves.insert(whole.leaves.end(), part.leaves.begin(), part.leaves.end());
  whole.negations.insert(whole.negations.end(), part.negations.begin(), part.negations.end());
  whole.cond.parts.push_back(std::move(part.cond));
}

bool join_edges(Workspace& work, CondKind kind, const ast::Cond& cond, const std::vector<Reading>& terms,
                Reading& whole) {
  const Leaf* edge = nullptr;
  const Reading* level = nullptr;
  for (const Reading& term : terms) {
    if (!term.edge) {
      level = &term;
      continue;
    }
    if (kind == CondKind::at_least || kind == CondKind::exactly) {
      report_edge(work, *term.edge, kind == CondKind::exactly ? "under `exactly`" : "under `any`");
      return false;
    }
    if (kind == CondKind::all && edge != nullptr) {
      std::vector<Place> places = place_of(*term.edge);
      places.push_back({edge->use, "", true});
      work.report.say(Code::edge_misuse, term.edge->use,
                      origin(work, *edge) + " and " + origin(work, *term.edge) + " cannot be joined by `and`",
                      "Each is over in one scan, and the two would have to fall in the same one.",
                      {"let the first move to a state, and wait for the second there."}, places);
      return false;
    }
    if (edge == nullptr) edge = &*term.edge;
  }
  if (kind == CondKind::any && edge != nullptr && level != nullptr) {
    std::vector<Place> places = place_of(*edge);
    places.push_back({level->cond.span, "", true});
    work.report.say(Code::edge_misuse, cond.span, "`or` joins " + origin(work, *edge) + " with what lasts",
                    "The one is over in one scan, the other goes on being true: the whole would be neither.",
                    {"write two rules, one for each."}, places);
    return false;
  }
  if (edge != nullptr) whole.edge = *edge;
  return true;
}

std::optional<Reading> read_not(Workspace& work, const Where& where, const ast::Cond& cond) {
  if (cond.terms.empty()) return std::nullopt;
  std::optional<Reading> term = read_cond(work, where, cond.terms.front());
  if (!term) return std::nullopt;
  if (term->edge) {
    report_edge(work, *term->edge, "under `not`");
    return std::nullopt;
  }
  Reading whole;
  whole.cond.kind = CondKind::not_;
  whole.cond.span = cond.span;
  Negation negation{cond.span, {}};
  add_losable(work, *term, negation.inputs);
  term->negations.clear();  // one note a `not`: the outermost
  if (!negation.inputs.empty()) whole.negations.push_back(std::move(negation));
  append(whole, std::move(*term));
  return whole;
}

std::optional<Reading> read_joined(Workspace& work, const Where& where, const ast::Cond& cond) {
  Reading whole;
  whole.cond.span = cond.span;
  switch (cond.kind) {
    case ast::Cond::Kind::all:
      whole.cond.kind = CondKind::all;
      break;
    case ast::Cond::Kind::some:
      whole.cond.kind = CondKind::any;
      break;
    case ast::Cond::Kind::any:
      whole.cond.kind = CondKind::at_least;
      break;
    case ast::Cond::Kind::exactly:
      whole.cond.kind = CondKind::exactly;
      break;
    case ast::Cond::Kind::fact:
    case ast::Cond::Kind::no:
      return std::nullopt;
  }
  bool good = !cond.terms.empty();
  std::vector<Reading> terms;
  std::size_t facts = 0;
  for (const ast::Cond& written : cond.terms) {
    std::optional<Reading> term = read_cond(work, where, written);
    if (!term) {
      good = false;
      continue;
    }
    facts += term->leaves.size();
    if (facts > kMostFacts) {
      work.report.say(Code::over_limit, cond.span, "a condition of more than 2000 facts",
                      "All that its `let`s stand for is counted.",
                      {"say it with fewer: let a prop hold part of it as a state."});
      return std::nullopt;
    }
    terms.push_back(std::move(*term));
  }
  if (cond.kind == ast::Cond::Kind::any || cond.kind == ast::Cond::Kind::exactly) {
    const std::int64_t least = cond.kind == ast::Cond::Kind::any ? 1 : 0;
    const auto most = static_cast<std::int64_t>(cond.terms.size());
    if (cond.count.value < least || cond.count.value > most) {
      work.report.say(
          Code::out_of_range, cond.count.span,
          std::to_string(cond.count.value) + " of " + std::to_string(most) + " cannot be",
          "The number goes from " + std::to_string(least) + " to that of the conditions in the brackets.",
          {"write a number from " + std::to_string(least) + " to " + std::to_string(most) + "."});
      return std::nullopt;
    }
    whole.cond.count = static_cast<int>(cond.count.value);
  }
  if (!good || !join_edges(work, whole.cond.kind, cond, terms, whole)) return std::nullopt;
  for (Reading& term : terms) append(whole, std::move(term));
  return whole;
}

/// The controller that a fact is of; none where every controller knows it, or where it is not known.
std::optional<ControllerId> source_of(const Workspace& work, const Fact& fact) {
  const Room& room = work.room;
  const bool signal = fact.kind == FactKind::signal_on || fact.kind == FactKind::signal_off;
  if (speaks_of_input(fact.kind) && !signal) {
    const Input& input = room.inputs[index(fact.input)];
    if (input.ordinal == 0) return std::nullopt;  // the operator's, or its place was reported
    return input.controller;
  }
  switch (fact.kind) {
    case FactKind::sequence_done:
    case FactKind::sequence_wrong:
      if (!work.props[index(fact.prop)].placed) return std::nullopt;
      return room.props[index(fact.prop)].controller;
    default:
      return std::nullopt;
  }
}

std::vector<std::string> far_remedies(const Workspace& work, const Fact& fact) {
  if (fact.kind == FactKind::button_pressed) {
    return {"write " + quoted(work.room.inputs[index(fact.input)].name + " held") + ".",
            "let a prop beside it move to a state when it is pressed, and name that state here."};
  }
  return {"let a prop beside it move to a state then, and name that state here."};
}

/// A button of the operator belongs to the controller that reads it; a signal must reach whoever reads it.
bool check_special(Workspace& work, const Leaf& leaf, const Reader& reader) {
  Input& input = work.room.inputs[index(leaf.fact.input)];
  const bool button = input.kind == InputKind::operator_button;
  const std::string here = quoted(work.room.controllers[index(reader.controller)].name);
  const auto [first, fresh] = work.button_reads.emplace(leaf.fact.input, leaf.use);
  if (fresh) {
    input.controller = reader.controller;
  } else if (button && input.controller != reader.controller) {
    work.report.say(Code::shared_button, leaf.use,
                    quoted(input.name) + " is read on " + here + " and on " +
                        quoted(work.room.controllers[index(input.controller)].name),
                    "An operator's button is pressed for one scan of one controller.",
                    {"let one prop read it and move to a state; the other reads that state."},
                    {{first->second, "", true}});
    return false;
  }
  if (!button && input.link) {
    const Link& link = work.room.links[index(*input.link)];
    if (std::find(link.joins.begin(), link.joins.end(), reader.controller) == link.joins.end()) {
      work.report.say(
          Code::no_link, leaf.use, quoted(input.name) + " does not reach " + here,
          "It comes over the link " + quoted(link.name) + ", which does not join that controller.",
          {"join it: name it in the `link` statement."}, {{link.span, "", true}});
      return false;
    }
  }
  return true;
}

bool check_reader(Workspace& work, const Reading& reading, const Reader& reader) {
  bool good = true;
  for (const Leaf& leaf : reading.leaves) {
    const Fact& fact = leaf.fact;
    const bool of_input = fact.kind == FactKind::button_pressed || fact.kind == FactKind::signal_on ||
                          fact.kind == FactKind::signal_off || fact.kind == FactKind::input_lost;
    const InputKind kind = of_input ? work.room.inputs[index(fact.input)].kind : InputKind::contact;
    if (kind == InputKind::operator_button || kind == InputKind::signal) {
      good = check_special(work, leaf, reader) && good;
      continue;
    }
    if (fact.kind == FactKind::controller_lost && fact.controller == reader.controller) {
      const std::string name = quoted(work.room.controllers[index(reader.controller)].name);
      work.report.say(Code::never_true, leaf.use, name + " is never lost to itself",
                      "This condition is worked out on " + name + ", and a controller always hears itself.",
                      {work.room.controllers.size() > 1
                           ? "name the controller at the other end of the link, or leave it out."
                           : "leave it out: the room has no other controller that could be lost."},
                      place_of(leaf));
      good = false;
      continue;
    }
    if (!is_edge(fact.kind)) continue;
    const auto source = source_of(work, fact);
    if (!source || *source == reader.controller) continue;
    std::vector<Place> places = place_of(leaf);
    places.push_back({reader.span, "", false});
    work.report.say(Code::far_edge, leaf.use,
                    origin(work, leaf) + " happens on " + quoted(work.room.controllers[index(*source)].name) +
                        ", and is asked for on " +
                        quoted(work.room.controllers[index(reader.controller)].name),
                    "Over a link goes what is the case, not what happens: a message may be late or lost, and "
                    "a moment never "
                    "comes again.",
                    far_remedies(work, fact), places);
    good = false;
  }
  return good;
}

/// Decision 24: `not` is also true of a device that is lost, unless the condition asks for that too.
void note_negations(Workspace& work, const Reading& reading) {
  for (const Negation& negation : reading.negations) {
    for (const auto& [input, name] : negation.inputs) {
      const InputId sought = input;
      const bool asked =
          std::any_of(reading.leaves.begin(), reading.leaves.end(), [sought](const Leaf& leaf) {
            return leaf.fact.kind == FactKind::input_lost && leaf.fact.input == sought;
          });
      if (asked) continue;
      work.report.say(Code::not_when_lost, negation.span,
                      "this `not` is also true while " + quoted(name) + " is lost",
                      "A lost device is in none of its conditions.",
                      {"where that matters write " + quoted("and not " + name + " lost") + " beside it."});
      break;
    }
  }
}

}  // namespace

bool speaks_of_input(FactKind kind) {
  switch (kind) {
    case FactKind::in_window:
    case FactKind::scale_empty:
    case FactKind::input_moving:
    case FactKind::input_lost:
    case FactKind::contact_closed:
    case FactKind::contact_open:
    case FactKind::button_held:
    case FactKind::button_pressed:
    case FactKind::reads_thing:
    case FactKind::reads_nothing:
    case FactKind::reads_anything:
    case FactKind::reads_other:
    case FactKind::enters:
    case FactKind::signal_on:
    case FactKind::signal_off:
      return true;
    default:
      return false;
  }
}

bool is_edge(FactKind kind) {
  return kind == FactKind::button_pressed || kind == FactKind::enters || kind == FactKind::sequence_done ||
         kind == FactKind::sequence_wrong;
}

bool is_edge(const Cond& cond) {
  if (cond.kind == CondKind::fact) return is_edge(cond.fact.kind);
  if (cond.kind != CondKind::all && cond.kind != CondKind::any) return false;
  return std::any_of(cond.parts.begin(), cond.parts.end(), [](const Cond& part) { return is_edge(part); });
}

void report_edge(Workspace& work, const Leaf& edge, const std::string& place) {
  std::vector<std::string> remedies;
  const Input* button =
      edge.fact.kind == FactKind::button_pressed ? &work.room.inputs[index(edge.fact.input)] : nullptr;
  if (button != nullptr && button->kind == InputKind::button)
    remedies = {"write " + quoted(button->name + " held") + ", which lasts."};
  else
    remedies = {"let a rule move to a state when it happens, and name that state here."};
  work.report.say(Code::edge_misuse, edge.use, origin(work, edge) + " cannot stand " + place,
                  "It is true in one scan only and cannot last.", remedies, place_of(edge));
}

std::optional<Reading> read_cond(Workspace& work, const Where& where, const ast::Cond& cond) {
  if (cond.kind == ast::Cond::Kind::fact) return read_fact(work, where, cond.fact);
  if (cond.kind == ast::Cond::Kind::no) return read_not(work, where, cond);
  return read_joined(work, where, cond);
}

std::optional<Reading> read_for(Workspace& work, const Where& where, const ast::Cond& cond,
                                const std::optional<Reader>& reader, EdgesHere edges) {
  std::optional<Reading> reading = read_cond(work, where, cond);
  if (!reading) return std::nullopt;
  if (reading->edge && !edges.allowed) {
    report_edge(work, *reading->edge, edges.place);
    return std::nullopt;
  }
  if (reader) {
    if (!check_reader(work, *reading, *reader)) return std::nullopt;
    note_negations(work, *reading);
  }
  return reading;
}

std::optional<Reading> read_held(Workspace& work, const Where& where, const ast::Held& held,
                                 const std::optional<Reader>& reader, EdgesHere edges,
                                 std::int64_t& hold_ms) {
  std::optional<Reading> reading = read_for(work, where, held.cond, reader, edges);
  if (!held.time) return reading;
  const auto time = duration(work, where, held.time);
  if (time) hold_ms = *time;
  if (reading && reading->edge) {
    report_edge(work, *reading->edge, "with `for`");
    return std::nullopt;
  }
  return time ? std::move(reading) : std::nullopt;
}

}  // namespace lw::model
