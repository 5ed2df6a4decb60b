// Going through all situations of a question: see situations.hpp.
#include "check/situations.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <set>
#include <tuple>

namespace lw {
namespace {

using model::Cond;
using model::CondKind;
using model::Fact;
using model::FactKind;
using model::InputKind;

constexpr std::size_t kMostAtOnce = std::size_t{1} << 16;  // situations of one question
constexpr std::size_t kMostFacts = 64;                     // facts of one subject in one question

enum class Matter : std::uint8_t { input, prop, counter, place, session, past, left, output, alone };

/// What one value of a subject makes of each of its facts, a bit each.
using Row = std::uint64_t;

struct Variable {
  std::vector<const Fact*> facts;  // different ones
  std::vector<Row> rows;           // different ones
  Row now = 0;
};

using Key = std::tuple<Matter, std::size_t, std::size_t, std::size_t>;

/// Facts of one key are about one thing that has one value at a time.
Key key_of(const Fact& fact, std::size_t alone) {
  const std::size_t prop = model::index(fact.prop);
  // Edges and `moving` may each be so or not, whatever the device's value is.
  if (model::speaks_of_input(fact.kind) && !model::is_edge(fact.kind) && fact.kind != FactKind::input_moving)
    return {Matter::input, model::index(fact.input), 0, 0};
  switch (fact.kind) {
    case FactKind::prop_in_state:
    case FactKind::prop_waiting:
      return {Matter::prop, prop, 0, 0};
    case FactKind::counter_is:
    case FactKind::counter_above:
    case FactKind::counter_below:
      return {Matter::counter, prop, fact.item, 0};
    case FactKind::sequence_is:
    case FactKind::sequence_above:
    case FactKind::sequence_below:
      return {Matter::place, prop, fact.item, 0};
    case FactKind::session_running:
    case FactKind::session_ended:
      return {Matter::session, 0, 0, 0};
    case FactKind::timer_done:
    case FactKind::timer_past:
      return {Matter::past, prop, fact.item, 1};
    case FactKind::session_past:
      return {Matter::past, 0, 0, 2};
    case FactKind::timer_left:
      return {Matter::left, prop, fact.item, 1};
    case FactKind::session_left:
      return {Matter::left, 0, 0, 2};
    case FactKind::output_on:
    case FactKind::output_off:
    case FactKind::output_at:
    case FactKind::lock_released:
    case FactKind::lock_secured:
      return {Matter::output, model::index(fact.output), 0, 0};
    default:
      return {Matter::alone, alone, 0, 0};
  }
}

/// The values of a subject, as what each makes of the facts.
class Values {
 public:
  Values(const model::Room& room, const Situations::Within* within, Variable& variable)
      : room_(room), within_(within), variable_(variable) {}

  void all(Matter subject) {
    switch (subject) {
      case Matter::input:
        input();
        break;
      case Matter::prop:
        prop();
        break;
      case Matter::counter:
      case Matter::place:
        numbers(subject == Matter::place);
        break;
      case Matter::session:
        none();
        add([](const Fact& fact) { return fact.kind == FactKind::session_running; });
        add([](const Fact& fact) { return fact.kind == FactKind::session_ended; });
        break;
      case Matter::past:
      case Matter::left:
        clock(subject == Matter::past);
        break;
      case Matter::output:
        output();
        break;
      case Matter::alone:
        none();
        add([](const Fact&) { return true; });
        break;
    }
    std::sort(variable_.rows.begin(), variable_.rows.end());
    variable_.rows.erase(std::unique(variable_.rows.begin(), variable_.rows.end()), variable_.rows.end());
  }

 private:
  const model::Room& room_;
  const Situations::Within* within_;
  Variable& variable_;

  template <class Truth>
  void add(Truth&& truth) {
    Row row = 0;
    for (std::size_t n = 0; n < variable_.facts.size(); ++n)
      if (truth(*variable_.facts[n])) row |= Row{1} << n;
    variable_.rows.push_back(row);
  }

  void none() {
    add([](const Fact&) { return false; });
  }
  /// Of another controller nothing is true before it is heard (9.3).
  void unheard() {
    if (room_.controllers.size() > 1) none();
  }

  void input() {
    none();  // not yet known
    add([](const Fact& fact) { return fact.kind == FactKind::input_lost; });
    switch (room_.inputs[model::index(variable_.facts.front()->input)].kind) {
      case InputKind::scale:
      case InputKind::gauge:
        return cells();
      case InputKind::reader:
        return tags();
      default:
        break;
    }
    for (const FactKind high : {FactKind::contact_closed, FactKind::button_held, FactKind::signal_on})
      add([high](const Fact& fact) { return fact.kind == high; });
    for (const FactKind low : {FactKind::contact_open, FactKind::signal_off})
      add([low](const Fact& fact) { return fact.kind == low; });
  }

