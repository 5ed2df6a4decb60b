// What a prop, a design and a state declare: see build.hpp. Rules and actions: build_rules.cpp.
#include <cassert>

#include "syntax/build.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

}  // namespace

std::vector<ast::Name> Builder::names_in(Index at) {
  std::vector<ast::Name> names;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::name) names.push_back(name(c));
  }
  return names;
}

ast::Let Builder::let(Index at) {
  ast::Let let;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::name:
      case NodeKind::reserved_name:
        let.name = name(c);
        break;
      case NodeKind::quantity:
        let.value = quantity(node(c).begin, "s", Sign::allowed);
        break;
      case NodeKind::cond:
        let.value = cond(c);
        break;
      default:
        break;
    }
  }
  return let;
}

ast::Window Builder::window(Index at) {
  ast::Window window;
  bool named = false;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::range) {
      window.range = range(c);
    } else if (!named) {
      window.name = name(c);
      named = true;
    } else {
      window.input = name(c);
    }
  }
  return window;
}

ast::Edge Builder::edge(Index at) {
  ast::Edge edge;
  edge.span = span(at);
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::quantity) edge.value = quantity(node(c).begin, "g", Sign::allowed);
    if (kind(c) == NodeKind::name) edge.value = name(c);
  }
  return edge;
}

ast::Addend Builder::addend(Index at) {
  ast::Addend addend;
  addend.span = span(at);
  if (first_token(at) == number && token(node(at).begin + 1) == times_)
    addend.count = whole_number(node(at).begin).value;
  for (Index c = first(at); inside(c, at); c = next(c)) addend.value = value(c, "g", Sign::allowed);
  return addend;
}

ast::Range Builder::range(Index at) {
  ast::Range range;
  range.span = span(at);
  using Kind = ast::Range::Kind;
  const Token begins = first_token(at);
  range.kind = begins == w_above     ? Kind::above
               : begins == w_below   ? Kind::below
               : begins == w_between ? Kind::between
                                     : Kind::to;
  bool low = begins != w_below;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::edge:
        (low ? range.low : range.high) = edge(c);
        low = false;
        break;
      case NodeKind::addend:
        range.sum.push_back(addend(c));
        break;
      case NodeKind::tolerance:
        range.kind = Kind::tolerance;
        for (Index v = first(c); inside(v, c); v = next(v)) {
          if (kind(v) == NodeKind::percent) {
            range.kind = Kind::percent;
            range.of_target = percent(v);
          } else {
            range.quantity = quantity(node(v).begin, "g", Sign::no);
          }
        }
        break;
      case NodeKind::up_to_end:
        for (Index v = first(c); inside(v, c); v = next(v))
          range.quantity = quantity(node(v).begin, "g", Sign::allowed);
        break;
      default:
        break;
    }
  }
  return range;
}

ast::Timer Builder::timer(Index at) {
  ast::Timer timer;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::time) {
      timer.time = value(c, "s");
    } else {
      timer.name = name(c);
    }
  }
  return timer;
}

ast::Counter Builder::counter(Index at) {
  ast::Counter counter;
  bool low = true;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::whole) {
      (low ? counter.low : counter.high) = whole_number(node(c).begin);
      low = false;
    } else {
      counter.name = name(c);
    }
  }
  return counter;
}

ast::Gap Builder::gap(Index at) {
  ast::Gap gap;
  gap.span = span(at);
  bool first_one = true;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    (first_one ? gap.first : gap.second) = quantity(node(c).begin, "ms", Sign::no);
    if (first_one) gap.spread = token(node(c).end) == plus_minus;
    first_one = false;
  }
  return gap;
}

ast::Sequence Builder::sequence(Index at) {
  ast::Sequence sequence;
  std::vector<Index> conds;
  bool after_step = false;  // a gap may follow
  std::vector<Index> lone;  // gaps without a step on both sides
  Index open_gap = at;      // that waits for its second step
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::name:
      case NodeKind::reserved_name:
        sequence.name = name(c);
        break;
      case NodeKind::each:
        for (Index h = first(c); inside(h, c); h = next(h)) sequence.each = held(h);
        break;
      case NodeKind::step:
        for (Index s = first(c); inside(s, c); s = next(s)) {
          if (kind(s) == NodeKind::gap) {
            if (!after_step) lone.push_back(s);
            open_gap = after_step ? s : at;
            after_step = false;
            sequence.steps.emplace_back(gap(s));
          } else if (kind(s) == NodeKind::cond) {
            after_step = true;
            open_gap = at;
            sequence.steps.emplace_back(cond(s));
            conds.push_back(s);
          } else if (kind(s) == NodeKind::lasting_step) {
            say(span(c), lasting_step());
          }
        }
        break;
      case NodeKind::stray:
        take_stray(c);
        break;
      default:
        break;
    }
  }
  if (open_gap != at) lone.push_back(open_gap);
  // Beside another mistake in the steps this one would be a cascade.
  bool clean = node(at).whole;
  for (std::size_t t = node(at).begin; t < node(at).end; ++t)
    clean = clean && !tokens_.has(t, Tokens::kReported);
  if (clean)
    for (const Index alone : lone) say(span(alone), lone_gap());
  check_commas(conds, false);
  sequence.options = options(at, w_sequence);
  return sequence;
}

