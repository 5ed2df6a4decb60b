// Quantities: every scale against GNU units and the published factors, every rule of docs/language.md,
// decision 13, and format/parse as each other's inverse.
#include "text/quantity.hpp"

#include <doctest/doctest.h>

#include <cstdio>
#include <cstdlib>
#include <limits>
#include <random>
#include <string>
#include <vector>

using namespace lw;

namespace {

constexpr std::int64_t kMost = std::numeric_limits<std::int64_t>::max();

// "2 min 30 s" or "-5 °C", split at the spaces.
ParsedQuantity parse(std::string_view text) {
  const bool negative = !text.empty() && text[0] == '-';
  if (negative) text.remove_prefix(1);
  std::vector<QuantityPart> parts;
  while (!text.empty()) {
    const std::size_t number_end = text.find_first_not_of("0123456789.");
    const std::string_view number = text.substr(0, number_end);
    text.remove_prefix(number_end);
    if (text[0] == ' ') text.remove_prefix(1);
    const std::size_t unit_end = std::min(text.find(' '), text.size());
    const auto unit = unit_named(text.substr(0, unit_end));
    REQUIRE_MESSAGE(unit.has_value(), text);
    parts.push_back({number, *unit});
    text.remove_prefix(std::min(unit_end + 1, text.size()));
  }
  return make_quantity(parts, negative);
}

std::int64_t value_of(std::string_view text) {
  const ParsedQuantity parsed = parse(text);
  CHECK_MESSAGE(parsed.fault == QuantityFault::none, text);
  return parsed.quantity.value;
}

struct Fault {
  const char* text;
  QuantityFault fault;
  std::size_t part;
};
void check_fault(const Fault& expected) {
  CAPTURE(expected.text);
  const ParsedQuantity parsed = parse(expected.text);
  CHECK(parsed.fault == expected.fault);
  CHECK(parsed.part == expected.part);
  CHECK(parsed.quantity.value == 0);
}

// What GNU units says of `have` in `want`, to the 15 digits that its floating point holds; the largest ratio
// asked for has 12. Empty when the program is not there.
std::string gnu_units(const std::string& have, const std::string& want) {
  const std::string command =
      "units --terse --output-format '%.15g' '" + have + "' '" + want + "' 2>/dev/null";
  std::FILE* const pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return {};
  char line[128] = "";
  const bool read = std::fgets(line, sizeof line, pipe) != nullptr;
  const int status = pclose(pipe);
  std::string text = read && status == 0 ? line : "";
  while (!text.empty() && text.back() == '\n') text.pop_back();
  return text;
}

}  // namespace

// Source: the published factors, facts of the International yard and pound agreement as NIST SP 811 App. B
// and NIST Handbook 44 App. C give them: lb 453.59237 g, oz 28.349523125 g, gr 64.79891 mg, ozt 31.1034768 g.
TEST_CASE("pounds, ounces and grains are the published factors, exactly") {
  CHECK(value_of("1 lb") == value_of("453.59237 g"));
  CHECK(value_of("1 oz") == value_of("28.349523125 g"));
  CHECK(value_of("1 gr") == value_of("64.79891 mg"));
  CHECK(value_of("1 ozt") == value_of("31.1034768 g"));
  // The same sources: 7000 grains and 16 ounces a pound, 480 grains a troy ounce, ozt : oz = 192 : 175.
  CHECK(value_of("7000 gr") == value_of("1 lb"));
  CHECK(value_of("16 oz") == value_of("1 lb"));
  CHECK(value_of("480 gr") == value_of("1 ozt"));
  CHECK(value_of("175 ozt") == value_of("192 oz"));
}

TEST_CASE("coins weigh what the mints say, to the picogram") {
  // Source: US Mint coin specifications; a dollar in dimes, quarters or half dollars is 22.680 g.
  CHECK(10 * value_of("2.268 g") == value_of("22.680 g"));
  CHECK(4 * value_of("5.670 g") == value_of("22.680 g"));
  CHECK(2 * value_of("11.340 g") == value_of("22.680 g"));
  // Source: Annex I of Regulation (EU) 729/2014, from secondary pages: 50c + 2 euro = 2c + 20c + 1 euro
  // = 16.30 g.
  CHECK(value_of("7.80 g") + value_of("8.50 g") == value_of("16.30 g"));
  CHECK(value_of("3.06 g") + value_of("5.74 g") + value_of("7.50 g") == value_of("16.30 g"));
}

