// Conditions, and those that can be read in two ways: see build.hpp.
#include <cassert>

#include "syntax/build.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

}  // namespace

std::optional<ast::Cond> Builder::cond_in(Index at) {
  const Index c = child(at, NodeKind::cond);
  if (c == at) return std::nullopt;
  return cond(c);
}

ast::Cond Builder::cond(Index at) {
  std::vector<ast::Cond> terms;
  Index joint = at;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::all_of || kind(c) == NodeKind::some_of) {
      joint = c;
    } else if (kind(c) == NodeKind::mixed) {
      report_mixed(at, joint, c);
    } else {
      terms.push_back(term(c));
      continue;
    }
    for (Index t = first(c); inside(t, c); t = next(t)) terms.push_back(term(t));
  }
  if (joint == at) {
    if (terms.empty()) {
      ast::Cond nothing;
      nothing.span = span(at);
      nothing.fact.span = nothing.span;
      return nothing;
    }
    return std::move(terms.front());
  }
  ast::Cond joined;
  joined.kind = kind(joint) == NodeKind::all_of ? ast::Cond::Kind::all : ast::Cond::Kind::some;
  joined.span = span(at);
  joined.terms = std::move(terms);
  return joined;
}

// `a and b or c`: once with the brackets round what `and` joins, once round what `or` joins.
void Builder::report_mixed(Index at, Index joint, Index mixed_node) {
  std::vector<Index> terms;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (c != joint && c != mixed_node) terms.push_back(c);
  }
  for (const Index list : {joint, mixed_node}) {
    for (Index c = first(list); inside(c, list); c = next(c)) terms.push_back(c);
  }
  const auto reading = [&](Token tight) {
    std::string text;
    for (std::size_t i = 0; i < terms.size();) {
      std::size_t last = i;
      while (last + 1 < terms.size() && token(node(terms[last + 1]).begin - 1) == tight) ++last;
      if (i > 0) text += tight == w_and ? " or " : " and ";
      const std::string group = plain(node(terms[i]).begin, node(terms[last]).end);
      text += last > i ? "(" + group + ")" : group;
      i = last + 1;
    }
    return text;
  };
  say(span(at), mixed(reading(w_and), reading(w_or)));
}

// A condition of several facts with no brackets round it.
bool Builder::is_open(Index cond, NodeKind joint) const {
  for (Index c = first(cond); inside(c, cond); c = next(c)) {
    if (kind(c) == joint) return true;
    if (kind(c) == NodeKind::mixed) return false;  // reported already
  }
  return false;
}

// In a list that commas join, `or` needs brackets. `all_count`: the commas mean `and`.
void Builder::check_commas(const std::vector<Index>& conds, bool all_count) {
  if (conds.size() < 2) return;
  std::size_t with_or = 0;
  while (with_or < conds.size() && !is_open(conds[with_or], NodeKind::some_of)) ++with_or;
  if (with_or == conds.size()) return;

  // Either the brackets stand round each `or`, or the commas hold closer than it does.
  std::string bracketed;
  std::string commas_first;
  std::size_t group = 0;  // where the present group of `commas_first` begins
  std::size_t in_group = 0;
  const auto end_group = [&] {
    if (in_group > 1) commas_first.insert(group, "(").append(")");
    in_group = 0;
  };
  for (const Index cond : conds) {
    const bool is_or = is_open(cond, NodeKind::some_of);
    bracketed += (bracketed.empty() ? "" : ", ") + (is_or ? "(" + plain(cond) + ")" : plain(cond));
    if (in_group > 0) commas_first += " and ";
    if (!is_or) {
      commas_first += plain(cond);
      ++in_group;
      continue;
    }
    std::vector<Index> terms{first(cond)};
    const Index joint = next(first(cond));
    for (Index c = first(joint); inside(c, joint); c = next(c)) terms.push_back(c);
    for (std::size_t i = 0; i < terms.size(); ++i) {
      if (i > 0) {
        end_group();
        commas_first += " or ";
        group = commas_first.size();
      }
      commas_first += plain(terms[i]);
      ++in_group;
    }
  }
  end_group();
  if (!all_count) {
    commas_first = plain(conds[with_or]);
    for (std::size_t at = commas_first.find(" or "); at != std::string::npos;
         at = commas_first.find(" or ")) {
      commas_first.replace(at, 4, ", ");
    }
  }
  say(span(conds[with_or]), comma_with_or(bracketed, commas_first));
}

ast::Cond Builder::term(Index at) {
  ast::Cond result;
  result.span = span(at);
  switch (kind(at)) {
    case NodeKind::fact:
      result.kind = ast::Cond::Kind::fact;
      result.fact = fact(at);
      break;
    case NodeKind::bracketed:
      for (Index c = first(at); inside(c, at); c = next(c)) {
        if (kind(c) == NodeKind::cond) result = cond(c);
      }
      result.span = span(at);
      break;
    case NodeKind::negation:
      result.kind = ast::Cond::Kind::no;
      for (Index c = first(at); inside(c, at); c = next(c)) result.terms.push_back(term(c));
      break;
    case NodeKind::count_of: {
      result.kind = first_token(at) == w_any ? ast::Cond::Kind::any : ast::Cond::Kind::exactly;
      std::vector<Index> conds;
      for (Index c = first(at); inside(c, at); c = next(c)) {
        if (kind(c) == NodeKind::whole) result.count = whole_number(node(c).begin);
        if (kind(c) != NodeKind::cond) continue;
        conds.push_back(c);
        result.terms.push_back(cond(c));
      }
      check_commas(conds, false);
      break;
    }
    default:
      assert(false);
  }
  return result;
}

