// Options by their shapes, each once and of its statement: see build.hpp, grammar/options.def.
#include <cassert>

#include "syntax/build.hpp"
#include "syntax/option_table.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;
using ast::OptionKind;
using ast::OptionValue;

enum class OptionShape : std::uint8_t {
  flag,
  time,
  quantity,
  pair,
  text,
  texts,
  count,
  word,
  names,
  level,
  terminals,
  starts
};
constexpr OptionShape kShapes[] = {
#define LW_OPTION(kind, written, shape) OptionShape::shape,
#include "grammar/options.def"
};

}  // namespace

ast::Options Builder::options(Index at, Token owner) {
  ast::Options options;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::stray && owner != w_sequence) take_stray(c);
    if (kind(c) != NodeKind::option) continue;
    const std::size_t begin = node(c).begin;
    const std::optional<OptionKind> option = option_of(token(begin));
    assert(option);
    if (!takes(owner, *option)) {
      say(tokens_.span(begin), no_such_option(tokens_.meant(begin), written(owner), option_words_of(owner)));
      continue;
    }
    bool twice = false;
    for (const ast::Option& other : options) twice = twice || other.kind == *option;
    if (twice) {
      say(tokens_.span(begin), option_twice(tokens_.meant(begin), written(owner)));
      continue;
    }
    std::optional<OptionValue> value;
    if (!whole(c, [&] { value = option_value(c, *option); }) || !value) {
      whole_ = false;
      continue;  // its mistake is reported; half a value would lead to more
    }
    options.push_back({*option, word(begin), std::move(*value), span(c)});
  }
  return options;
}

std::optional<OptionValue> Builder::option_value(Index at, OptionKind option) {
  const Index child = first(at);
  const bool has_child = inside(child, at);
  const std::string_view unit = unit_for(option);
  const Sign sign = option == OptionKind::from ? Sign::allowed : Sign::no;
  const OptionShape shape = kShapes[static_cast<std::size_t>(option)];
  if (shape == OptionShape::flag) return OptionValue();
  if (!has_child) return std::nullopt;
  switch (shape) {
    case OptionShape::flag:
      break;
    case OptionShape::time:
    case OptionShape::quantity:
      return value(child, unit, sign);
    case OptionShape::pair: {
      const Index second = next(child);
      if (!inside(second, at)) return std::nullopt;
      const std::string_view second_unit = option == OptionKind::supply ? "A"
                                           : option == OptionKind::run  ? "mm2"
                                                                        : unit;
      return ast::ValuePair{value(child, unit, sign), value(second, second_unit, sign)};
    }
    case OptionShape::text:
      return text(child);
    case OptionShape::texts: {
      std::vector<ast::Text> texts;
      for (Index c = child; inside(c, at); c = next(c)) texts.push_back(text(c));
      return texts;
    }
    case OptionShape::count:
      return whole_number(node(child).begin);
    case OptionShape::word:
      return word(node(child).begin);
    case OptionShape::names:
      return names_in(at);
    case OptionShape::level:
      return level(child);
    case OptionShape::terminals:
      return terminals(child);
    case OptionShape::starts: {
      ast::Starts starts;
      if (kind(child) == NodeKind::by_operator) {
        if (inside(first(child), child)) starts.label = text(first(child));
      } else if (inside(first(child), child)) {
        starts.when = held(first(child));
      }
      return starts;
    }
  }
  return std::nullopt;
}

ast::Terminals Builder::terminals(Index at) {
  ast::Terminals terminals;
  terminals.span = span(at);
  bool has_first = false;
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::quantity) {
      terminals.up_to = quantity(node(c).begin, "A", Sign::no);
    } else if (!has_first) {
      terminals.first = terminal(c);
      has_first = true;
    } else {
      terminals.last = terminal(c);
    }
  }
  return terminals;
}

}  // namespace lw::syntax
