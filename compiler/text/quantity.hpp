// Quantities, exact: a whole number of the base unit of their dimension, from text and back to text.
//
// Invariant: nothing here rounds and nothing here is floating point. What an int64 cannot hold, or what is
// finer than the base unit, is a fault that the caller reports. Rationals were rejected: every unit in
// grammar/words.def is a whole number of base units, so a fraction of a base unit is always a slip of the
// pen. Tests: tests/unit/text/quantity_test.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lw {

enum class Dimension : std::uint8_t {
#define LW_DIMENSION(id, phrase, base) id,
#include "grammar/words.def"
};

enum class Unit : std::uint8_t {
#define LW_UNIT(id, written, dimension, factor, shown) id,
#include "grammar/words.def"
};

struct Quantity {
  std::int64_t value =
      0;  // base units: pg, ms, µA, µV, µW, 1/1000 deg, µm, µm2, mPa, 1/1000 °C, 1/1000 lx, B
  Dimension dimension = Dimension::mass;
};
inline bool operator==(Quantity a, Quantity b) { return a.value == b.value && a.dimension == b.dimension; }
inline bool operator!=(Quantity a, Quantity b) { return !(a == b); }

/// How the dimension is spoken of: "a mass".
const char* dimension_phrase(Dimension dimension);
/// The units that a quantity of this dimension can be written in: "ms, s, min or h".
std::string dimension_units(Dimension dimension);

/// The unit spelled so, case and all.
std::optional<Unit> unit_named(std::string_view spelling);
/// The unit as findings print it: "µA".
const char* unit_text(Unit unit);
Dimension dimension_of(Unit unit);
/// Base units in one of this unit, exactly.
std::int64_t unit_factor(Unit unit);

enum class QuantityFault : std::uint8_t {
  none,
  overflow,      // more than an int64 of base units
  too_fine,      // not a whole number of base units
  cannot_join,   // parts other than `h min s ms` or `lb oz`
  twice,         // a unit that stands in an earlier part
  not_falling,   // a larger unit after a smaller one
  part_too_big,  // `2 min 90 s`: a later part is one or more of the part before it
  part_broken,   // `2 min 1.5 s`: a later part is not whole
};
/// The rule that is broken, a sentence for a finding's reason; of `none` it is empty.
const char* fault_reason(QuantityFault fault);

/// A number of a given scale, exactly.
struct Scaled {
  std::int64_t value = 0;
  QuantityFault fault = QuantityFault::none;  // none, overflow or too_fine
};
/// `decimal` is digits, with or without a point and more digits, of any length; `factor` is at least 1.
/// A whole number has the factor 1, a percentage in millionths 10000.
Scaled scale_decimal(std::string_view decimal, std::int64_t factor);

/// A number and its unit as written: `2.5 s`.
struct QuantityPart {
  std::string_view decimal;
  Unit unit{};
};

/// The quantity, or the first fault and the part that it stands in. The value at a fault is 0, its dimension
/// good.
struct ParsedQuantity {
  Quantity quantity;
  QuantityFault fault = QuantityFault::none;
  std::size_t part = 0;
};
/// One part or a compound of several, `2 min 30 s`, by the rules of docs/language.md, decision 13: only `h
/// min s ms` and `lb oz` join, falling, each once, later parts whole and smaller than one of the part before.
/// At least one part.
ParsedQuantity make_quantity(const std::vector<QuantityPart>& parts, bool negative = false);

/// The quantity as people write it, exactly, in a form that the language reads back to the same value: "605
/// g", "2.5 s", "1 min 30 s", "450 mA". Of the units in which the number is 1 or more it takes the one that
/// gives the shortest text, of two alike the larger; pounds, ounces and grains never.
std::string format_quantity(Quantity quantity);
/// The same in the unit asked for, for numbers that stand beside each other; nothing where that has no finite
/// decimal. The unit is one of the quantity's dimension.
std::optional<std::string> format_quantity_in(Quantity quantity, Unit unit);

}  // namespace lw
