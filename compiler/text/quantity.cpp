// Exact quantities: see quantity.hpp. All scales come from grammar/words.def.
#include "text/quantity.hpp"

#include <algorithm>
#include <cassert>
#include <iterator>
#include <limits>
#include <numeric>

#include "text/utf8.hpp"

namespace lw {
namespace {

enum class Shown : std::uint8_t { home, also, never };

struct UnitRow {
  Unit unit;
  const char* text;
  Dimension dimension;
  std::int64_t factor;
  Shown shown;
};
constexpr UnitRow kUnits[] = {
#define LW_UNIT(id, written, dimension, factor, shown) \
  {Unit::id, written, Dimension::dimension, factor, Shown::shown},
#include "grammar/words.def"
};

struct Spelling {
  std::string_view text;
  Unit unit;
};
constexpr Spelling kSpellings[] = {
#define LW_UNIT(id, written, dimension, factor, shown) {written, Unit::id},
#include "grammar/words.def"
#define LW_SPELLING(written, id) {written, Unit::id},
#include "grammar/words.def"
};

constexpr const char* kPhrases[] = {
#define LW_DIMENSION(id, phrase, base) phrase,
#include "grammar/words.def"
};

// Compound quantities fall through one of these, largest first.
constexpr Unit kTimeParts[] = {Unit::h, Unit::min, Unit::s, Unit::ms};
constexpr Unit kPoundParts[] = {Unit::lb, Unit::oz};

const UnitRow& row(Unit unit) { return kUnits[static_cast<std::size_t>(unit)]; }

template <std::size_t N>
bool among(const Unit (&units)[N], Unit unit) {
  return std::find(std::begin(units), std::end(units), unit) != std::end(units);
}
bool join(Unit a, Unit b) {
  return (among(kTimeParts, a) && among(kTimeParts, b)) || (among(kPoundParts, a) && among(kPoundParts, b));
}

bool is_whole(std::string_view decimal) {
  const std::size_t point = decimal.find('.');
  return point == std::string_view::npos ||
         decimal.find_first_not_of('0', point + 1) == std::string_view::npos;
}

// The rules that bind part `at` of a compound to those before it.
QuantityFault check_part(const std::vector<QuantityPart>& parts, std::size_t at, std::int64_t value) {
  const Unit unit = parts[at].unit;
  const Unit before = parts[at - 1].unit;
  for (std::size_t i = 0; i < at; ++i) {
    if (parts[i].unit == unit && join(unit, before)) return QuantityFault::twice;
  }
  if (!join(before, unit)) return QuantityFault::cannot_join;
  if (unit_factor(unit) > unit_factor(before)) return QuantityFault::not_falling;
  if (!is_whole(parts[at].decimal)) return QuantityFault::part_broken;
  if (value >= unit_factor(before)) return QuantityFault::part_too_big;
  return QuantityFault::none;
}

std::uint64_t magnitude(std::int64_t value) {
  return value < 0 ? 0 - static_cast<std::uint64_t>(value) : static_cast<std::uint64_t>(value);
}

// value / factor as a decimal; empty where it has no end. Factors are far below 2^60, so nothing here
// overflows.
std::string decimal_text(std::uint64_t value, std::uint64_t factor) {
  std::string text = std::to_string(value / factor);
  std::uint64_t rest = value % factor;
  if (rest == 0) return text;
  text += '.';
  // A finite decimal of a divisor below 2^60 ends within 60 places.
  for (int place = 0; rest != 0; ++place) {
    if (place == 60) return {};
    rest *= 10;
    text += static_cast<char>('0' + rest / factor);
    rest %= factor;
  }
  return text;
}

std::string with_unit(std::string number, Unit unit) {
  if (unit != Unit::deg) number += ' ';  // 40°, but 21 °C
  return number + unit_text(unit);
}

std::string format_time_parts(std::uint64_t value) {
  std::string text;
  for (const Unit unit : kTimeParts) {
    const auto factor = static_cast<std::uint64_t>(unit_factor(unit));
    if (value < factor) continue;
    if (!text.empty()) text += ' ';
    text += with_unit(std::to_string(value / factor), unit);
    value %= factor;
  }
  return text;
}

std::string format_magnitude(std::uint64_t value, Dimension dimension) {
  if (dimension == Dimension::time && value >= static_cast<std::uint64_t>(unit_factor(Unit::min))) {
    return format_time_parts(value);
  }
  std::string best;
  for (const UnitRow& candidate : kUnits) {  // of one dimension they rise
    if (candidate.dimension != dimension || candidate.shown == Shown::never) continue;
    const auto factor = static_cast<std::uint64_t>(candidate.factor);
    if (value == 0) {
      if (candidate.shown == Shown::home) return with_unit("0", candidate.unit);
      continue;
    }
    if (value < factor && !best.empty()) break;
    std::string text = with_unit(decimal_text(value, factor), candidate.unit);
    if (best.empty() || count_code_points(text) <= count_code_points(best)) best = std::move(text);
  }
  return best;
}

}  // namespace

const char* dimension_phrase(Dimension dimension) { return kPhrases[static_cast<std::size_t>(dimension)]; }

std::string dimension_units(Dimension dimension) {
  std::vector<const char*> units;
  for (const UnitRow& unit : kUnits) {
    if (unit.dimension == dimension) units.push_back(unit.text);
  }
  std::string text;
  for (std::size_t i = 0; i < units.size(); ++i) {
    if (i != 0) text += i + 1 == units.size() ? " or " : ", ";
    text += units[i];
  }
  return text;
}

std::optional<Unit> unit_named(std::string_view spelling) {
  for (const Spelling& known : kSpellings) {
    if (known.text == spelling) return known.unit;
  }
  return std::nullopt;
}

const char* unit_text(Unit unit) { return row(unit).text; }
Dimension dimension_of(Unit unit) { return row(unit).dimension; }
std::int64_t unit_factor(Unit unit) { return row(unit).factor; }

const char* fault_reason(QuantityFault fault) {
  switch (fault) {
    case QuantityFault::none:
      return "";
    case QuantityFault::overflow:
      return "The number is larger than any that Latchwork can count exactly.";
    case QuantityFault::too_fine:
      return "The number has more decimals than Latchwork can count exactly.";
    case QuantityFault::cannot_join:
      return "Only h, min, s and ms join into one quantity, and lb and oz.";
    case QuantityFault::twice:
      return "Each unit stands once in a quantity of several parts.";
    case QuantityFault::not_falling:
      return "The parts of a quantity fall, the largest unit first.";
    case QuantityFault::part_too_big:
      return "A later part is smaller than one of the unit before it.";
    case QuantityFault::part_broken:
      return "The later parts of a quantity are whole numbers.";
  }
  return "";
}

Scaled scale_decimal(std::string_view decimal, std::int64_t factor) {
  constexpr std::int64_t kMost = std::numeric_limits<std::int64_t>::max();
  const std::size_t point = std::min(decimal.find('.'), decimal.size());
  std::int64_t whole = 0;
  for (const char digit : decimal.substr(0, point)) {
    assert(digit >= '0' && digit <= '9');
    const int units = digit - '0';
    if (whole > (kMost - units) / 10) return {0, QuantityFault::overflow};
    whole = whole * 10 + units;
  }
  if (whole > kMost / factor) return {0, QuantityFault::overflow};
  whole *= factor;

  std::string_view places = decimal.substr(std::min(point + 1, decimal.size()));
  places = places.substr(0, places.find_last_not_of('0') + 1);
  // Without zeros at its end the fraction needs a factor 2 or 5 of `factor` for every place, so more than 18
  // cannot be whole: 5^16 and 2^16 are in no unit.
  if (places.size() > 18) return {0, QuantityFault::too_fine};
  std::int64_t numerator = 0;
  std::int64_t denominator = 1;
  for (const char digit : places) {
    numerator = numerator * 10 + (digit - '0');
    denominator *= 10;
  }
  const std::int64_t common = std::gcd(denominator, factor);
  if (numerator % (denominator / common) != 0) return {0, QuantityFault::too_fine};
  const std::int64_t rest = numerator / (denominator / common) * (factor / common);  // less than `factor`
  if (whole > kMost - rest) return {0, QuantityFault::overflow};
  return {whole + rest, QuantityFault::none};
}

ParsedQuantity make_quantity(const std::vector<QuantityPart>& parts, bool negative) {
  assert(!parts.empty());
  ParsedQuantity result;
  result.quantity.dimension = dimension_of(parts.front().unit);
  const auto fail = [&result](QuantityFault fault, std::size_t part) {
    result.quantity.value = 0;
    result.fault = fault;
    result.part = part;
    return result;
  };
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Scaled scaled = scale_decimal(parts[i].decimal, unit_factor(parts[i].unit));
    QuantityFault fault = QuantityFault::none;
    // A broken rule of joining says more than a number that is out of reach.
    if (i > 0) fault = check_part(parts, i, scaled.value);
    if (fault == QuantityFault::none) fault = scaled.fault;
    if (fault != QuantityFault::none) return fail(fault, i);
    if (scaled.value > std::numeric_limits<std::int64_t>::max() - result.quantity.value) {
      return fail(QuantityFault::overflow, i);
    }
    result.quantity.value += scaled.value;
  }
  if (negative) result.quantity.value = -result.quantity.value;
  return result;
}

std::string format_quantity(Quantity quantity) {
  const std::string text = format_magnitude(magnitude(quantity.value), quantity.dimension);
  return quantity.value < 0 ? "-" + text : text;
}

std::optional<std::string> format_quantity_in(Quantity quantity, Unit unit) {
  assert(dimension_of(unit) == quantity.dimension);
  std::string number = decimal_text(magnitude(quantity.value), static_cast<std::uint64_t>(unit_factor(unit)));
  if (number.empty()) return std::nullopt;
  if (quantity.value < 0) number.insert(0, "-");
  return with_unit(std::move(number), unit);
}

}  // namespace lw
