// Statements, and the file that they stand in: see build.hpp.
#include <cassert>

#include "syntax/build.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

constexpr Token kInputs[] = {w_scale, w_gauge, w_contact, w_button, w_reader, w_keypad, w_signal};
constexpr Token kOutputs[] = {w_lamp, w_relay, w_motor, w_lock, w_voice};

template <typename Kind, std::size_t N>
Kind kind_of(const Token (&words)[N], Token word) {
  for (std::size_t i = 0; i < N; ++i) {
    if (words[i] == word) return static_cast<Kind>(i);
  }
  assert(false);
  return Kind{};
}

}  // namespace

ast::File Builder::file() {
  ast::File file;
  file.id = tokens_.file;
  const std::size_t reported = mistakes_.count();
  std::vector<ast::Accept> accepts;
  const Index end = static_cast<Index>(nodes_.size());
  const bool begins_well = end > 0 && kind(0) == NodeKind::language;
  if (!begins_well) {
    Span place = tokens_.span(0);
    if (tokens_.size() == 0) place.begin = place.end = 0;
    say(place, no_language());
  }
  for (Index at = 0; at < end; at = next(at)) {
    switch (kind(at)) {
      case NodeKind::language:
        file.language = language(at);
        break;
      case NodeKind::late_language:
        // A language that comes too late is one mistake, with what should have stood first.
        if (begins_well) say(span(at), late_language());
        break;
      case NodeKind::accept:
        accepts.push_back(accept(at));
        break;
      case NodeKind::stray:
        take_stray(at);
        if (!file.statements.empty()) file.statements.back().whole = false;
        break;
      default:
        statement(at, accepts, file);
        break;
    }
  }
  file.stray = std::move(stray_);
  file.whole = clean_ && reported == mistakes_.count();
  file.mended = tokens_.mended_text;
  return file;
}

void Builder::statement(Index at, std::vector<ast::Accept>& accepts, ast::File& file) {
  ast::Statement statement;
  const bool is_prop = kind(at) == NodeKind::prop_of_design || kind(at) == NodeKind::prop_of_parts;
  const std::size_t begin = is_prop ? node(at).begin - 1 : node(at).begin;
  statement.word = tokens_.span(begin);
  statement.span = node(at).end > begin ? tokens_.span(begin, node(at).end) : statement.word;
  bool known = true;
  statement.whole = whole(at, [&] { known = form_of_statement(at, statement); });
  if (!known) return;
  statement.accepts = std::move(accepts);
  accepts.clear();
  file.statements.push_back(std::move(statement));
}

bool Builder::form_of_statement(Index at, ast::Statement& statement) {
  // The names and texts that stand in it, in order; those that could not be read are empty.
  std::vector<ast::Name> names;
  ast::Text text_in;
  const auto take_names = [&] {
    for (Index c = first(at); inside(c, at); c = next(c)) {
      if (kind(c) == NodeKind::name || kind(c) == NodeKind::reserved_name) names.push_back(name(c));
      if (kind(c) == NodeKind::text) text_in = text(c);
    }
  };
  const auto nth = [&names](std::size_t i) { return i < names.size() ? names[i] : ast::Name(); };
  switch (kind(at)) {
    case NodeKind::use:
    case NodeKind::clip: {
      take_names();
      const Index written_path = child(at, NodeKind::text);
      if (written_path != at) text_in = path(written_path);
      if (kind(at) == NodeKind::use) {
        statement.form = ast::Use{text_in, std::nullopt};
      } else {
        statement.form = ast::Clip{nth(0), text_in};
      }
      return true;
    }
    case NodeKind::room:
      take_names();
      statement.form = ast::Room{text_in, options(at, w_room)};
      return true;
    case NodeKind::board:
      take_names();
      statement.form = ast::Board{nth(0), options(at, w_board)};
      return true;
    case NodeKind::controller:
      take_names();
      statement.form = ast::Controller{nth(0), nth(1), options(at, w_controller)};
      return true;
    case NodeKind::link:
      statement.form = link(at);
      return true;
    case NodeKind::thing:
      statement.form = thing(at);
      return true;
    case NodeKind::input: {
      ast::Input input;
      input.kind = kind_of<ast::InputKind>(kInputs, first_token(at));
      device(at, input.names, input.hangs, input.options);
      statement.form = std::move(input);
      return true;
    }
    case NodeKind::output: {
      ast::Output output;
      output.kind = kind_of<ast::OutputKind>(kOutputs, first_token(at));
      device(at, output.names, output.hangs, output.options);
      statement.form = std::move(output);
      return true;
    }
    case NodeKind::cue:
      take_names();
      statement.form = ast::Cue{nth(0), nth(1), text_in};
      return true;
    case NodeKind::let:
      statement.form = let(at);
      return true;
    case NodeKind::design: {
      ast::Design design;
      take_names();
      design.name = nth(0);
      design.parts = parts(first(at), next(at), true);
      statement.form = std::move(design);
      return true;
    }
    case NodeKind::prop_of_parts:
      statement.form = prop_of_parts(at);
      return true;
    case NodeKind::prop_of_design:
      statement.form = prop_of_design(at);
      return true;
    case NodeKind::wordless_prop: {
      if (!inside(first(at), at)) return false;
      ast::Prop prop = prop_of_parts(first(at));
      say(prop.name.span, wordless(prop.name.text, "prop"));
      statement.form = std::move(prop);
      return true;
    }
    case NodeKind::chain:
      statement.form = chain(at);
      return true;
    case NodeKind::promise:
      statement.form = promise(at);
      return true;
    case NodeKind::rehearsal:
      statement.form = rehearsal(at);
      return true;
    default:
      return false;
  }
}