  /// The settled value by the first division of each cell that the facts' ranges cut.
  void cells() {
    constexpr std::int64_t kLow = std::numeric_limits<std::int64_t>::min();
    std::set<std::int64_t> firsts{kLow};
    for (const Fact* fact : variable_.facts) {
      if (fact->kind == FactKind::scale_empty) firsts.insert(empty_end(*fact));
      if (fact->kind != FactKind::in_window) continue;
      const model::Window& window = window_of(*fact);
      if (window.low) firsts.insert(*window.low);
      if (window.high) firsts.insert(*window.high + 1);
    }
    for (const std::int64_t value : firsts)
      add([&](const Fact& fact) {
        if (fact.kind == FactKind::scale_empty) return value < empty_end(fact);
        return fact.kind == FactKind::in_window && holds(window_of(fact), value);
      });
  }
  const model::Window& window_of(const Fact& fact) const {
    return room_.props[model::index(fact.prop)].windows[model::index(fact.window)];
  }
  std::int64_t empty_end(const Fact& fact) const {
    const model::Input& scale = room_.inputs[model::index(fact.input)];
    return scale.division > 0 ? (scale.empty_below + scale.division - 1) / scale.division : 0;
  }
  static bool holds(const model::Window& window, std::int64_t value) {
    if (window.is_empty) return false;
    const bool from = !window.low || value >= *window.low;
    const bool to = !window.high || value <= *window.high;
    const bool over_seam = window.low && window.high && *window.low > *window.high;
    return over_seam ? from || to : from && to;
  }

  void tags() {
    add([](const Fact& fact) { return fact.kind == FactKind::reads_nothing; });
    const auto any = [](const Fact& fact) {
      return fact.kind == FactKind::reads_anything || fact.kind == FactKind::reads_other;
    };
    add(any);  // of nobody in the question
    for (const Fact* named : variable_.facts) {
      if (named->kind != FactKind::reads_thing && named->kind != FactKind::reads_other) continue;
      add([&](const Fact& fact) {
        if (fact.kind == FactKind::reads_thing) return fact.thing == named->thing;
        if (fact.kind == FactKind::reads_other) return fact.thing != named->thing;
        return fact.kind == FactKind::reads_anything;
      });
    }
  }

  void prop() {
    const model::PropId id = variable_.facts.front()->prop;
    const bool own = within_ != nullptr && within_->prop == id;
    if (!own) add([](const Fact& fact) { return fact.kind == FactKind::prop_waiting; });
    if (!own) unheard();
    for (std::size_t n = 0; n < room_.props[model::index(id)].states.size(); ++n) {
      const auto state = static_cast<model::StateId>(n);
      const bool possible =
          !own || std::find(within_->states.begin(), within_->states.end(), state) != within_->states.end();
      if (possible)
        add([state](const Fact& fact) {
          return fact.kind == FactKind::prop_in_state && fact.state == state;
        });
    }
  }

  void numbers(bool place) {
    unheard();
    const Fact& first = *variable_.facts.front();
    const model::Prop& prop = room_.props[model::index(first.prop)];
    const std::int64_t low = place ? 0 : prop.counters[first.item].low;
    const std::int64_t high = place ? static_cast<std::int64_t>(prop.sequences[first.item].steps.size())
                                    : prop.counters[first.item].high;
    for (std::int64_t value = low; value <= high; ++value)
      add([value](const Fact& fact) {
        switch (fact.kind) {
          case FactKind::counter_is:
          case FactKind::sequence_is:
            return value == fact.value;
          case FactKind::counter_above:
          case FactKind::sequence_above:
            return value > fact.value;
          default:
            return value < fact.value;
        }
      });
  }

  /// How much has passed, or how much is left, between the times that are asked for.
  void clock(bool past) {
    const auto mark = [this](const Fact& fact) {
      if (fact.kind != FactKind::timer_done) return fact.value;
      return room_.props[model::index(fact.prop)].timers[fact.item].length_ms;
    };
    none();  // it does not run, or it is too early for all of them
    for (const Fact* reached : variable_.facts)
      add([&](const Fact& fact) {
        return past ? mark(fact) <= mark(*reached) : mark(fact) >= mark(*reached);
      });
  }

  void output() {
    unheard();
    for (const FactKind level :
         {FactKind::output_on, FactKind::output_off, FactKind::lock_released, FactKind::lock_secured})
      if (has(level)) add([level](const Fact& fact) { return fact.kind == level; });
    const bool lock = has(FactKind::lock_released) || has(FactKind::lock_secured);
    if (!has(FactKind::lock_released) || !has(FactKind::lock_secured)) none();
    if (lock) return;
    for (const Fact* at : variable_.facts)
      if (at->kind == FactKind::output_at)
        add([at](const Fact& fact) { return fact.kind == FactKind::output_at && fact.value == at->value; });
  }
  bool has(FactKind kind) const {
    return std::any_of(variable_.facts.begin(), variable_.facts.end(),
                       [kind](const Fact* fact) { return fact->kind == kind; });
  }
};

class Asked {
 public:
  void take(const Cond& cond) {
    if (cond.kind == CondKind::fact) {
      std::size_t at = 0;
      while (at < distinct_.size() && !(*distinct_[at] == cond.fact)) ++at;
      if (at == distinct_.size()) distinct_.push_back(&cond.fact);
      fact_number_[&cond.fact] = at;
    }
    for (const Cond& part : cond.parts) take(part);
  }

