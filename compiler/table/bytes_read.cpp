// decode: bytes to rows, noting where every field stood. Nothing is read past its section; a section that
// ends early or late, a number in a longer form than it needs, or a second way to write the same rows is
// refused.
//
// The refusal is thrown inside and caught in decode alone: a result at each of some hundred reads would hide
// the layout. Tests: tests/unit/table.
#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cstring>
#include <map>

#include "table/bytes.hpp"
#include "table/bytes_check.hpp"
#include "table/bytes_fields.hpp"

namespace lw {
namespace format {
namespace {

/// Thrown within this file only.
struct Stop {
  Refusal refusal;
  std::uint32_t offset;
};

class Reader {
 public:
  static constexpr bool kReads = true;

  Reader(const std::vector<std::uint8_t>& bytes, Layout& layout) : bytes_(bytes), layout_(layout) {}

  void section(Section which) {
    section_ = which;
    at_ = layout_.section[static_cast<std::size_t>(which)];
    end_ = layout_.section[static_cast<std::size_t>(which) + 1];
  }
  void within(std::uint32_t at, std::uint32_t end) {
    at_ = at;
    end_ = end;
  }
  void done() {
    if (at_ != end_) throw Stop{Refusal::end, at_};
    close_row();
  }
  void row(Row row, std::size_t index, std::size_t sub = 0) {
    close_row();
    open_ = true;
    const auto fields = static_cast<std::uint32_t>(layout_.fields.size());
    layout_.rows.push_back({row, section_, static_cast<std::uint32_t>(index), static_cast<std::uint32_t>(sub),
                            at_, at_, fields, fields});
  }
  void need(bool holds, Refusal refusal) {
    if (!holds) throw Stop{refusal, layout_.fields.back().offset};
  }
  void need_at(Row row, std::size_t index, bool holds, Refusal refusal) {
    if (holds) return;
    for (const RowAt& at : layout_.rows)
      if (at.row == row && at.index == index && at.section == section_) throw Stop{refusal, at.offset};
    assert(false);
  }

  template <class T>
  void operator()(FieldName field, T& value) {
    value = static_cast<T>(take(*field.info));
  }
  template <class T>
  void kind(FieldName field, T& value, std::size_t kinds) {
    const std::int64_t code = take(*field.info);
    need(code < static_cast<std::int64_t>(kinds), Refusal::kind);
    value = static_cast<T>(code);
  }
  void size(FieldName field, std::size_t& n, std::uint32_t low, std::uint32_t most, Refusal why) {
    const std::int64_t value = take(*field.info);
    need(value >= low && value <= most, why);
    n = static_cast<std::size_t>(value);
  }
  template <class V>
  void count(FieldName field, V& all, std::uint32_t low, std::uint32_t most, Refusal why) {
    std::size_t n = 0;
    size(field, n, low, most, why);
    all.resize(n);
  }
  template <class V>
  void count(FieldName field, V& all, unsigned n, unsigned full, std::uint32_t most) {
    if (n == full)
      count(field, all, full, most, Refusal::limit);
    else
      all.resize(n);
  }
  template <class V>
  bool more(V& all, [[maybe_unused]] std::size_t n) {
    if (at_ == end_) return false;
    assert(all.size() == n);
    all.emplace_back();
    return true;
  }
  void list_starts() { start(lists_); }
  void list(FieldName field, int& index) { index = static_cast<int>(refer(lists_, field)); }
  void body_starts() { start(bodies_); }
  void body(FieldName field, std::uint16_t& index) {
    index = static_cast<std::uint16_t>(refer(bodies_, field));
  }

 private:
  const std::vector<std::uint8_t>& bytes_;
  Layout& layout_;
  Section section_{};
  std::uint32_t at_ = 0, end_ = 0;
  bool open_ = false;
  std::map<std::int64_t, std::size_t> lists_, bodies_;  // offset in the section -> index

  void close_row() {
    if (!open_) return;
    open_ = false;
    layout_.rows.back().end = at_;
    layout_.rows.back().fields_end = static_cast<std::uint32_t>(layout_.fields.size());
  }
  void start(std::map<std::int64_t, std::size_t>& starts) {
    const std::size_t index = starts.size();
    starts[at_ - layout_.section[static_cast<std::size_t>(section_)]] = index;
  }
  std::size_t refer(const std::map<std::int64_t, std::size_t>& starts, FieldName field) {
    const auto found = starts.find(take(*field.info));
    need(found != starts.end(), Refusal::reference);
    return found->second;
  }