TEST_CASE("every unit is what GNU units says it is") {
  if (gnu_units("1 kg", "g") != "1000") {
    MESSAGE("GNU units is not installed: not compared");
    return;
  }
  struct Row {
    Unit unit;
    const char* theirs;
    const char* step;
    std::int64_t bases = 1;  // base units in one step
  };
  const Row rows[] = {
      {Unit::ng, "nanogram", "nanogram", 1000},
      {Unit::ug, "microgram", "nanogram", 1000},
      {Unit::mg, "milligram", "nanogram", 1000},
      {Unit::g, "gram", "nanogram", 1000},
      {Unit::kg, "kilogram", "nanogram", 1000},
      {Unit::gr, "grain", "nanogram", 1000},
      {Unit::oz, "ounce", "nanogram", 1000},
      {Unit::lb, "pound", "nanogram", 1000},
      {Unit::ozt, "troyounce", "nanogram", 1000},
      {Unit::ms, "millisecond", "millisecond"},
      {Unit::s, "second", "millisecond"},
      {Unit::min, "minute", "millisecond"},
      {Unit::h, "hour", "millisecond"},
      {Unit::uA, "microampere", "microampere"},
      {Unit::mA, "milliampere", "microampere"},
      {Unit::A, "ampere", "microampere"},
      {Unit::mV, "millivolt", "microvolt"},
      {Unit::V, "volt", "microvolt"},
      {Unit::mW, "milliwatt", "microwatt"},
      {Unit::W, "watt", "microwatt"},
      {Unit::deg, "degree", "millidegree"},
      {Unit::mm, "millimeter", "micrometer"},
      {Unit::cm, "centimeter", "micrometer"},
      {Unit::m, "meter", "micrometer"},
      {Unit::mm2, "millimeter^2", "micrometer^2"},
      {Unit::Pa, "pascal", "millipascal"},
      {Unit::kPa, "kilopascal", "millipascal"},
      {Unit::degC, "degC", "millikelvin"},  // a step of the scale; the two zeros are apart
      {Unit::lx, "lux", "millilux"},
      {Unit::B, "byte", "byte"},
      {Unit::KiB, "kibibyte", "byte"},
  };
  CHECK(gnu_units("nanogram", "picogram") == "1000");
  std::size_t units = 0;
#define LW_UNIT(id, written, dimension, factor, shown) ++units;
#include "grammar/words.def"
  CHECK(std::size(rows) == units);
  for (const Row& row : rows) {
    CAPTURE(unit_text(row.unit));
    CHECK(unit_factor(row.unit) % row.bases == 0);
    CHECK(gnu_units(row.theirs, row.step) == std::to_string(unit_factor(row.unit) / row.bases));
  }
}

TEST_CASE("both mus and both ways to write a degree are read") {
  CHECK(unit_named("\u00B5g") == Unit::ug);
  CHECK(unit_named("\u03BCg") == Unit::ug);
  CHECK(unit_named("\u00B5A") == Unit::uA);
  CHECK(unit_named("\u03BCA") == Unit::uA);
  CHECK(unit_named("deg") == Unit::deg);
  CHECK(unit_named("°") == Unit::deg);
  CHECK(unit_named("°C") == Unit::degC);
  for (const char* unknown : {"", "G", "ma", "kib", "gram", "x", "%", "sec", " g", "g "}) {
    CAPTURE(unknown);
    CHECK_FALSE(unit_named(unknown).has_value());
  }
}