  /// False when there is too much to go through.
  bool prepare(const model::Room& room, const Situations::Within* within) {
    std::map<Key, std::size_t> known;
    for (std::size_t n = 0; n < distinct_.size(); ++n) {
      const Key key = key_of(*distinct_[n], n);
      const auto [at, fresh] = known.emplace(key, variables_.size());
      if (fresh) {
        variables_.emplace_back();
        subjects_.push_back(std::get<0>(key));
      }
      Variable& variable = variables_[at->second];
      if (variable.facts.size() == kMostFacts) return false;
      bits_.push_back({at->second, variable.facts.size()});
      variable.facts.push_back(distinct_[n]);
    }
    situations_ = 1;
    for (std::size_t n = 0; n < variables_.size(); ++n) {
      Values(room, within, variables_[n]).all(subjects_[n]);
      situations_ *= variables_[n].rows.size();
      if (situations_ > kMostAtOnce) return false;
    }
    return true;
  }
  std::size_t situations() const { return situations_; }

  /// Whether the one condition asks for nothing that the other asks for.
  bool apart(const Cond& one, const Cond& other) const {
    std::set<std::size_t> asked;
    each_fact(one, [&](const Fact& fact, Span) { asked.insert(bits_[fact_number_.at(&fact)].first); });
    bool shared = false;
    each_fact(other, [&](const Fact& fact, Span) {
      shared = shared || asked.count(bits_[fact_number_.at(&fact)].first) > 0;
    });
    return !shared;
  }

  bool some(const Cond& wanted, const std::vector<const Cond*>& unwanted) {
    std::vector<std::size_t> at(variables_.size());
    for (std::size_t count = 0; count < situations_; ++count) {
      for (std::size_t n = 0; n < at.size(); ++n) variables_[n].now = variables_[n].rows[at[n]];
      if (truth(wanted) &&
          std::none_of(unwanted.begin(), unwanted.end(), [this](const Cond* cond) { return truth(*cond); }))
        return true;
      for (std::size_t n = 0; n < at.size(); ++n) {
        if (++at[n] < variables_[n].rows.size()) break;
        at[n] = 0;
      }
    }
    return false;
  }

 private:
  std::vector<const Fact*> distinct_;
  std::map<const Fact*, std::size_t> fact_number_;
  std::vector<std::pair<std::size_t, std::size_t>> bits_;  // of a distinct fact: variable, bit
  std::vector<Variable> variables_;
  std::vector<Matter> subjects_;
  std::size_t situations_ = 0;

  bool truth(const Cond& cond) const {
    const auto part_holds = [this](const Cond& part) { return truth(part); };
    switch (cond.kind) {
      case CondKind::always:
        return true;
      case CondKind::fact: {
        const auto [variable, bit] = bits_[fact_number_.at(&cond.fact)];
        return (variables_[variable].now >> bit & 1) != 0;
      }
      case CondKind::all:
        return std::all_of(cond.parts.begin(), cond.parts.end(), part_holds);
      case CondKind::any:
        return std::any_of(cond.parts.begin(), cond.parts.end(), part_holds);
      case CondKind::not_:
        return !truth(cond.parts.front());
      case CondKind::at_least:
        return std::count_if(cond.parts.begin(), cond.parts.end(), part_holds) >= cond.count;
      case CondKind::exactly:
        return std::count_if(cond.parts.begin(), cond.parts.end(), part_holds) == cond.count;
    }
    return true;
  }
};

std::size_t facts_in(const Cond& cond) {
  std::size_t count = cond.kind == CondKind::fact ? 1 : 0;
  for (const Cond& part : cond.parts) count += facts_in(part);
  return count;
}

}  // namespace

std::optional<bool> Situations::can_be(const Cond& wanted, const std::vector<const Cond*>& unwanted,
                                       const Within* within) {
  constexpr std::size_t kMostWritten = 200;
  std::size_t written = facts_in(wanted);
  for (const Cond* cond : unwanted) written += facts_in(*cond);
  if (written > kMostWritten) return std::nullopt;
  Asked question;
  question.take(wanted);
  for (const Cond* cond : unwanted) question.take(*cond);
  if (!question.prepare(room_, within) || question.situations() > left_) return std::nullopt;
  if (unwanted.size() == 1 && question.apart(wanted, *unwanted.front())) return std::nullopt;
  left_ -= question.situations();
  return question.some(wanted, unwanted);
}

}  // namespace lw
