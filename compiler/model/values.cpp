// Quantities where they are used: of the right kind, of a sign that makes sense, also through the name of a
// `let`.
//
// Tests: tests/unit/model/values_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

constexpr int kDeepest = 100;

std::string phrase(Dimension dimension) { return dimension_phrase(dimension); }

/// `shown` is what stands at the place: the quantity, or the name of one.
std::optional<std::int64_t> checked(Workspace& work, lw::Quantity quantity, Span span,
                                    const std::string& shown, Dimension dimension, Sign sign,
                                    std::vector<Place> places) {
  if (quantity.dimension != dimension) {
    work.report.say(Code::wrong_unit, span,
                    shown + " is " + phrase(quantity.dimension) + ", and here belongs " + phrase(dimension),
                    "", {"write " + phrase(dimension) + ", in " + dimension_units(dimension) + "."},
                    std::move(places));
    return std::nullopt;
  }
  if (quantity.value < 0 && sign != Sign::any) {
    work.report.say(Code::out_of_range, span, phrase(dimension) + " is never below 0 here",
                    "Only a gauge has values below 0.", {"write it without the `-`."}, std::move(places));
    return std::nullopt;
  }
  if (quantity.value == 0 && sign == Sign::positive) {
    const bool time = dimension == Dimension::time;
    work.report.say(
        Code::out_of_range, span,
        time ? "a duration of 0 is none" : phrase(dimension) + " of 0 cannot stand here",
        time ? "What lasts no time is never seen: a controller looks at the world once a scan." : "",
        {time ? "write how long it lasts, or leave it out." : "write one above 0."}, std::move(places));
    return std::nullopt;
  }
  return quantity.value;
}

/// The let that a let's bare name stands for, if it is one.
const Symbol* alias(const Workspace& work, const Where& where, const ast::Cond& cond) {
  const ast::Fact& fact = cond.fact;
  if (cond.kind != ast::Cond::Kind::fact || fact.predicate != ast::Predicate::bare || fact.member)
    return nullptr;
  if (where.prop != nullptr) {
    const auto own = where.prop->names.find(fact.subject.text);
    if (own != where.prop->names.end()) return own->second.kind == NameKind::let ? &own->second : nullptr;
    if (where.prop->design != nullptr) return nullptr;
  }
  const auto outer = work.names.find(fact.subject.text);
  return outer != work.names.end() && outer->second.kind == NameKind::let ? &outer->second : nullptr;
}

/// Whether a let is a quantity, told from its text alone: at the time props may not be declared yet.
bool is_quantity(const Workspace& work, const Symbol& symbol) {
  const Symbol* at = &symbol;
  for (int steps = 0; steps < kDeepest; ++steps) {
    const LetWork& let = work.lets[at->index];
    if (let.written == nullptr || std::holds_alternative<ast::Quantity>(let.written->value)) return true;
    const auto* cond = std::get_if<ast::Cond>(&let.written->value);
    const Symbol* next = cond == nullptr ? nullptr : alias(work, {let.prop, let.body}, *cond);
    if (next == nullptr) return false;
    at = next;
  }
  return true;  // a ring, or too many: let_done says which
}

/// What no gauge shows has no sign.
bool never_below_zero(Dimension dimension) {
  return dimension == Dimension::time || dimension == Dimension::mass || dimension == Dimension::current ||
         dimension == Dimension::power || dimension == Dimension::area || dimension == Dimension::data;
}

bool work_out(Workspace& work, LetWork& let) {
  const Where where{let.prop, let.body};
  if (const auto* quantity = std::get_if<ast::Quantity>(&let.written->value)) {
    if (quantity->value.value < 0 && never_below_zero(quantity->value.dimension)) {
      work.report.say(Code::out_of_range, quantity->span,
                      phrase(quantity->value.dimension) + " is never below 0",
                      "Only a gauge has values below 0.", {"write it without the `-`."});
      return false;
    }
    let.quantity = quantity->value;
    return true;
  }
  const auto* cond = std::get_if<ast::Cond>(&let.written->value);
  if (cond == nullptr) return false;
  if (const Symbol* other = alias(work, where, *cond);
      other != nullptr && !other->silent && (!other->body || (let.body && *other->body == *let.body))) {
    use(work, *other);
    LetWork* done = let_done(work, *other);
    if (done == nullptr) return false;
    let.quantity = done->quantity;
    if (let.quantity) return true;
  }
  let.reading = read_cond(work, where, *cond);
  return let.reading.has_value();
}

}  // namespace

bool may_go_deeper(Workspace& work, Span span) {
  if (work.depth < kDeepest) return true;
  if (!work.too_deep) {
    work.report.say(Code::too_deep, span, "more than 100 names stand for each other, one in the other", "",
                    {"write out some of them."});
  }
  work.too_deep = true;
  return false;
}

Ring ring_to(const Workspace& work, Span name) {
  Ring ring;
  auto at = std::find(work.opened.begin(), work.opened.end(), name);
  for (; at != work.opened.end(); ++at) {
    ring.way += quoted(work.text(*at)) + " → ";
    if (*at != name) ring.places.push_back({*at, "", true});
  }
  ring.way += quoted(work.text(name));
  return ring;
}