// Whether this file declares a counter or a sequence of that name.
bool Builder::declares_count(std::string_view name) {
  if (!counts_) {
    counts_.emplace();
    for (std::size_t at = 0; at + 1 < tokens_.size(); ++at)
      if (token(at) == w_counter || token(at) == w_sequence) counts_->insert(tokens_.written(at + 1));
  }
  return counts_->count(name) != 0;
}

ast::Fact Builder::fact(Index at) {
  ast::Fact fact;
  fact.span = span(at);
  const std::size_t begin = node(at).begin;
  fact.subject = word(begin);
  using ast::Predicate;
  bool subject = is_name(token(begin));
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (subject && kind(c) == NodeKind::name) {
      subject = false;
      continue;
    }
    if (kind(c) == NodeKind::member) {
      fact.member = word(node(c).begin);
      continue;
    }
    fact.word = word(node(c).begin);
    const Index operand = first(c);
    const bool has_operand = inside(operand, c);
    const auto number_or_quantity = [&](Predicate predicate) {
      fact.predicate = predicate;
      if (!has_operand) return;
      const std::size_t t = node(operand).begin;
      if (token(t) == quantity_) {
        fact.operand = quantity(t, "g", Sign::allowed);
      } else {
        fact.operand = whole_number(t);
      }
    };
    const auto time = [&](Predicate predicate) {
      fact.predicate = predicate;
      if (!has_operand) return;
      std::visit([&fact](auto&& alternative) { fact.operand = alternative; }, value(operand, "s"));
    };
    switch (kind(c)) {
      case NodeKind::reads:
        if (has_operand && kind(operand) == NodeKind::name) {
          fact.predicate = Predicate::reads;
          fact.operand = name(operand);
        } else if (has_operand && kind(operand) == NodeKind::anything) {
          const Index but = first(operand);
          fact.predicate = Predicate::reads_anything;
          if (inside(but, operand)) {
            fact.predicate = Predicate::reads_anything_but;
            fact.operand = name(but);
          }
        } else {
          fact.predicate = Predicate::reads_nothing;
        }
        break;
      case NodeKind::enters:
        fact.predicate = Predicate::enters;
        if (has_operand) fact.operand = text(operand);
        break;
      case NodeKind::is:
        fact.predicate = Predicate::is;
        if (has_operand) fact.operand = whole_number(node(operand).begin);
        break;
      case NodeKind::above:
        number_or_quantity(Predicate::above);
        break;
      case NodeKind::below:
        number_or_quantity(Predicate::below);
        break;
      case NodeKind::past:
        time(Predicate::past);
        break;
      case NodeKind::has_left:
        time(Predicate::has_left);
        break;
      case NodeKind::at_percent:
        fact.predicate = Predicate::at;
        if (has_operand) fact.operand = percent(operand);
        break;
      case NodeKind::plain_predicate: {
        const Token token = first_token(c);
        fact.predicate = token == w_blinking ? Predicate::blinking
                         : token == w_on     ? Predicate::on
                         : token == w_off    ? Predicate::off
                                             : Predicate::word;
        break;
      }
      case NodeKind::is_word:
      case NodeKind::late_not:
        fact.predicate = Predicate::word;
        if (has_operand) {
          fact.word = word(node(operand).begin);
          const std::string subject_text = plain(begin, node(c).begin);
          say(span(c), kind(c) == NodeKind::is_word ? said_with_is(subject_text, fact.word.text)
                                                    : late_not(subject_text, fact.word.text));
        }
        break;
      case NodeKind::late_word: {
        const std::size_t at_number = node(c).begin;
        const bool has_word = node(c).end > at_number + 1;
        const Token compares = has_word ? token(at_number + 1) : w_is;
        fact.predicate = compares == w_above   ? Predicate::above
                         : compares == w_below ? Predicate::below
                                               : Predicate::is;
        fact.operand = whole_number(at_number);
        say(span(c), late_word(plain(begin, at_number), plain(at_number, at_number + 1),
                               has_word ? plain(at_number + 1, at_number + 2) : std::string(),
                               declares_count(fact.member ? fact.member->text : fact.subject.text)));
        break;
      }
      default:
        assert(false);
    }
  }
  return fact;
}

ast::Held Builder::held(Index at) {
  ast::Held held;
  held.span = span(at);
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::cond) held.cond = cond(c);
    if (kind(c) != NodeKind::for_time) continue;
    held.time = time_in(c);
    const Index of = child(at, NodeKind::cond);
    const bool is_or = is_open(of, NodeKind::some_of);
    if (of == at || (!is_or && !is_open(of, NodeKind::all_of)) || held.cond.terms.empty()) continue;
    const Span last = held.cond.terms.back().span;
    say(span(c), open_for(plain(of), tokens_.text.substr(last.begin, last.end - last.begin),
                          plain(node(c).begin + 1, node(c).end), is_or));
  }
  return held;
}

}  // namespace lw::syntax
