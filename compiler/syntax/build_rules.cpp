// Rules and actions, and rules whose parts stand in the wrong order: see build.hpp.
#include <cassert>

#include "syntax/build.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

}  // namespace

ast::Keep Builder::keep(Index at) {
  ast::Keep keep;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::outputs:
        keep.outputs = names_in(c);
        break;
      case NodeKind::level:
        keep.level = level(c);
        break;
      case NodeKind::timed_keep:
        say(span(c), timed_keep(plain(node(at).begin, node(c).end)));
        break;
      case NodeKind::while_cond:
        keep.condition = cond_in(c);
        break;
      case NodeKind::longer:
        keep.longer = time_in(c);
        break;
      default:
        break;
    }
  }
  return keep;
}

ast::Tell Builder::tell(Index at) {
  ast::Tell tell;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::text) tell.text = text(c);
    if (kind(c) == NodeKind::while_cond) tell.condition = cond_in(c);
  }
  return tell;
}

// The parts of a rule as they stand, right or wrong. Of one that stands twice the first counts.
struct Builder::Clauses {
  std::optional<ast::Value> again;
  std::vector<ast::Action> actions;
  std::optional<ast::Name> target;
  std::optional<ast::Value> late_for;
  std::string for_text;
  std::string again_text;
  std::string actions_text;
  std::string move_text;
};

std::vector<ast::Action> Builder::actions(Index at, bool moves, std::string_view move) {
  std::vector<ast::Action> actions;
  bool empty = node(at).whole;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    empty = false;
    if (kind(c) == NodeKind::stray) {
      take_stray(c);
    } else {
      actions.push_back(action(c));
    }
  }
  if (empty) {
    say(span(at), no_actions(moves ? "leave the braces out and write `" + std::string(move) + "` alone."
                                   : "write an action in them, or take the line out."));
  }
  return actions;
}

std::vector<ast::Action> Builder::acts(Index at) {
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::actions) return actions(c, false, {});
    if (kind(c) == NodeKind::bare_action || kind(c) == NodeKind::bare_act) {
      say(span(c), bare_action(plain(c)));
      return {action(first(c))};
    }
  }
  return {};
}

// `from` is the first child behind condition or time, `head_end` the token behind those.
void Builder::clauses(Index at, Index from, std::size_t head_end, Clauses& found) {
  bool late = false;
  std::string_view twice;
  Index twice_at = at;
  const auto once = [&](std::string& slot, std::string text, std::string_view what, Index c) {
    if (slot.empty()) {
      slot = std::move(text);
      return true;
    }
    if (twice.empty()) {
      twice = what;
      twice_at = c;
    }
    return false;
  };
  Index target_at = at;
  Index actions_at = at;
  const auto take = [&](Index c) {
    switch (kind(c)) {
      case NodeKind::for_time:
        if (once(found.for_text, plain(c), "`for`", c)) found.late_for = time_in(c);
        break;
      case NodeKind::again:
        if (once(found.again_text, plain(c), "`again every`", c)) found.again = time_in(c);
        break;
      case NodeKind::actions:
        if (once(found.actions_text, plain(c), "actions", c)) actions_at = c;
        break;
      case NodeKind::bare_act:
        if (once(found.actions_text, "{ " + plain(c) + " }", "actions", c))
          found.actions = {action(first(c))};
        say(span(c), bare_action(plain(c)));
        break;
      case NodeKind::target:
        if (once(found.move_text, plain(node(c).begin - 1, node(c).end), "an arrow", c)) {
          found.target = name(c);
          target_at = c;
        }
        break;
      case NodeKind::stray:
        take_stray(c);
        break;
      default:
        break;
    }
  };
  Index late_at = at;
  for (Index c = from; inside(c, at); c = next(c)) {
    if (kind(c) != NodeKind::late_clauses) {
      take(c);
      continue;
    }
    late = true;
    late_at = c;
    for (Index l = first(c); inside(l, c); l = next(l)) take(l);
  }
  if (actions_at != at) found.actions = actions(actions_at, target_at != at, found.move_text);

  const auto ordered = [&](bool with_again) {
    std::string text = plain(node(at).begin, head_end);
    // Long actions are recognised by their braces.
    const std::string acts = found.actions_text.size() > 60 ? "{ … }" : found.actions_text;
    if (!found.for_text.empty()) text += " " + found.for_text;
    if (with_again && !found.again_text.empty()) text += " " + found.again_text;
    if (!acts.empty()) text += " " + acts;
    if (!found.move_text.empty()) text += " " + found.move_text;
    return text;
  };
  if (kind(at) == NodeKind::after && !found.for_text.empty()) {
    say(span(late_at), left_over({Found::Kind::token, "`for`"}, form_of(Level::inside, w_after)));
  } else if (!twice.empty()) {
    say(span(twice_at), clause_twice(twice));
  } else if (found.target && found.again) {
    say(span(at), again_with_move(ordered(false)));
  } else if (late) {
    say(span(late_at), out_of_order(ordered(true)));
  }
}

