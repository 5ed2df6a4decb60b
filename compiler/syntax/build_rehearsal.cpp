// Rehearsals, their lines and deeds: see build.hpp.
#include "syntax/build.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

}  // namespace

ast::Rehearsal Builder::rehearsal(Index at) {
  ast::Rehearsal rehearsal;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::text:
        rehearsal.title = text(c);
        break;
      case NodeKind::stray:
        take_stray(c);
        if (!rehearsal.lines.empty()) rehearsal.lines.back().whole = false;
        break;
      case NodeKind::line: {
        ast::Line one;
        one.span = span(c);
        one.whole = whole(c, [&] { line(c, one); });
        rehearsal.lines.push_back(std::move(one));
        break;
      }
      default:
        break;
    }
  }
  return rehearsal;
}

void Builder::line(Index at, ast::Line& line) {
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::accept) {
      line.accepts.push_back(accept(c));
    } else if (kind(c) == NodeKind::moment) {
      using Moment = ast::Line::Moment;
      const Token begins = first_token(c);
      line.moment = begins == w_at ? Moment::at : begins == w_after ? Moment::after : Moment::within;
      line.time = time_in(c);
    } else {
      deed(c, line);
    }
  }
}

bool Builder::deed(Index at, ast::Line& line) {
  std::vector<ast::Name> names;
  std::optional<ast::Value> time;
  std::optional<ast::Quantity> amount;
  ast::Text text_in;
  ast::Name set_to;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::name:
        names.push_back(name(c));
        break;
      case NodeKind::time:
        time = value(c, "s");
        break;
      case NodeKind::for_time:
        time = time_in(c);
        break;
      case NodeKind::text:
        text_in = text(c);
        break;
      case NodeKind::set_word:
        set_to = word(node(c).begin);
        break;
      case NodeKind::quantity:
        amount = quantity(node(c).begin, kind(at) == NodeKind::load ? "g" : "deg",
                          kind(at) == NodeKind::turn ? Sign::allowed : Sign::no);
        break;
      default:
        break;
    }
  }
  const auto nth = [&names](std::size_t i) { return i < names.size() ? names[i] : ast::Name(); };
  switch (kind(at)) {
    case NodeKind::expect: {
      ast::Expect expect;
      std::vector<Index> conds;
      for (Index c = first(at); inside(c, at); c = next(c)) {
        if (kind(c) != NodeKind::cond) continue;
        conds.push_back(c);
        expect.conds.push_back(cond(c));
      }
      check_commas(conds, true);
      line.deed = std::move(expect);
      return true;
    }
    case NodeKind::place_deed:
    case NodeKind::take_deed: {
      const bool places = kind(at) == NodeKind::place_deed;
      const Index tag = child(at, NodeKind::place_tag);
      if (tag != at) {
        const ast::Text bytes = inside(first(tag), tag) ? text(first(tag)) : ast::Text();
        if (places)
          line.deed = ast::PlaceTag{bytes, nth(0)};
        else
          line.deed = ast::TakeTag{bytes, nth(0)};
        return true;
      }
      ast::Number count;
      count.value = 1;
      ast::Name what;
      const Index thing = child(at, NodeKind::place_thing);
      if (thing != at) {
        if (first_token(thing) == number) count = whole_number(node(thing).begin);
        for (Index c = first(thing); inside(c, thing); c = next(c)) what = name(c);
      }
      if (places)
        line.deed = ast::PlaceThing{count, what, nth(0)};
      else
        line.deed = ast::TakeOff{count, what, nth(0)};
      return true;
    }
    case NodeKind::load:
      line.deed = ast::Load{amount, nth(0)};
      return true;
    case NodeKind::press:
      line.deed = ast::Press{nth(0), time};
      return true;
    case NodeKind::set_input:
      line.deed = ast::SetInput{nth(0), set_to};
      return true;
    case NodeKind::turn:
      line.deed = ast::Turn{nth(0), amount};
      return true;
    case NodeKind::type:
      line.deed = ast::Type{text_in, nth(0)};
      return true;
    case NodeKind::lose:
      line.deed = ast::Lose{nth(0)};
      return true;
    case NodeKind::restore:
      line.deed = ast::Restore{nth(0)};
      return true;
    case NodeKind::restart:
      line.deed = ast::Restart{nth(0)};
      return true;
    case NodeKind::delay:
      line.deed = ast::Delay{nth(0), time};
      return true;
    case NodeKind::shift:
      line.deed = ast::Shift{nth(0), time};
      return true;
    case NodeKind::operator_deed: {
      ast::Operator deed;
      using Kind = ast::Operator::Kind;
      switch (token(node(at).begin + 1)) {
        case w_end:
          deed.kind = Kind::end;
          break;
        case w_reset:
          deed.kind = Kind::reset;
          break;
        case w_override:
          deed.kind = Kind::override_prop;
          break;
        default:
          deed.kind = Kind::start;
          break;
      }
      const Index prop = child(at, NodeKind::override_prop);
      if (prop != at && inside(first(prop), prop)) deed.prop = name(first(prop));
      if (node(at).whole) line.deed = deed;
      return true;
    }
    default:
      return false;
  }
}

}  // namespace lw::syntax
