// runtime/table.def as data: every field, kind, limit and refusal with its type and its sentence.
//
// The writer, the reader, the check and the listing name fields by these; none of them knows a width of its
// own. Internal to table/ except for Refusal and Limit, which bytes.hpp gives out. Tests:
// tests/unit/table/format_test.cpp.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "table/records.hpp"

namespace lw {

enum class Refusal : std::uint8_t {
#define LW_REFUSAL(name, code, sentence) name = code,
#include "runtime/table.def"
};

enum class Limit : std::uint8_t {
#define LW_LIMIT(name, value, sentence) name,
#include "runtime/table.def"
};

}  // namespace lw

namespace lw::format {

enum class Type : std::uint8_t { u8, u16, u24, u32, u64, i8, v, z, lit };

struct FieldInfo {
  std::string_view row, name;
  Type type;
  std::string_view type_name, when, sentence;
};

enum class Field : std::uint16_t {
#define LW_FIELD(row, name, type, when, sentence) row##_##name,
#include "runtime/table.def"
};

inline constexpr FieldInfo kFields[] = {
#define LW_FIELD(row, name, type, when, sentence) {#row, #name, Type::type, #type, when, sentence},
#include "runtime/table.def"
};
inline constexpr std::size_t kFieldCount = sizeof kFields / sizeof kFields[0];
constexpr const FieldInfo& info(Field field) { return kFields[static_cast<std::size_t>(field)]; }

/// A field of table.def, or an operand of a kind.
struct FieldName {
  const FieldInfo* info;
  constexpr FieldName(Field field) : info(&format::info(field)) {}
  constexpr FieldName(const FieldInfo& operand) : info(&operand) {}
};

struct SectionInfo {
  std::string_view name, sentence;
};
inline constexpr SectionInfo kSections[] = {
#define LW_SECTION(name, sentence) {#name, sentence},
#include "runtime/table.def"
};
inline constexpr std::size_t kSectionCount = sizeof kSections / sizeof kSections[0];
enum class Section : std::uint8_t {
#define LW_SECTION(name, sentence) name,
#include "runtime/table.def"
};

/// A kind of input, fact, level, output test, rule, action or start. The arrays are indexed by code, but for
/// the output tests, whose last (`is_at`) stands at the code 128.
struct KindInfo {
  std::string_view name;
  std::uint8_t code;
  std::string_view operands, sentence;
};
inline constexpr KindInfo kInputKinds[] = {
#define LW_INPUT_KIND(name, code, sentence) {#name, code, "", sentence},
#include "runtime/table.def"
};
inline constexpr KindInfo kFactKinds[] = {
#define LW_FACT_KIND(name, code, operands, sentence) {#name, code, operands, sentence},
#include "runtime/table.def"
};
inline constexpr KindInfo kLevelKinds[] = {
#define LW_LEVEL_KIND(name, code, sentence) {#name, code, "", sentence},
#include "runtime/table.def"
};
inline constexpr KindInfo kOutputTests[] = {
#define LW_OUTPUT_TEST(name, code, sentence) {#name, code, "", sentence},
#include "runtime/table.def"
};
inline constexpr KindInfo kRuleKinds[] = {
#define LW_RULE_KIND(name, code, sentence) {#name, code, "", sentence},
#include "runtime/table.def"
};
inline constexpr KindInfo kActions[] = {
#define LW_ACTION(name, code, operands, sentence) {#name, code, operands, sentence},
#include "runtime/table.def"
};
inline constexpr KindInfo kStartKinds[] = {
#define LW_START_KIND(name, code, sentence) {#name, code, "", sentence},
#include "runtime/table.def"
};

struct LimitInfo {
  std::string_view name;
  std::uint32_t most;
  std::string_view sentence;
};
inline constexpr LimitInfo kLimits[] = {
#define LW_LIMIT(name, value, sentence) {#name, value, sentence},
#include "runtime/table.def"
};
constexpr const LimitInfo& info(Limit limit) { return kLimits[static_cast<std::size_t>(limit)]; }
constexpr std::uint32_t most(Limit limit) { return info(limit).most; }

struct RefusalInfo {
  std::string_view name, sentence;
};
inline constexpr RefusalInfo kRefusals[] = {
#define LW_REFUSAL(name, code, sentence) {#name, sentence},
#include "runtime/table.def"
};
constexpr const RefusalInfo& info(Refusal refusal) { return kRefusals[static_cast<std::size_t>(refusal)]; }

inline constexpr std::uint8_t kVersion = 1;
inline constexpr std::size_t kHeaderSize = 24 + 2 * kSectionCount;
inline constexpr std::size_t kIdentityAt = 12;
inline constexpr std::size_t kCrcAt = 20;

/// The operands of a kind of fact or action, as fields: `row` is the kind's name. Of an action without its
/// index, which stands in its head and speaks of `action_subject`.
struct Operands {
  std::array<FieldInfo, 3> field{};
  std::size_t count = 0;
  bool keys = false;  // the last stands once for each key
};
const Operands& operands(rows::FactKind kind);
const Operands& operands(rows::ActionKind kind);
/// "drive", "voice", "timer", "counter" or "cue".
std::string_view action_subject(rows::ActionKind kind);

}  // namespace lw::format