ast::When Builder::when(Index at) {
  ast::When when;
  Clauses found;
  Index from = first(at);
  std::size_t head_end = node(at).begin + 1;
  if (inside(from, at) && kind(from) == NodeKind::held) {
    when.held = held(from);
    const Index of = child(from, NodeKind::cond);
    head_end = of == from ? node(from).end : node(of).end;
    if (when.held.time) found.for_text = plain(head_end, node(from).end);
    from = next(from);
  }
  clauses(at, from, head_end, found);
  if (!when.held.time) when.held.time = found.late_for;
  when.again = found.again;
  when.actions = std::move(found.actions);
  when.target = found.target;
  return when;
}

ast::After Builder::after(Index at) {
  ast::After after;
  Clauses found;
  Index from = first(at);
  std::size_t head_end = node(at).begin + 1;
  if (inside(from, at) && kind(from) == NodeKind::time) {
    after.time = value(from, "s");
    head_end = node(from).end;
    from = next(from);
  }
  clauses(at, from, head_end, found);
  after.again = found.again;
  after.actions = std::move(found.actions);
  after.target = found.target;
  return after;
}

ast::Action Builder::action(Index at) {
  ast::Action action;
  action.span = span(at);
  if (!node(at).whole) whole_ = false;
  std::vector<ast::Name> names;
  ast::Number count;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::name) names.push_back(name(c));
    if (kind(c) == NodeKind::whole) count = whole_number(node(c).begin);
  }
  const auto nth = [&names](std::size_t i) { return i < names.size() ? names[i] : ast::Name(); };
  switch (kind(at)) {
    case NodeKind::keep_for: {
      ast::KeepFor keep;
      for (Index c = first(at); inside(c, at); c = next(c)) {
        if (kind(c) == NodeKind::outputs) keep.outputs = names_in(c);
        if (kind(c) == NodeKind::level) keep.level = level(c);
        if (kind(c) == NodeKind::time) keep.time = value(c, "s");
      }
      action.form = std::move(keep);
      break;
    }
    case NodeKind::play: {
      ast::Play play{nth(0), nth(1), std::nullopt};
      const Index loudness = child(at, NodeKind::loudness);
      if (loudness != at && inside(first(loudness), loudness)) play.loudness = percent(first(loudness));
      action.form = play;
      break;
    }
    case NodeKind::quiet:
      action.form = ast::Quiet{nth(0)};
      break;
    case NodeKind::start_timer:
      action.form = ast::StartTimer{nth(0)};
      break;
    case NodeKind::stop_timer:
      action.form = ast::StopTimer{nth(0)};
      break;
    case NodeKind::add:
      action.form = ast::AddTo{count, nth(0)};
      break;
    case NodeKind::take_from:
      action.form = ast::TakeFrom{count, nth(0)};
      break;
    case NodeKind::set_to:
      action.form = ast::SetTo{nth(0), count};
      break;
    case NodeKind::send:
      action.form = ast::Send{nth(0)};
      break;
    default:
      assert(false);
  }
  return action;
}

}  // namespace lw::syntax
