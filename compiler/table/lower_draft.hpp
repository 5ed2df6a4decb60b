// One controller's table while it is being written: rows, and the facts that they speak of.
//
// Until `number`, literals in the rows speak of entries of the fact pool; from then on of fact numbers.
// Questions of rehearsals and promises add facts to the pools before that. Internal to table/lower*. Tests:
// tests/unit/lower.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "table/lower_facts.hpp"
#include "table/lower_link.hpp"
#include "table/lower_meaning.hpp"
#include "table/lower_plan.hpp"
#include "table/lower_report.hpp"
#include "table/records.hpp"
#include "table/room_tables.hpp"

namespace lw::lowering {

/// Conditions as literals over one controller's facts (3.4).
class Conditions {
 public:
  Conditions(const Plan& plan, const Links& links, std::size_t controller, FactPool& pool, Report& report)
      : plan_(plan), links_(links), controller_(controller), pool_(pool), report_(report) {}

  Literal of(const model::Cond& cond);
  Literal fact(const model::Fact& fact, Span span);
  /// The prop is in one of these states.
  Literal in_states(model::PropId prop, const std::vector<model::StateId>& states, Span span);
  /// The prop is no longer waiting.
  Literal awake(model::PropId prop, Span span);
  /// Adds what becomes true when a device or controller that the condition reads is lost, found or first
  /// heard (6.5).
  void add_stirs(const model::Cond& cond, std::vector<Literal>& stirs);

 private:
  Literal solved(model::PropId prop, Span span);
  Literal prop_in(model::PropId prop, std::size_t low, std::size_t high, Span span);
  Literal stirs(const model::Fact& fact, Span span);
  Literal peer_stirs(std::size_t controller, Span span);

  const Plan& plan_;
  const Links& links_;
  std::size_t controller_;
  FactPool& pool_;
  Report& report_;
};

/// Hands out the arena's bytes in order.
class Arena {
 public:
  std::uint16_t take(std::size_t bytes) {
    const std::size_t at = used_;
    used_ += bytes;
    return static_cast<std::uint16_t>(at);
  }
  std::size_t used() const { return used_; }

 private:
  std::size_t used_ = 0;
};

class Draft {
 public:
  Draft(const Plan& plan, const Links& links, std::size_t controller, Report& report);
  Draft(const Draft&) = delete;

  void write(const std::vector<std::int64_t>& clip_ms);

  Conditions& conditions() { return conditions_; }
  FactPool& pool() { return pool_; }
  /// Sees to it that the fact has a number.
  void want(Literal literal) { wanted_.push_back(literal); }

  /// Orders sequences, numbers the facts and puts the numbers into the rows.
  void number();
  /// Puts the row in a fact of the visible state that speaks of a sequence by its place in the text.
  void number(rows::RawFact& visible) const;
  std::uint32_t fact_number(Literal literal) const { return numbering_.numbers[rows::fact_of(literal)]; }

  ControllerTable take(const SourceSet& sources);

 private:
  struct SequencePlace {
    model::PropId prop;
    std::size_t item;
  };

  void hardware(const std::vector<std::int64_t>& clip_ms);
  void add_input(model::InputId id);
  void add_output(model::OutputId id);
  void link();
  void session();

  void prop(model::PropId id);
  void locals(model::PropId id, std::optional<model::BodyId> of);
  void runs(const model::Prop& prop, std::size_t first_body);
  void drives(const model::Prop& prop);
  void words(model::PropId id);
  rows::Body body(const model::Body& body);
  rows::Rule rule(const model::Rule& rule);
  rows::Keep keep(const model::Keep& keep);
  int actions(const std::vector<model::Action>& list);
  void action(const model::Action& action, rows::ActionList& to);
  std::uint8_t drive(model::OutputId output) const;
  std::uint8_t level(const model::Level& level, const model::Output& output, Span span);

  rows::Sequence sequence_shape(const model::Sequence& sequence);
  void sequence(model::PropId id, std::size_t item);
  void sequence_steps(const model::Sequence& sequence, rows::Sequence& row);
  std::vector<std::size_t> sequence_order();
  std::vector<Literal> sequence_needs(std::size_t sequence) const;
  void report_ring(const std::vector<bool>& placed, const std::vector<std::set<std::size_t>>& reads);

  Symbols symbols(const SourceSet& sources) const;
  void limit(std::size_t count, std::uint32_t most, const char* things);

  const Plan& plan_;
  const Links& links_;
  std::size_t controller_;
  Report& report_;
  const Seats& seats_;
  const Clock clock_;
  FactPool pool_;
  Conditions conditions_;
  Arena arena_;
  rows::Table table_;
  std::vector<Literal> wanted_;
  Numbering numbering_;
  // What rows come from, for names and places.
  std::vector<SequencePlace> sequence_places_;
  std::vector<std::uint32_t> sequence_rows_;  // by place in text order
  std::vector<const model::Body*> bodies_;
  std::vector<const model::Keep*> tails_;
  std::vector<std::pair<std::string, Span>> drive_names_;
  std::vector<const model::Ready*> readies_;
  std::vector<const model::Tell*> tells_;
  // The prop that is being written, and where its drives begin.
  model::PropId prop_{};
  std::size_t first_drive_ = 0;
};

/// Fills in the questions of rehearsals and promises; until number_questions, their scan facts speak of pool
/// entries.
void ask_questions(const Plan& plan, const Links& links, std::vector<std::unique_ptr<Draft>>& drafts,
                   RoomTables& to);
void number_questions(const std::vector<std::unique_ptr<Draft>>& drafts, RoomTables& to);

}  // namespace lw::lowering
