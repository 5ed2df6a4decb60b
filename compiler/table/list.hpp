// `latchwork list`: a table for people. Where every byte lies, what it says in words, and the line of the
// room that it comes from.
//
// It shows what decode saw and nothing else, so that the listing cannot say what the table does not. Names
// and lines are those of the symbol file; without one, numbers stand in their place. Tests:
// tests/unit/table/list_test.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "table/symbols.hpp"

namespace lw {

enum class ListDetail : std::uint8_t {
  rows,   // each row with its bytes and its meaning
  bytes,  // and below it each field with its bytes, its name and its sentence of table.def
};

struct Listing {
  std::string text;
  bool well_formed = false;  // else the text says why the table is refused, and at which byte
};

/// `symbols` may be null. Any bytes may be given, and any symbols with them: names of another table's rows
/// are told.
Listing list_table(const std::vector<std::uint8_t>& bytes, const Symbols* symbols,
                   ListDetail detail = ListDetail::rows);

}  // namespace lw