LetWork* let_done(Workspace& work, const Symbol& symbol) {
  LetWork& let = work.lets[symbol.index];
  if (let.stage == Stage::open) {
    const Ring ring = ring_to(work, let.span);
    work.report.say(
        Code::ring, let.span, quoted(work.text(let.span)) + " is named in its own meaning",
        "A `let` stands for what is written after `be`; this one leads back to itself: " + ring.way + ".",
        {"write out what one of them means."}, ring.places);
    let.stage = Stage::failed;
  } else if (let.stage == Stage::fresh) {
    if (!may_go_deeper(work, let.span)) {
      let.stage = Stage::failed;
    } else {
      let.stage = Stage::open;
      ++work.depth;
      work.opened.push_back(let.span);
      const Reporter::Within within(work.report, let.prop == nullptr ? std::nullopt : let.prop->used_at);
      const bool good = work_out(work, let);
      work.opened.pop_back();
      --work.depth;
      let.stage = good && let.stage == Stage::open ? Stage::done : Stage::failed;
    }
  }
  return let.stage == Stage::done ? &let : nullptr;
}

std::optional<std::int64_t> amount(Workspace& work, const ast::Quantity& quantity, Dimension dimension,
                                   Sign sign) {
  if (quantity.span.begin == quantity.span.end) return std::nullopt;  // could not be read
  return checked(work, quantity.value, quantity.span, quoted(work.text(quantity.span)), dimension, sign, {});
}

std::optional<std::int64_t> amount(Workspace& work, const Where& where, const ast::Value& value,
                                   Dimension dimension, Sign sign) {
  if (const auto* quantity = std::get_if<ast::Quantity>(&value))
    return amount(work, *quantity, dimension, sign);
  const ast::Name& name = std::get<ast::Name>(value);
  const std::string wanted = phrase(dimension) + " or a `let` that names one";
  const Symbol* symbol =
      named(work, where, name, wanted.c_str(), [](const Symbol& s) { return s.kind == NameKind::let; });
  if (symbol == nullptr) return std::nullopt;
  if (!is_quantity(work, *symbol)) {
    work.report.say(Code::wrong_kind, name.span,
                    quoted(name.text) + " is a condition, and here belongs " + phrase(dimension), "",
                    {"write " + phrase(dimension) + ", in " + dimension_units(dimension) +
                     ", or the name of a `let` that is one."},
                    {{symbol->span, "", true}});
    return std::nullopt;
  }
  const LetWork* let = let_done(work, *symbol);
  if (let == nullptr || !let->quantity) return std::nullopt;
  const std::string shown = quoted(name.text);
  return checked(work, *let->quantity, name.span, shown, dimension, sign, {{symbol->span, "", true}});
}

std::optional<std::int64_t> duration(Workspace& work, const Where& where,
                                     const std::optional<ast::Value>& value, Sign sign) {
  if (!value) return std::nullopt;
  return amount(work, where, *value, Dimension::time, sign);
}

std::optional<int> percent(Workspace& work, const ast::Percent& percent) {
  constexpr std::int64_t kOne = 10'000;
  if (percent.millionths % kOne != 0 || percent.millionths > 100 * kOne) {
    work.report.say(Code::out_of_range, percent.span, "a level is a whole number of percent, 100 at most",
                    "100 % is full on, 0 % is off.", {"write a whole number from 0 % to 100 %."});
    return std::nullopt;
  }
  return static_cast<int>(percent.millionths / kOne);
}

const ast::Option* option(const ast::Options& options, ast::OptionKind kind) {
  for (const ast::Option& option : options) {
    if (option.kind == kind) return &option;
  }
  return nullptr;
}

std::optional<std::int64_t> option_amount(Workspace& work, const ast::Options& options, ast::OptionKind kind,
                                          Dimension dimension, Sign sign) {
  const ast::Option* given = option(options, kind);
  if (given == nullptr) return std::nullopt;
  const auto* value = std::get_if<ast::Value>(&given->value);
  if (value == nullptr) return std::nullopt;
  return amount(work, {}, *value, dimension, sign);
}

std::optional<std::int64_t> option_time(Workspace& work, const Where& where, const ast::Options& options,
                                        ast::OptionKind kind, Sign sign) {
  const ast::Option* given = option(options, kind);
  if (given == nullptr) return std::nullopt;
  const auto* value = std::get_if<ast::Value>(&given->value);
  if (value == nullptr) return std::nullopt;
  return amount(work, where, *value, Dimension::time, sign);
}

std::optional<WireRun> option_run(Workspace& work, const ast::Options& options) {
  const ast::Option* given = option(options, ast::OptionKind::run);
  if (given == nullptr) return std::nullopt;
  const auto* pair = std::get_if<ast::ValuePair>(&given->value);
  if (pair == nullptr) return std::nullopt;
  const auto length = amount(work, {}, pair->first, Dimension::length, Sign::positive);
  const auto area = amount(work, {}, pair->second, Dimension::area, Sign::positive);
  if (!length || !area) return std::nullopt;
  return WireRun{*length, *area, given->span};
}

}  // namespace lw::model
