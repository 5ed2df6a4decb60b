// Names, numbers, quantities, levels: see build.hpp.
#include <cassert>

#include "syntax/build.hpp"
#include "text/quantity.hpp"
#include "text/utf8.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

}  // namespace

Span Builder::span(Index at) const {
  const Node& n = node(at);
  if (n.end > n.begin) return tokens_.span(n.begin, n.end);
  Span place = tokens_.span(n.begin);
  place.end = place.begin;
  return place;
}

Builder::Index Builder::child(Index at, NodeKind kind) const {
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (nodes_[c].kind == kind) return c;
  }
  return at;
}

std::string Builder::plain(std::size_t begin, std::size_t end) const {
  std::string text;
  for (std::size_t i = begin; i < end; ++i) {
    if (i > begin && tokens_.places[i - 1].end < tokens_.places[i].begin) text += ' ';
    text += tokens_.meant(i);
  }
  return text;
}

void Builder::say(Span span, Wording wording) {
  whole_ = false;
  mistakes_.say(span, std::move(wording));
}

void Builder::take_stray(Index at) {
  whole_ = false;
  for (std::size_t i = node(at).begin; i < node(at).end; ++i) {
    if (is_name(token(i))) stray_.push_back(word(i));
  }
}

ast::Name Builder::word(std::size_t at) const { return {tokens_.meant(at), tokens_.span(at)}; }

ast::Name Builder::name(Index at) {
  if (kind(at) == NodeKind::reserved_name) say(span(at), reserved_name(tokens_.written(node(at).begin)));
  return word(node(at).begin);
}

ast::Text Builder::text(Index at) const {
  std::string_view raw = tokens_.written(node(at).begin);
  // Quotes that are not straight are longer, and the last may be missing.
  raw.remove_prefix(code_point_at(raw, 0).size);
  std::size_t last = raw.size();
  while (last > 0 && (static_cast<unsigned char>(raw[last - 1]) & 0xC0) == 0x80) --last;
  const bool reported = tokens_.has(node(at).begin, Tokens::kReported);
  if (!reported) {
    raw.remove_suffix(1);
  } else if (last > 0 && (last < raw.size() || raw.back() == '"' || raw.back() == '\'')) {
    raw = raw.substr(0, last - 1);
  }
  return {raw, span(at)};
}

ast::Text Builder::path(Index at) {
  const ast::Text written = text(at);
  if (written.raw.find('\\') != std::string_view::npos) say(written.span, backslash(written.raw));
  return written;
}

ast::Terminal Builder::terminal(Index at) const {
  if (first_token(at) == text_) return {text(at).raw, span(at)};
  return {tokens_.meant(node(at).begin), span(at)};
}

ast::Number Builder::whole_number(std::size_t at) {
  const Span place = tokens_.span(at);
  const std::string_view written = tokens_.written(at);
  if (tokens_.has(at, Tokens::kReported)) {  // `1e2`, `3,4`: said when it was scanned
    whole_ = false;
    return {0, place};
  }
  if (token(at) != number) {
    say(place, not_whole(written));
    return {0, place};
  }
  if (!written.empty() && written[0] == '-') {
    say(place, negative(written));
    return {0, place};
  }
  const Scaled scaled = scale_decimal(written, 1);
  if (scaled.fault != QuantityFault::none) {
    say(place, bad_quantity(Code::overflow, written, fault_reason(scaled.fault)));
  }
  return {scaled.value, place};
}

ast::Percent Builder::percent(Index at) {
  const Span place = span(at);
  const std::size_t t = node(at).begin;
  std::string_view digits = tokens_.meant(t);
  if (!digits.empty() && digits[0] == '-') {
    say(place, negative(tokens_.written(t)));
    return {0, place};
  }
  std::size_t end = 0;
  while (end < digits.size() && (is_digit(digits[end]) || digits[end] == '.')) ++end;
  const Scaled scaled = scale_decimal(digits.substr(0, end), 10000);
  if (scaled.fault != QuantityFault::none) {
    say(place, bad_quantity(scaled.fault == QuantityFault::overflow ? Code::overflow : Code::too_fine,
                            tokens_.written(t), fault_reason(scaled.fault)));
  }
  return {scaled.value, place};
}