TEST_CASE("a dimension is spoken of with its units") {
  CHECK(std::string(dimension_phrase(Dimension::mass)) == "a mass");
  CHECK(dimension_units(Dimension::mass) == "ng, µg, mg, g, kg, gr, oz, lb or ozt");
  CHECK(std::string(dimension_phrase(Dimension::time)) == "a time");
  CHECK(dimension_units(Dimension::time) == "ms, s, min or h");
  CHECK(dimension_units(Dimension::voltage) == "mV or V");
  CHECK(dimension_units(Dimension::illuminance) == "lx");
}

TEST_CASE("decimals are exact or refused") {
  CHECK(value_of("0 g") == 0);
  CHECK(value_of("0.001 ng") == 1);
  CHECK(value_of("0.000000000001 g") == 1);
  CHECK(value_of("2.5 s") == 2500);
  CHECK(value_of("2.500000000000000000000000000000 s") == 2500);
  CHECK(value_of("000000000000000000000000000000002.5 s") == 2500);
  CHECK(value_of("1.5 KiB") == 1536);
  CHECK(value_of("0.0009765625 KiB") == 1);
  CHECK(value_of("0.205 mm2") == 205000);
  CHECK(value_of("-5.5 °C") == -5500);
  CHECK(value_of("0.0000001 lb") == 45359237);
  CHECK(value_of("0.1 oz") == value_of("2.8349523125 g"));
  CHECK(value_of("0.5 oz") == value_of("14.1747615625 g"));
  CHECK(1000 * value_of("0.001 oz") == value_of("1 oz"));
  CHECK(10000 * value_of("0.0001 gr") == value_of("1 gr"));
  CHECK(100000 * value_of("0.00001 ozt") == value_of("1 ozt"));
  const Fault faults[] = {
      {"0.5 ms", QuantityFault::too_fine, 0},
      {"1.0001 s", QuantityFault::too_fine, 0},
      {"0.0001 ng", QuantityFault::too_fine, 0},
      {"0.0001 oz", QuantityFault::too_fine, 0},
      {"0.00001 gr", QuantityFault::too_fine, 0},
      {"0.1 KiB", QuantityFault::too_fine, 0},
      {"0.00000001 lb", QuantityFault::too_fine, 0},
      {"0.0000000000000000000000000000001 g", QuantityFault::too_fine, 0},
      {"1 min 0.5 ms", QuantityFault::part_broken, 1},
  };
  for (const Fault& fault : faults) check_fault(fault);
}

TEST_CASE("the largest number fits, and one more does not") {
  CHECK(value_of("9223372036854775.807 ng") == kMost);
  CHECK(value_of("9223372.036854775807 g") == kMost);
  CHECK(value_of("9223.372036854775807 kg") == kMost);
  CHECK(value_of("-9223372036854775.807 ng") == -kMost);
  CHECK(value_of("2562047788015 h 12 min 55 s 807 ms") == kMost);
  const Fault faults[] = {
      {"9223372036854775.808 ng", QuantityFault::overflow, 0},
      {"9223372.036854775808 g", QuantityFault::overflow, 0},
      {"9224 kg", QuantityFault::overflow, 0},
      {"-9223372036854775.808 ng", QuantityFault::overflow, 0},
      {"2562047788015 h 12 min 55 s 808 ms", QuantityFault::overflow, 3},
      {"2562047788016 h", QuantityFault::overflow, 0},
      {"99999999999999999999999999999999999999 ms", QuantityFault::overflow, 0},
  };
  for (const Fault& fault : faults) check_fault(fault);
}

TEST_CASE("a number as long as a file is a fault, not a hang") {
  const std::string nines(10 << 20, '9');
  CHECK(scale_decimal(nines, 1).fault == QuantityFault::overflow);
  CHECK(scale_decimal("0." + nines, 1000).fault == QuantityFault::too_fine);
  const std::string zeros(10 << 20, '0');
  CHECK(scale_decimal(zeros + "7." + zeros, 1000).value == 7000);
}

TEST_CASE("percentages count in millionths by the same rule") {
  CHECK(scale_decimal("40", 10000).value == 400000);
  CHECK(scale_decimal("0.0001", 10000).value == 1);
  CHECK(scale_decimal("0.00001", 10000).fault == QuantityFault::too_fine);
  CHECK(scale_decimal("4711", 1).value == 4711);
  CHECK(scale_decimal("1.5", 1).fault == QuantityFault::too_fine);
}

