// The facts of one controller while its rows are being written: equal facts are one, whatever they are
// called.
//
// While lowering, literals speak of entries in the order in which they were first asked for; `number` then
// gives the facts that the table really uses their numbers, in an order in which each reads only earlier
// ones, and everything else is dropped. Numbering as facts come up was rejected: raw facts stand sorted by
// kind, and what a sequence reads must come before it. Internal to table/lower*. Tests:
// tests/unit/lower/pool_test.cpp.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "table/records.hpp"
#include "text/source.hpp"

namespace lw::lowering {

using rows::Literal;

/// Raw facts in the order of the facts section: by kind, then by operands.
using RawKey = std::tuple<rows::FactKind, std::uint32_t, std::uint32_t, std::uint32_t, std::string>;
inline RawKey key_of(const rows::RawFact& raw) { return {raw.kind, raw.a, raw.b, raw.c, raw.keys}; }

/// What a fact is called, and where it was first asked for. `full` is used where another fact has the same
/// `brief`.
struct Words {
  std::string brief;
  std::string full;
  Span span;
};

/// Which literals a sequence needs worked out before it, in the order in which sequences stand in the table.
struct SequenceNeeds {
  std::size_t sequence = 0;  // its place in text order, as in FactPool::own
  std::vector<Literal> literals;
};

/// The sections that numbering gives, and what the facts are called.
struct Numbering {
  std::vector<std::uint32_t> numbers;  // by entry; kNoNumber where nothing uses it
  std::vector<rows::RawFact> raw;
  std::vector<std::vector<rows::SequenceFact>> own;  // by place in SequenceNeeds
  std::vector<std::uint32_t> derived_before;         // likewise
  std::vector<rows::DerivedFact> derived;
  std::vector<std::string> names;  // by fact number
  std::vector<Span> spans;         // likewise

  Literal literal(Literal entry) const {
    return rows::literal(numbers[rows::fact_of(entry)], rows::negated(entry));
  }
};
constexpr std::uint32_t kNoNumber = 0xFFFFFFFF;

/// Literals that one derived fact can count.
constexpr std::size_t kMostLiterals = 255;

class FactPool {
 public:
  FactPool();

  Literal raw(const rows::RawFact& fact, const Words& words);
  Literal own(std::size_t sequence, std::uint8_t low, std::uint8_t high, const Words& words);
  Literal all(std::vector<Literal> literals) { return join(std::move(literals), true); }
  Literal any(std::vector<Literal> literals) { return join(std::move(literals), false); }
  /// At most kMostLiterals of them.
  Literal at_least(std::int64_t least, std::vector<Literal> literals);
  Literal exactly(std::int64_t count, const std::vector<Literal>& literals);
  /// Says where a derived fact is written, unless that is known already.
  void place(Literal literal, Span span);

  /// Adds the sequences whose own facts the literal reads, however deep.
  void sequences_read(Literal literal, std::set<std::size_t>& found) const;

  /// `roots` are all literals that the table's rows and the room's questions use.
  Numbering number(const std::vector<Literal>& roots, const std::vector<SequenceNeeds>& sequences) const;

 private:
  enum class Sort : std::uint8_t { truth, raw, own, derived };
  struct Entry {
    Sort sort = Sort::truth;
    Words words;
    rows::RawFact raw;
    std::size_t sequence = 0;
    std::uint8_t low = 0, high = 0;
    std::uint8_t least = 0;
    std::vector<Literal> parts;   // by entry, rising
    std::vector<Literal> spoken;  // the same as first written
  };
  using OwnKey = std::tuple<std::size_t, std::uint8_t, std::uint8_t>;

  Literal add(Entry entry);
  Literal join(std::vector<Literal> literals, bool all);
  Literal derive(std::size_t least, std::vector<Literal> spoken);
  void mark(Literal literal, std::vector<bool>& used) const;
  void number_derived(std::uint32_t entry, Numbering& to) const;
  void name_entries(const std::vector<bool>& used, Numbering& to) const;

  std::vector<Entry> entries_;
  std::map<RawKey, Literal> raw_;
  std::map<OwnKey, Literal> own_;
  std::map<std::vector<Literal>, Literal> derived_;  // its parts, then how many must hold
};

}  // namespace lw::lowering