  std::uint8_t byte() {
    if (at_ >= end_) throw Stop{Refusal::end, at_};
    return bytes_[at_++];
  }
  std::uint64_t fixed(unsigned bytes) {
    std::uint64_t value = 0;
    for (unsigned k = 0; k < bytes; ++k) value |= static_cast<std::uint64_t>(byte()) << (8 * k);
    return value;
  }
  std::uint32_t leb(std::uint32_t begin) {
    std::uint32_t value = 0;
    for (unsigned shift = 0; shift < 28; shift += 7) {
      const std::uint8_t next = byte();
      value |= static_cast<std::uint32_t>(next & 0x7F) << shift;
      if (next & 0x80) continue;
      if (next == 0 && shift != 0) throw Stop{Refusal::number, begin};
      return value;
    }
    throw Stop{Refusal::number, begin};
  }
  std::int64_t number(Type type, std::uint32_t begin) {
    switch (type) {
      case Type::u8:
        return byte();
      case Type::i8:
        return static_cast<std::int8_t>(byte());
      case Type::u16:
        return static_cast<std::int64_t>(fixed(2));
      case Type::u24:
        return static_cast<std::int64_t>(fixed(3));
      case Type::u32:
        return static_cast<std::int64_t>(fixed(4));
      case Type::u64:
        return static_cast<std::int64_t>(fixed(8));
      case Type::v:
      case Type::lit:
        return leb(begin);
      case Type::z: {
        const std::uint32_t n = leb(begin);
        return static_cast<std::int64_t>(n >> 1) ^ -static_cast<std::int64_t>(n & 1);
      }
    }
    assert(false);
    return 0;
  }
  std::int64_t take(const FieldInfo& field) {
    const std::uint32_t begin = at_;
    const std::int64_t value = number(field.type, begin);
    layout_.fields.push_back({&field, begin, static_cast<std::uint8_t>(at_ - begin), value});
    return value;
  }
};

/// The header, in the order in which each figure may be believed. Gives the CRC as written.
void read_header(Reader& reader, const std::vector<std::uint8_t>& bytes, rows::Table& table, Layout& layout) {
  if (bytes.size() < kHeaderSize) throw Stop{Refusal::short_, static_cast<std::uint32_t>(bytes.size())};
  std::uint32_t magic = 0;
  std::uint8_t version = 0;
  std::uint16_t size = 0;
  reader.within(0, static_cast<std::uint32_t>(kHeaderSize));
  header_fields(reader, table, magic, version, size, layout.crc);
  if (std::memcmp(bytes.data(), "LWT", 3) != 0) throw Stop{Refusal::magic, 0};
  if (version != kVersion) throw Stop{Refusal::version, 3};
  if (size > bytes.size()) throw Stop{Refusal::short_, 4};
  if (size < kHeaderSize) throw Stop{Refusal::header, 4};
  if (layout.crc != table_crc(bytes)) throw Stop{Refusal::crc, static_cast<std::uint32_t>(kCrcAt)};
  if (table.scan_ms < 1 || table.scan_ms > 1000) throw Stop{Refusal::header, 6};
  if (table.controllers < 1 || table.controllers > most(Limit::peers) + 1) throw Stop{Refusal::header, 11};
  if (table.controller >= table.controllers) throw Stop{Refusal::header, 10};
  std::uint32_t at = static_cast<std::uint32_t>(kHeaderSize);
  for (std::size_t n = 0; n < kSectionCount; ++n) {
    layout.section[n] = at;
    std::uint32_t length = 0;
    reader(Field::header_length, length);
    at += length;
    if (at > size) throw Stop{Refusal::sections, layout.fields.back().offset};
  }
  layout.section[kSectionCount] = at;
  if (at != size) throw Stop{Refusal::sections, 4};
  reader.done();
}

/// Rows and fields were noted in the order of reading; they are given in that of the bytes.
void sort_by_place(Layout& layout) {
  std::stable_sort(layout.rows.begin(), layout.rows.end(),
                   [](const RowAt& a, const RowAt& b) { return a.offset < b.offset; });
  std::vector<Seen> fields;
  fields.reserve(layout.fields.size());
  for (RowAt& row : layout.rows) {
    const auto first = static_cast<std::uint32_t>(fields.size());
    fields.insert(fields.end(), layout.fields.begin() + row.first_field,
                  layout.fields.begin() + row.fields_end);
    row.first_field = first;
    row.fields_end = static_cast<std::uint32_t>(fields.size());
  }
  layout.fields = std::move(fields);
}

std::uint32_t offset_of(const Problem& problem, const Layout& layout) {
  for (const RowAt& row : layout.rows) {
    if (row.row != problem.row || row.index != problem.index || row.sub != problem.sub) continue;
    std::uint32_t nth = problem.nth;
    for (std::uint32_t f = row.first_field; f < row.fields_end; ++f)
      if (layout.fields[f].field == problem.field && nth-- == 0) return layout.fields[f].offset;
    return row.offset;
  }
  return 0;
}

/// The row and field at an offset, for the sentence; the field after the last when reading stopped there.
std::string at_offset(const Layout& layout, std::uint32_t offset) {
  const RowAt* in = nullptr;
  for (const RowAt& row : layout.rows)
    if (row.offset <= offset && (!in || row.offset >= in->offset)) in = &row;
  if (!in) return {};
  std::string text = describe(in->row, in->index, in->sub);
  for (const Seen& seen : layout.fields)
    if (seen.offset == offset && seen.size != 0) {
      text += fmt::format(", {} ", seen.field->name);
      text += seen.field->type == Type::u64 ? fmt::format("{:016x}", static_cast<std::uint64_t>(seen.value))
                                            : fmt::format("{}", seen.value);
      break;
    }
  return text;
}

Refused refused(Refusal refusal, std::uint32_t offset, const Layout& layout) {
  Refused result{refusal, offset, std::string(info(refusal).sentence)};
  if (refusal <= Refusal::version || refusal == Refusal::crc) return result;
  const std::string where = at_offset(layout, offset);
  if (!where.empty()) result.sentence += fmt::format(" ({})", where);
  return result;
}

}  // namespace
}  // namespace format

Decoded decode(const std::vector<std::uint8_t>& bytes) {
  Decoded result;
  rows::Table table;
  format::Reader reader(bytes, result.layout);
  try {
    format::read_header(reader, bytes, table, result.layout);
    format::section_fields(reader, table);
    format::sort_by_place(result.layout);
    const std::vector<format::Problem> problems = format::check(table);
    if (!problems.empty())
      throw format::Stop{problems.front().refusal, format::offset_of(problems.front(), result.layout)};
  } catch (const format::Stop& stop) {
    result.refused = format::refused(stop.refusal, stop.offset, result.layout);
    return result;
  }
  result.table = std::move(table);
  return result;
}

}  // namespace lw
