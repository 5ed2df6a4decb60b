// A controller's table as bytes: rows to bytes and back, with the reason and the place when something does
// not fit.
//
// Invariant: decode(encode(rows)) gives equal rows, encode(decode(bytes)) equal bytes: there is one way to
// write a table, and every other is refused. decode is the compiler's own reading of the format; lw_load of
// the runtime is another, written apart from it, and both refuse the same bytes. Both must hold for every
// change of table.def. The layout is written once, as visitors in bytes_fields.hpp. Tests: tests/unit/table.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "table/bytes_format.hpp"
#include "table/records.hpp"

namespace lw {

/// What a run of bytes is, from one row's first byte to the next one's: `index` counts the rows of the
/// section
/// (`rule`, `keep`: the body; `action`: the list; `raw`, `own_bit`: the fact, through all groups; `peer`: the
/// peer), `sub` the rows within that.
enum class Row : std::uint8_t {
  header,
  count,
  input,
  tag,
  level,
  output,
  clip,
  timer,
  counter,
  group,
  raw,
  sequence,
  fact,
  drive,
  tail,
  prop,
  offset,
  state,
  body,
  rule,
  keep,
  list,
  action,
  link,
  peer,
  own,
  own_group,
  own_bit,
  session,
  ready,
  tell
};

/// One field where it stands in the bytes. The value is as written: an index, a literal, a zigzag number
/// turned back.
struct Seen {
  const format::FieldInfo* field = nullptr;
  std::uint32_t offset = 0;
  std::uint8_t size = 0;
  std::int64_t value = 0;
};

struct RowAt {
  Row row{};
  format::Section section{};  // of the header: of no meaning
  std::uint32_t index = 0, sub = 0;
  std::uint32_t offset = 0, end = 0;              // bytes
  std::uint32_t first_field = 0, fields_end = 0;  // in Layout::fields
};

/// Every byte of a table, in rows and fields, in the order of the bytes.
struct Layout {
  std::vector<Seen> fields;
  std::vector<RowAt> rows;
  std::uint32_t section[format::kSectionCount + 1] =
      {};  // offset of each section's first byte; last: the table's size
  std::uint32_t crc = 0;
};

/// A limit of the format that the rows go over. `have` is of the unit of the limit's sentence.
struct Overrun {
  Limit limit{};
  std::uint64_t have = 0;
  std::uint32_t most = 0;
  Row row{};  // whose count or value it is; `count` with the section's first row for a section's rows
  std::uint32_t index = 0, sub = 0;
};

struct Encoded {
  std::vector<std::uint8_t> bytes;  // empty when there are overruns
  std::vector<Overrun> overruns;
};

/// Rows that are wrong in any other way than by a limit are our own fault: std::logic_error says which.
Encoded encode(const rows::Table& table);

struct Refused {
  Refusal refusal = Refusal::ok;
  std::uint32_t offset = 0;
  std::string sentence;  // the refusal's sentence, then what stands at the offset
};

struct Decoded {
  std::optional<rows::Table> table;
  Layout layout;    // whole when there is a table; else as far as it was read
  Refused refused;  // when there is no table
};

/// Bytes past the size that the header states are left alone, as lw_load leaves them.
Decoded decode(const std::vector<std::uint8_t>& bytes);

/// CRC-32/ISO-HDLC of a table with the CRC's field zero (by zlib), and the same put in its place. The table
/// must have a whole header and as many bytes as its size says, or be at least that long.
std::uint32_t table_crc(const std::vector<std::uint8_t>& bytes);
void set_crc(std::vector<std::uint8_t>& bytes);

/// A part of the state block that a controller keeps for a table (docs/table.md, "State block").
struct BlockPart {
  const char* name;
  std::uint32_t bytes;
  bool scratch;  // of the present scan; else state
};
std::vector<BlockPart> block_parts(const rows::Table& table);
std::uint32_t block_size(const std::vector<BlockPart>& parts);

}  // namespace lw
