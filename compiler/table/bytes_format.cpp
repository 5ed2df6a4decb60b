#include "table/bytes_format.hpp"

#include <cassert>

namespace lw::format {
namespace {

constexpr std::string_view kEachKey = " each key";

Type type_named(std::string_view name) {
  if (name == "u8") return Type::u8;
  if (name == "i8") return Type::i8;
  assert(name == "v");
  return Type::v;
}

/// "u8 input, u8 low, u8 each key" as fields.
Operands parse(std::string_view row, std::string_view text, std::string_view sentence) {
  Operands result;
  while (!text.empty()) {
    const std::string_view one = text.substr(0, text.find(','));
    text.remove_prefix(one.size());
    while (!text.empty() && (text.front() == ',' || text.front() == ' ')) text.remove_prefix(1);
    const std::size_t space = one.find(' ');
    assert(space != std::string_view::npos && result.count < result.field.size());
    FieldInfo& field = result.field[result.count++];
    field = {row,     one.substr(space + 1), type_named(one.substr(0, space)), one.substr(0, space), "",
             sentence};
    if (one.substr(space) == kEachKey) {
      field.name = "key";
      field.when = "each key";
      result.keys = true;
    }
  }
  return result;
}

std::string_view behind_subject(std::string_view text) {
  const std::size_t semicolon = text.find(';');
  return semicolon == std::string_view::npos ? std::string_view{} : text.substr(semicolon + 2);
}

template <std::size_t N>
std::array<Operands, N> parse_all(const KindInfo (&kinds)[N], bool actions) {
  std::array<Operands, N> all;
  for (std::size_t k = 0; k < N; ++k)
    all[k] = parse(kinds[k].name, actions ? behind_subject(kinds[k].operands) : kinds[k].operands,
                   kinds[k].sentence);
  return all;
}

}  // namespace

const Operands& operands(rows::FactKind kind) {
  static const auto all = parse_all(kFactKinds, false);
  return all[static_cast<std::size_t>(kind)];
}

const Operands& operands(rows::ActionKind kind) {
  static const auto all = parse_all(kActions, true);
  return all[static_cast<std::size_t>(kind)];
}

std::string_view action_subject(rows::ActionKind kind) {
  const std::string_view text = kActions[static_cast<std::size_t>(kind)].operands;
  return text.substr(0, text.find(';'));
}

}  // namespace lw::format