// docs/language.md, decision 13.
TEST_CASE("parts join only in h min s ms and lb oz, falling, each once, later ones whole and small") {
  CHECK(value_of("2 min 30 s") == 150000);
  CHECK(value_of("1 h 90 s") == 3690000);
  CHECK(value_of("1 h 1 min 1 s 1 ms") == 3661001);
  CHECK(value_of("1.5 h 10 min") == 6000000);
  CHECK(value_of("1 min 2.0 s") == 62000);
  CHECK(value_of("1 min 0 s") == 60000);
  CHECK(value_of("1 lb 3 oz") == value_of("19 oz"));
  const Fault faults[] = {
      {"12 V 2 A", QuantityFault::cannot_join, 1},         {"12 V 2 V", QuantityFault::cannot_join, 1},
      {"1 kg 200 g", QuantityFault::cannot_join, 1},       {"1 lb 3 ozt", QuantityFault::cannot_join, 1},
      {"1 lb 3 s", QuantityFault::cannot_join, 1},         {"1 min 2 g", QuantityFault::cannot_join, 1},
      {"30 s 2 min", QuantityFault::not_falling, 1},       {"3 oz 1 lb", QuantityFault::not_falling, 1},
      {"1 h 2 s 3 min", QuantityFault::not_falling, 2},    {"1 min 2 min", QuantityFault::twice, 1},
      {"1 h 2 min 3 h", QuantityFault::twice, 2},          {"2 min 60 s", QuantityFault::part_too_big, 1},
      {"1 h 1 s 1000 ms", QuantityFault::part_too_big, 2}, {"1 h 3600 s", QuantityFault::part_too_big, 1},
      {"1 lb 16 oz", QuantityFault::part_too_big, 1},      {"1 min 1.5 s", QuantityFault::part_broken, 1},
      {"1 lb 1.5 oz", QuantityFault::part_broken, 1},
  };
  for (const Fault& fault : faults) check_fault(fault);
  CHECK(value_of("1 h 3599 s") == 7199000);
  CHECK(value_of("1 lb 15 oz") == value_of("31 oz"));
}

TEST_CASE("a quantity that fails still says its dimension") {
  CHECK(parse("99999999999999999999 V").quantity.dimension == Dimension::voltage);
  CHECK(parse("1 lb 16 oz").quantity.dimension == Dimension::mass);
}

TEST_CASE("every broken rule has a sentence") {
  CHECK(std::string(fault_reason(QuantityFault::none)).empty());
  CHECK(std::string(fault_reason(QuantityFault::part_too_big)) ==
        "A later part is smaller than one of the unit before it.");
  CHECK(std::string(fault_reason(QuantityFault::cannot_join)) ==
        "Only h, min, s and ms join into one quantity, and lb and oz.");
}

TEST_CASE("quantities print the way people write them") {
  struct Row {
    const char* read;
    const char* printed;
  };
  const Row rows[] = {
      {"0 kg", "0 g"},
      {"0 ms", "0 s"},
      {"0 mA", "0 A"},
      {"605 g", "605 g"},
      {"605000 mg", "605 g"},
      {"1234 g", "1234 g"},
      {"1500 g", "1.5 kg"},
      {"3 kg", "3 kg"},
      {"0.5 g", "500 mg"},
      {"1 oz", "28.349523125 g"},
      {"1 gr", "64.79891 mg"},
      {"1 ng", "1 ng"},
      {"0.1 oz", "2.8349523125 g"},
      {"0.001 ng", "0.001 ng"},
      {"1500 ng", "1.5 µg"},
      {"2500 ms", "2.5 s"},
      {"100 ms", "100 ms"},
      {"999 ms", "999 ms"},
      {"59999 ms", "59.999 s"},
      {"60 s", "1 min"},
      {"90 s", "1 min 30 s"},
      {"62500 ms", "1 min 2 s 500 ms"},
      {"60 min", "1 h"},
      {"3600001 ms", "1 h 1 ms"},
      {"450 mA", "450 mA"},
      {"2000 mA", "2 A"},
      {"1800 mA", "1.8 A"},
      {"500 µA", "500 µA"},
      {"12 V", "12 V"},
      {"0.5 mV", "0.5 mV"},
      {"40 deg", "40°"},
      {"0.5 deg", "0.5°"},
      {"-5.5 °C", "-5.5 °C"},
      {"25 mm", "25 mm"},
      {"150 cm", "1.5 m"},
      {"30 m", "30 m"},
      {"0.75 mm2", "0.75 mm2"},
      {"101325 Pa", "101325 Pa"},
      {"2 kPa", "2 kPa"},
      {"4096 B", "4 KiB"},
      {"1536 B", "1536 B"},
      {"512 B", "512 B"},
  };
  for (const Row& row : rows) {
    CAPTURE(row.read);
    CHECK(format_quantity(parse(row.read).quantity) == row.printed);
  }
}

