// encode: checks the rows, then writes each section to a buffer of its own, so that what refers to a place in
// another section finds it written. Tests: tests/unit/table.
#include "table/bytes_write.hpp"

#include <zlib.h>

#include <algorithm>
#include <cassert>
#include <stdexcept>

#include "table/bytes.hpp"
#include "table/bytes_check.hpp"
#include "table/bytes_fields.hpp"

namespace lw {
namespace format {
namespace {

class Writer {
 public:
  static constexpr bool kReads = false;

  std::vector<std::uint8_t> buffer[kSectionCount + 1];  // the last: the header

  void section(Section which) { now_ = static_cast<std::size_t>(which); }
  void done() {}
  void row(Row, std::size_t, std::size_t = 0) {}
  void need(bool, Refusal) {}
  void need_at(Row, std::size_t, bool, Refusal) {}

  template <class T>
  void operator()(FieldName field, T& value) {
    put(field.info->type, static_cast<std::uint64_t>(value));
  }
  template <class T>
  void kind(FieldName field, T& value, std::size_t) {
    put(field.info->type, static_cast<std::uint64_t>(value));
  }
  void size(FieldName field, std::size_t n, std::uint32_t, std::uint32_t, Refusal) {
    put(field.info->type, n);
  }
  template <class V>
  void count(FieldName field, V& all, std::uint32_t, std::uint32_t, Refusal) {
    put(field.info->type, all.size());
  }
  template <class V>
  void count(FieldName field, V& all, unsigned n, unsigned full, std::uint32_t most) {
    if (n == full) count(field, all, full, most, Refusal::limit);
  }
  template <class V>
  bool more(V& all, std::size_t n) {
    return n < all.size();
  }
  void list_starts() { lists_.push_back(here().size()); }
  void list(FieldName field, int index) { put(field.info->type, lists_.at(static_cast<std::size_t>(index))); }
  void body_starts() { bodies_.push_back(here().size()); }
  void body(FieldName field, std::size_t index) { put(field.info->type, bodies_.at(index)); }

 private:
  std::size_t now_ = kSectionCount;
  std::vector<std::size_t> lists_, bodies_;

  std::vector<std::uint8_t>& here() { return buffer[now_]; }
  void fixed(std::uint64_t value, unsigned bytes) {
    for (; bytes != 0; --bytes, value >>= 8) here().push_back(static_cast<std::uint8_t>(value));
  }
  void leb(std::uint64_t value) {
    for (; value >= 0x80; value >>= 7) here().push_back(static_cast<std::uint8_t>(value | 0x80));
    here().push_back(static_cast<std::uint8_t>(value));
  }
  void put(Type type, std::uint64_t value) {
    switch (type) {
      case Type::u8:
      case Type::i8:
        return fixed(value, 1);
      case Type::u16:
        return fixed(value, 2);
      case Type::u24:
        return fixed(value, 3);
      case Type::u32:
        return fixed(value, 4);
      case Type::u64:
        return fixed(value, 8);
      case Type::v:
      case Type::lit:
        return leb(value);
      case Type::z:
        return leb((value << 1) ^ (value >> 63 ? ~std::uint64_t{0} : 0));
    }
  }
};

}  // namespace

std::vector<std::uint8_t> write(const rows::Table& table) {
  rows::Table t = table;
  Writer writer;
  std::uint32_t magic = 'L' | ('W' << 8) | ('T' << 16);
  std::uint8_t version = kVersion;
  std::uint16_t size = 0;
  std::uint32_t crc = 0;
  section_fields(writer, t);
  std::size_t all = kHeaderSize;
  for (std::size_t n = 0; n < kSectionCount; ++n) all += writer.buffer[n].size();
  size = static_cast<std::uint16_t>(all);
  std::vector<std::uint8_t> bytes;
  bytes.reserve(all);
  Writer head;
  header_fields(head, t, magic, version, size, crc);
  for (std::size_t n = 0; n < kSectionCount; ++n) {
    std::size_t length = writer.buffer[n].size();
    head(Field::header_length, length);
  }
  bytes = head.buffer[kSectionCount];
  for (std::size_t n = 0; n < kSectionCount; ++n)
    bytes.insert(bytes.end(), writer.buffer[n].begin(), writer.buffer[n].end());
  set_crc(bytes);
  return bytes;
}

}  // namespace format

Encoded encode(const rows::Table& table) {
  Encoded result;
  const std::vector<format::Problem> problems = format::check(table);
  for (const format::Problem& p : problems)
    if (p.over) result.overruns.push_back({*p.over, p.have, format::most(*p.over), p.row, p.index, p.sub});
  // What else is wrong may be wrong because of them: an index that no longer fits its byte.
  if (!result.overruns.empty()) return result;
  if (!problems.empty()) throw std::logic_error("encode: " + format::describe(problems.front()));
  std::vector<std::uint8_t> bytes = format::write(table);
  const std::uint32_t most = format::most(Limit::table_bytes);
  if (bytes.size() > most)
    result.overruns.push_back({Limit::table_bytes, bytes.size(), most, Row::header, 0, 0});
  else
    result.bytes = std::move(bytes);
  return result;
}

std::uint32_t table_crc(const std::vector<std::uint8_t>& bytes) {
  assert(bytes.size() >= format::kHeaderSize);
  const std::size_t size = std::min<std::size_t>(bytes.size(), bytes[4] | (bytes[5] << 8));
  constexpr std::size_t kBehind = format::kCrcAt + 4;
  if (size < kBehind) return 0;
  const std::uint8_t zero[4] = {};
  uLong crc = crc32(0, bytes.data(), format::kCrcAt);
  crc = crc32(crc, zero, sizeof zero);
  crc = crc32(crc, bytes.data() + kBehind, static_cast<uInt>(size - kBehind));
  return static_cast<std::uint32_t>(crc);
}

void set_crc(std::vector<std::uint8_t>& bytes) {
  const std::uint32_t crc = table_crc(bytes);
  for (unsigned k = 0; k < 4; ++k) bytes[format::kCrcAt + k] = static_cast<std::uint8_t>(crc >> (8 * k));
}

}  // namespace lw
