// What a table speaks of, in words: names, values, levels, facts, actions. Internal to table/list*.
//
// Names come from the symbol file, whatever it holds, else from a kind and a number; both are safe to print.
// Tests: tests/unit/table/list_test.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "table/records.hpp"
#include "table/symbols.hpp"

namespace lw::listing {

/// The name with controls, and what is not UTF-8, shown as `?`.
std::string shown(const std::string& name);
/// "1 rule", "2 rules".
std::string plural(std::size_t n, const char* what);
/// The parts that are not empty.
std::string joined(const std::vector<std::string>& parts, const char* between);
/// "3" or "3 to 5".
std::string ends(const std::string& low, const std::string& high);
/// "arena 4 to 7".
std::string arena(std::size_t place, std::size_t bytes);
/// Null when there are fewer.
const Symbol* symbol_at(const std::vector<Symbol>& all, std::size_t n);

class Words {
 public:
  /// Both must outlive it; `symbols` may be null.
  Words(const rows::Table& table, const Symbols* symbols) : t_(table), s_(symbols) {}

  const rows::Table& table() const { return t_; }
  const Symbols* symbols() const { return s_; }

  /// "40 scans (400 ms)".
  std::string duration(std::uint64_t scans) const;

  std::string controller(std::size_t n) const;
  std::string peer(std::size_t n) const;
  std::string input(std::size_t n) const;
  std::string output(std::size_t n) const;
  std::string tag(std::size_t n) const;
  std::string clip(std::size_t n) const;
  std::string timer(std::size_t n) const;
  std::string counter(std::size_t n) const;
  std::string sequence(std::size_t n) const;
  std::string cue(std::size_t n) const;
  std::string prop(std::size_t n) const;
  /// States count from 1; 0 is waiting.
  std::string state(std::size_t prop, std::size_t state) const;

  /// A conditioned value: "shut", "570 g to 640 g", "reads crown".
  std::string input_value(std::size_t input, std::size_t n) const;
  std::string level(std::size_t n) const;
  /// In the output's own words: a lock is released or secured.
  std::string level(std::size_t n, std::size_t output) const;
  /// "released", "blinking", "at 40 %".
  std::string output_test(std::size_t output, std::size_t test) const;

  std::string raw(const rows::RawFact& fact) const;
  std::string sequence_fact(std::size_t sequence, const rows::SequenceFact& fact) const;
  std::string derived(const rows::DerivedFact& fact) const;
  /// By its name; else what it says, or a derived one by its number, which its row explains.
  std::string fact(std::size_t n) const;
  std::string literal(rows::Literal l) const;
  std::string action(const rows::Action& action) const;
  /// "{ quiet horn, send smoke } (list 3)"; nothing for no list.
  std::string actions(int list) const;

 private:
  const rows::Table& t_;
  const Symbols* s_;

  std::string cells(std::size_t input, std::size_t low, std::size_t high) const;
};

}  // namespace lw::listing