ast::Ready Builder::ready(Index at) {
  ast::Ready ready;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::held) ready.held = held(c);
    if (kind(c) == NodeKind::text) ready.text = text(c);
  }
  return ready;
}

ast::In Builder::in(Index at) {
  ast::In in;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::every_state) in.every = true;
    if (kind(c) == NodeKind::name) in.states.push_back(name(c));
  }
  in.body = insides(first(at), next(at));
  return in;
}

ast::State Builder::state(Index at) {
  ast::State state;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::name:
      case NodeKind::reserved_name:
        state.name = name(c);
        break;
      case NodeKind::start_mark:
        state.start = span(c);
        break;
      case NodeKind::goal_mark:
        state.goal = span(c);
        break;
      default:
        break;
    }
  }
  state.body = insides(first(at), next(at));
  return state;
}

ast::Takes Builder::takes_places(Index at) {
  ast::Takes takes;
  for (Index p = first(at); inside(p, at); p = next(p)) {
    if (kind(p) != NodeKind::place) continue;
    ast::Takes::Place place;
    place.span = span(p);
    for (Index c = first(p); inside(c, p); c = next(c)) {
      switch (kind(c)) {
        case NodeKind::kind:
          place.kind = word(node(c).begin);
          break;
        case NodeKind::quantity:
          place.unless_given = quantity(node(c).begin, "s", Sign::no);
          break;
        default:
          place.name = name(c);
          break;
      }
    }
    takes.places.push_back(std::move(place));
  }
  return takes;
}

// What a prop and a state may both declare.
template <typename Form>
bool Builder::own(Index at, Form& form) {
  switch (kind(at)) {
    case NodeKind::let:
      form = let(at);
      return true;
    case NodeKind::window:
      form = window(at);
      return true;
    case NodeKind::timer:
      form = timer(at);
      return true;
    case NodeKind::counter:
      form = counter(at);
      return true;
    case NodeKind::sequence:
      form = sequence(at);
      return true;
    default:
      return false;
  }
}

std::vector<ast::Part> Builder::parts(Index from, Index end, bool in_design) {
  std::vector<ast::Part> parts;
  std::vector<ast::Accept> accepts;
  for (Index c = from; c < end; c = next(c)) {
    if (kind(c) == NodeKind::accept) {
      accepts.push_back(accept(c));
      continue;
    }
    if (kind(c) == NodeKind::stray) {
      take_stray(c);
      if (!parts.empty()) parts.back().whole = false;
      continue;
    }
    ast::Part part;
    part.span = span(c);
    bool is_part = true;
    part.whole = whole(c, [&] {
      if (own(c, part.form)) return;
      switch (kind(c)) {
        case NodeKind::ready:
          part.form = ready(c);
          break;
        case NodeKind::in:
          part.form = in(c);
          break;
        case NodeKind::state:
          part.form = state(c);
          break;
        case NodeKind::wordless_state: {
          ast::State wordless_one = state(c);
          say(wordless_one.name.span, wordless(wordless_one.name.text, "state"));
          part.form = std::move(wordless_one);
          break;
        }
        case NodeKind::takes:
          if (!in_design) say(tokens_.span(node(c).begin), outside_design());
          part.form = takes_places(c);
          break;
        default:
          is_part = false;
          break;
      }
    });
    if (!is_part) continue;
    part.accepts = std::move(accepts);
    accepts.clear();
    parts.push_back(std::move(part));
  }
  return parts;
}

std::vector<ast::Inside> Builder::insides(Index from, Index end) {
  std::vector<ast::Inside> insides;
  std::vector<ast::Accept> accepts;
  for (Index c = from; c < end; c = next(c)) {
    if (kind(c) == NodeKind::accept) {
      accepts.push_back(accept(c));
      continue;
    }
    if (kind(c) == NodeKind::stray) {
      take_stray(c);
      if (!insides.empty()) insides.back().whole = false;
      continue;
    }
    ast::Inside line;
    line.span = span(c);
    bool is_inside = true;
    line.whole = whole(c, [&] {
      if (own(c, line.form)) return;
      switch (kind(c)) {
        case NodeKind::keep:
          line.form = keep(c);
          break;
        case NodeKind::tell:
          line.form = tell(c);
          break;
        case NodeKind::enter:
          line.form = ast::Enter{acts(c)};
          break;
        case NodeKind::leave:
          line.form = ast::Leave{acts(c)};
          break;
        case NodeKind::when:
          line.form = when(c);
          break;
        case NodeKind::after:
          line.form = after(c);
          break;
        default:
          is_inside = false;
          break;
      }
    });
    if (!is_inside) continue;
    line.accepts = std::move(accepts);
    accepts.clear();
    insides.push_back(std::move(line));
  }
  return insides;
}

}  // namespace lw::syntax