ast::Language Builder::language(Index at) {
  ast::Language language;
  language.span = span(at);
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) != NodeKind::whole) continue;
    const std::size_t reported = mistakes_.count();
    language.version = whole_number(node(c).begin);
    const bool told = reported != mistakes_.count() || tokens_.has(node(c).begin, Tokens::kReported);
    if (!told && language.version.value != 1) say(span(c), unknown_language(tokens_.written(node(c).begin)));
  }
  return language;
}

ast::Link Builder::link(Index at) {
  ast::Link link;
  bool named = false;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) != NodeKind::name && kind(c) != NodeKind::reserved_name) continue;
    if (!named) {
      link.name = name(c);
      named = true;
    } else {
      link.joins.push_back(name(c));
    }
  }
  link.options = options(at, w_link);
  return link;
}

ast::Thing Builder::thing(Index at) {
  ast::Thing thing;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::name || kind(c) == NodeKind::reserved_name) thing.name = name(c);
    if (kind(c) == NodeKind::quantity) {
      (thing.mass ? thing.tolerance : thing.mass) = quantity(node(c).begin, "g", Sign::no);
    }
  }
  thing.options = options(at, w_thing);
  return thing;
}

void Builder::device(Index at, ast::Names& names, ast::Hangs& where, ast::Options& given) {
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::device_names: {
        names.span = span(c);
        bool has_first = false;
        for (Index n = first(c); inside(n, c); n = next(n)) {
          if (has_first) {
            names.last = name(n);
          } else {
            names.first = name(n);
            has_first = true;
          }
        }
        break;
      }
      case NodeKind::at_terminal:
      case NodeKind::by_label:
      case NodeKind::over_link:
        where = hangs(c);
        break;
      default:
        break;
    }
  }
  given = options(at, first_token(at));
}

ast::Hangs Builder::hangs(Index at) {
  ast::Hangs hangs;
  hangs.span = span(at);
  using Kind = ast::Hangs::Kind;
  hangs.kind = kind(at) == NodeKind::at_terminal ? Kind::at
               : kind(at) == NodeKind::by_label  ? Kind::by_operator
                                                 : Kind::over;
  bool has_first = false;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::name:
        hangs.on = name(c);
        break;
      case NodeKind::text:
        hangs.text = text(c);
        break;
      case NodeKind::terminal:
        if (has_first) {
          hangs.last = terminal(c);
        } else {
          hangs.first = terminal(c);
          has_first = true;
        }
        break;
      default:
        break;
    }
  }
  return hangs;
}

ast::Prop Builder::prop_of_parts(Index at) {
  ast::Prop prop;
  bool named = false;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) != NodeKind::name && kind(c) != NodeKind::reserved_name) continue;
    (named ? prop.controller : prop.name) = name(c);
    named = true;
  }
  prop.parts = parts(first(at), next(at), false);
  return prop;
}

ast::Prop Builder::prop_of_design(Index at) {
  ast::Prop prop;
  std::vector<ast::Name> names;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::name || kind(c) == NodeKind::reserved_name) names.push_back(name(c));
    if (kind(c) == NodeKind::stray) take_stray(c);
    if (kind(c) != NodeKind::given) continue;
    ast::Given given;
    given.span = span(c);
    if (!node(c).whole) whole_ = false;
    for (Index g = first(c); inside(g, c); g = next(g)) {
      if (kind(g) == NodeKind::name) given.place = name(g);
      if (kind(g) == NodeKind::time) given.value = value(g, "s");
    }
    prop.given.push_back(std::move(given));
  }
  prop.name = names.empty() ? ast::Name() : names[0];
  prop.design = names.size() > 1 ? names[1] : ast::Name();
  prop.controller = names.size() > 2 ? names[2] : ast::Name();
  return prop;
}

ast::Chain Builder::chain(Index at) {
  ast::Chain chain;
  for (Index w = first(at); inside(w, at); w = next(w)) {
    if (kind(w) == NodeKind::stray) take_stray(w);
    if (kind(w) != NodeKind::way) continue;
    ast::Chain::Way way;
    way.span = span(w);
    if (!node(w).whole) whole_ = false;
    for (Index c = first(w); inside(c, w); c = next(c)) {
      if (kind(c) == NodeKind::cond) way.cond = cond(c);
      if (kind(c) == NodeKind::name) way.props.push_back(name(c));
    }
    if (!way.props.empty()) chain.ways.push_back(std::move(way));
  }
  return chain;
}

ast::Promise Builder::promise(Index at) {
  ast::Promise promise;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    switch (kind(c)) {
      case NodeKind::text:
        promise.title = text(c);
        break;
      case NodeKind::never:
        if (auto what = cond_in(c)) promise.form = ast::Never{std::move(*what)};
        break;
      case NodeKind::can_reach:
        if (auto what = cond_in(c)) promise.form = ast::CanReach{std::move(*what)};
        break;
      case NodeKind::not_before:
        promise.form = ast::NotBefore{time_in(c)};
        break;
      case NodeKind::then_within: {
        ast::ThenWithin then;
        bool has_first = false;
        for (Index p = first(c); inside(p, c); p = next(p)) {
          if (kind(p) == NodeKind::time) then.time = value(p, "s");
          if (kind(p) != NodeKind::cond) continue;
          (has_first ? then.then : then.first) = cond(p);
          has_first = true;
        }
        // Half of it would read as another promise.
        if (node(c).whole) promise.form = std::move(then);
        break;
      }
      default:
        break;
    }
  }
  return promise;
}

}  // namespace lw::syntax