// `unit` is one that the place may have, to be shown where it is missing.
ast::Quantity Builder::quantity(std::size_t at, std::string_view unit, Sign sign) {
  const Span place = tokens_.span(at);
  const std::string_view text = tokens_.written(at);
  const bool reported = tokens_.has(at, Tokens::kReported);
  if (token(at) != quantity_) {
    // A number that a mistake stands in is reported; of one with a comma the unit is still missing.
    if (!reported || tokens_.meant(at) != text) say(place, no_unit(tokens_.meant(at), unit));
    whole_ = false;
    return {{}, place};
  }
  std::size_t pos = 0;
  const bool minus = text[0] == '-';
  if (minus) ++pos;
  const auto mended = [&](std::size_t offset) -> std::string_view {
    if (!reported) return {};
    const auto found = tokens_.mended.find(place.begin + static_cast<std::uint32_t>(offset));
    return found == tokens_.mended.end() ? std::string_view() : found->second;
  };
  std::vector<QuantityPart> parts;
  while (pos < text.size()) {
    while (pos < text.size() && !is_digit(text[pos])) ++pos;
    const std::size_t number_begin = pos;
    while (pos < text.size() && (is_digit(text[pos]) || text[pos] == '.' || (text[pos] == ',' && reported)))
      ++pos;
    QuantityPart part;
    part.decimal = text.substr(number_begin, pos - number_begin);
    if (const std::string_view fixed = mended(parts.empty() ? 0 : number_begin); !fixed.empty())
      part.decimal = fixed;
    // Blanks of every kind end where a unit begins: at a letter, or at the first byte of µ or °.
    while (pos < text.size() && !std::isalpha(static_cast<unsigned char>(text[pos])) && text[pos] != '\xC2' &&
           text[pos] != '\xCE') {
      ++pos;
    }
    while (text.substr(pos, 2) == "\u00A0") pos += 2;
    while (pos < text.size() && text[pos] == ' ') ++pos;
    const std::size_t unit_begin = pos;
    // The digit of mm2 belongs to the unit; a digit behind a blank begins the next part.
    while (pos < text.size() && text[pos] != ' ' && text[pos] != '\t' && text[pos] != '\r' &&
           text[pos] != '\n' && !(is_digit(text[pos]) && text.substr(unit_begin, pos - unit_begin) != "mm")) {
      ++pos;
    }
    std::string_view spelling = text.substr(unit_begin, pos - unit_begin);
    if (const std::string_view fixed = mended(unit_begin); !fixed.empty()) spelling = fixed;
    const std::optional<Unit> found = unit_named(spelling);
    if (!found) {
      whole_ = false;  // reported by the scanner
      return {{}, place};
    }
    part.unit = *found;
    parts.push_back(part);
  }
  const ParsedQuantity parsed = make_quantity(parts, minus);
  if (parsed.fault != QuantityFault::none) {
    const Code code = parsed.fault == QuantityFault::overflow   ? Code::overflow
                      : parsed.fault == QuantityFault::too_fine ? Code::too_fine
                                                                : Code::bad_quantity;
    say(place, bad_quantity(code, text, fault_reason(parsed.fault)));
  } else if (minus && sign == Sign::no) {
    say(place, negative(text));
  }
  return {parsed.quantity, place};
}

ast::Value Builder::value(Index at, std::string_view unit, Sign sign) {
  const std::size_t t = node(at).begin;
  if (is_name(token(t))) return word(t);
  return quantity(t, unit, sign);
}

// The time that stands in a clause: `for 2 s`, `again every 5 s`.
std::optional<ast::Value> Builder::time_in(Index at) {
  const Index c = child(at, NodeKind::time);
  if (c == at) return std::nullopt;
  return value(c, "s");
}

ast::Level Builder::level(Index at) {
  ast::Level level;
  level.span = span(at);
  using Kind = ast::Level::Kind;
  switch (first_token(at)) {
    case w_on:
      level.kind = Kind::on;
      break;
    case w_off:
      level.kind = Kind::off;
      break;
    case w_released:
      level.kind = Kind::released;
      break;
    case w_secured:
      level.kind = Kind::secured;
      break;
    case w_at:
      level.kind = Kind::at;
      break;
    case w_blinking:
      level.kind = Kind::blinking;
      break;
    case w_playing:
      level.kind = Kind::playing;
      break;
    default:
      assert(false);
  }
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::percent) level.percent = percent(c);
    if (kind(c) == NodeKind::time) level.every = value(c, "ms");
    if (kind(c) == NodeKind::name) level.clip = name(c);
  }
  return level;
}

ast::Accept Builder::accept(Index at) {
  ast::Accept accept;
  accept.span = span(at);
  for (Index c = first(at); inside(c, at); c = next(c)) {
    if (kind(c) == NodeKind::name) accept.code = name(c);
    if (kind(c) == NodeKind::text) accept.reason = text(c);
  }
  return accept;
}

}  // namespace lw::syntax

namespace lw::ast {

std::string Text::value() const {
  std::string plain;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    plain += raw[i];
    if (raw[i] == '"' && i + 1 < raw.size() && raw[i + 1] == '"') ++i;
  }
  return plain;
}

Span span_of(const Value& value) {
  return std::visit([](const auto& alternative) { return alternative.span; }, value);
}

}  // namespace lw::ast
