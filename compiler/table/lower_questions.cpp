// What rehearsals expect and promises promise, as questions about visible states (10.1, 10.4, 10.5).
//
// A fact of an input or an output is that of its own controller, of a signal that of the first that reads it;
// of the session and of `finish`, that of the
// controller that keeps the session. A moment (an edge, a sequence done or wrong) is asked of the last scan's
// snapshot. Internal to table/lower*. Tests: tests/unit/lower/questions_test.cpp.
#include <fmt/format.h>

#include "table/lower_draft.hpp"

namespace lw::lowering {
namespace {

using model::CondKind;
using model::FactKind;
using model::index;

class Asking {
 public:
  Asking(const Plan& plan, const Links& links, std::vector<std::unique_ptr<Draft>>& drafts)
      : plan_(plan), links_(links), drafts_(drafts) {}

  Question of(const model::Cond& cond) {
    Question question;
    push(cond, question);
    return question;
  }

 private:
  void push(const model::Cond& cond, Question& to);
  void push_fact(const model::Fact& fact, Span span, Question& to);
  void push_raw(std::size_t controller, const rows::RawFact& raw, Question& to) {
    to.push_back({Ask::Kind::fact, static_cast<std::uint8_t>(controller), 0, 0, raw});
  }
  void push_literal(std::size_t controller, Literal literal, Question& to) {
    drafts_[controller]->want(literal);
    to.push_back({Ask::Kind::scan_fact, static_cast<std::uint8_t>(controller), literal, 0, {}});
  }
  void push_constant(bool truth, Question& to) {
    to.push_back({Ask::Kind::constant, 0, truth ? 1u : 0u, 0, {}});
  }
  void push_count(Ask::Kind kind, std::size_t least, std::size_t of, Question& to) {
    if (kind == Ask::Kind::at_least && of == 1 && least == 1) return;
    to.push_back({kind, 0, static_cast<std::uint32_t>(least), static_cast<std::uint32_t>(of), {}});
  }

  const Plan& plan_;
  const Links& links_;
  std::vector<std::unique_ptr<Draft>>& drafts_;
};

void Asking::push(const model::Cond& cond, Question& to) {
  if (cond.kind == CondKind::always) return push_constant(true, to);
  if (cond.kind == CondKind::fact) return push_fact(cond.fact, cond.span, to);
  for (const model::Cond& part : cond.parts) push(part, to);
  const std::size_t parts = cond.parts.size();
  const auto count = static_cast<std::size_t>(cond.count);
  switch (cond.kind) {
    case CondKind::all:
      return push_count(Ask::Kind::at_least, parts, parts, to);
    case CondKind::any:
      return push_count(Ask::Kind::at_least, 1, parts, to);
    case CondKind::at_least:
      return push_count(Ask::Kind::at_least, count, parts, to);
    case CondKind::exactly:
      return push_count(Ask::Kind::exactly, count, parts, to);
    default:
      to.push_back({Ask::Kind::not_, 0, 0, 0, {}});
  }
}

void Asking::push_fact(const model::Fact& fact, Span span, Question& to) {
  if (fact.kind == FactKind::finish) {
    for (const model::PropId id : plan_.room.finish) {
      const Seat seat = plan_.props[index(id)];
      rows::RawFact solved{rows::FactKind::prop_solved, seat.row, 0, 0, {}};
      if (seat.controller != 0)
        solved = {rows::FactKind::peer_says,
                  *links_.peer(0, seat.controller),
                  links_.bit(seat.controller, solved),
                  0,
                  {}};
      push_raw(0, solved, to);
    }
    return push_count(Ask::Kind::at_least, plan_.room.finish.size(), plan_.room.finish.size(), to);
  }
  if (fact.kind == FactKind::controller_lost) {
    // Lost to the room: to any controller that should hear it.
    std::size_t hearers = 0;
    for (std::size_t hearer = 0; hearer < drafts_.size(); ++hearer)
      if (const auto peer = links_.peer(hearer, index(fact.controller))) {
        push_raw(hearer, {rows::FactKind::peer_lost, *peer, 0, 0, {}}, to);
        ++hearers;
      }
    if (hearers == 0) return push_constant(false, to);
    return push_count(Ask::Kind::at_least, 1, hearers, to);
  }
  std::size_t owner = 0;
  if (const auto input = input_read(plan_.room, fact))
    owner = plan_.inputs[index(*input)].front().controller;
  else if (fact.kind >= FactKind::counter_is && fact.kind <= FactKind::sequence_below)
    owner = plan_.owner(fact.prop);
  const Meaning m = meaning(plan_, fact, span, owner);
  if (m.kind == Meaning::Kind::constant) return push_constant(m.truth, to);
  const Words called{words(plan_.room, fact, false), words(plan_.room, fact, true), span};
  if (m.kind == Meaning::Kind::sequence && !is_level(m))
    return push_literal(m.owner, drafts_[m.owner]->pool().own(m.sequence, m.low, m.high, called), to);
  for (const rows::RawFact& raw : m.any) {
    const bool is_moment = raw.kind == rows::FactKind::input_edge || raw.kind == rows::FactKind::input_enters;
    if (is_moment)
      push_literal(m.owner, drafts_[m.owner]->pool().raw(raw, called), to);
    else
      push_raw(m.owner, raw, to);
  }
  push_count(Ask::Kind::at_least, 1, m.any.size(), to);
}

}  // namespace

void ask_questions(const Plan& plan, const Links& links, std::vector<std::unique_ptr<Draft>>& drafts,
                   RoomTables& to) {
  Asking asking(plan, links, drafts);
  for (const model::Rehearsal& rehearsal : plan.room.rehearsals) {
    to.expected.emplace_back();
    for (const model::Deed& deed : rehearsal.deeds) {
      to.expected.back().emplace_back();
      for (const model::Cond& cond : deed.expected) to.expected.back().back().push_back(asking.of(cond));
    }
  }
  model::Cond finish;
  finish.kind = CondKind::fact;
  finish.fact.kind = FactKind::finish;
  finish.span = plan.room.span;
  to.finish = asking.of(finish);
  for (const model::Promise& promise : plan.room.promises) {
    model::Cond condition = promise.condition;
    if (promise.kind == model::PromiseKind::finish_not_before) condition = finish;
    to.promise_conditions.push_back(asking.of(condition));
    to.promise_answers.push_back(asking.of(promise.answer));
  }
}

void number_questions(const std::vector<std::unique_ptr<Draft>>& drafts, RoomTables& to) {
  const auto number = [&](Question& question) {
    for (Ask& ask : question)
      if (ask.kind == Ask::Kind::scan_fact)
        ask.a = drafts[ask.controller]->fact_number(ask.a);
      else if (ask.kind == Ask::Kind::fact)
        drafts[ask.controller]->number(ask.fact);
  };
  for (auto& rehearsal : to.expected)
    for (auto& deed : rehearsal)
      for (Question& question : deed) number(question);
  for (Question& question : to.promise_conditions) number(question);
  for (Question& question : to.promise_answers) number(question);
  number(to.finish);
}

}  // namespace lw::lowering