TEST_CASE("numbers that stand beside each other print in one unit, where it holds them exactly") {
  CHECK(format_quantity_in(parse("600 mA").quantity, Unit::A) == "0.6 A");
  CHECK(format_quantity_in(parse("2 A").quantity, Unit::A) == "2 A");
  CHECK(format_quantity_in(parse("3 kg").quantity, Unit::g) == "3000 g");
  CHECK(format_quantity_in(parse("90 s").quantity, Unit::min) == "1.5 min");
  CHECK(format_quantity_in(parse("1 B").quantity, Unit::KiB) == "0.0009765625 KiB");
  CHECK(format_quantity_in(parse("-500 Pa").quantity, Unit::kPa) == "-0.5 kPa");
  CHECK(format_quantity_in(parse("19 oz").quantity, Unit::oz) == "19 oz");
  CHECK_FALSE(format_quantity_in(parse("1 s").quantity, Unit::min).has_value());
  CHECK_FALSE(format_quantity_in(parse("1 g").quantity, Unit::oz).has_value());
}

TEST_CASE("what is printed reads back as the same value") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  const Dimension dimensions[] = {
#define LW_DIMENSION(id, phrase, base) Dimension::id,
#include "grammar/words.def"
  };
  for (int round = 0; round < 20000; ++round) {
    // All sizes alike often, and round numbers as people write them.
    std::int64_t value = static_cast<std::int64_t>(random() >> (1 + random() % 63));
    for (auto zeros = random() % 10; zeros > 0 && value < kMost / 10; --zeros) value *= 10;
    if (random() % 4 == 0) value = -value;
    const Quantity quantity{value, dimensions[random() % std::size(dimensions)]};
    const std::string text = format_quantity(quantity);
    CAPTURE(text);
    const ParsedQuantity back = parse(text);
    CHECK(back.fault == QuantityFault::none);
    CHECK(back.quantity == quantity);
  }
}

TEST_CASE("a decimal is what long arithmetic by hand makes of it") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (int round = 0; round < 20000; ++round) {
    // Slow and obvious: the number as all its digits, times the factor, the point moved, in 128 bits.
    const auto whole = random() % 100000;
    const auto places = random() % 10;
    std::string fraction;
    for (std::uint64_t i = 0; i < places; ++i)
      fraction += static_cast<char>('0' + random() % 3 * random() % 10);
    const std::string text = std::to_string(whole) + (fraction.empty() ? "" : "." + fraction);
    const auto factor = static_cast<std::int64_t>(1 + random() % 2000 * (random() % 2 == 0 ? 1 : 500));
    CAPTURE(text);
    CAPTURE(factor);
    __int128 digits = static_cast<__int128>(std::stoull(std::to_string(whole) + fraction)) * factor;
    __int128 power = 1;
    for (std::uint64_t i = 0; i < places; ++i) power *= 10;
    const Scaled scaled = scale_decimal(text, factor);
    if (digits % power != 0) {
      CHECK(scaled.fault == QuantityFault::too_fine);
    } else {
      CHECK(scaled.fault == QuantityFault::none);
      CHECK(static_cast<__int128>(scaled.value) == digits / power);
    }
  }
}
