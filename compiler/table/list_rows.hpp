// Rows of a table in words. Internal to table/list*. Tests: tests/unit/table/list_test.cpp.
#pragma once

#include <string>
#include <utility>

#include "table/bytes.hpp"
#include "table/list_words.hpp"

namespace lw::listing {

class Rows {
 public:
  /// Both must outlive it; `symbols` may be null. The rows to be asked about are those of the table's layout.
  Rows(const rows::Table& table, const Symbols* symbols) : t_(table), s_(symbols), w_(table, symbols) {}

  /// What the row says. Of the header: nothing.
  std::string meaning(const RowAt& row) const;
  /// "room.latch:12", with the file's folder only where it tells two files apart; empty when its line is not
  /// known.
  std::string source(const RowAt& row) const;
  /// What one value says beyond its figure: a name, a kind, a duration, a literal in words; empty when it is
  /// a figure.
  std::string value(const RowAt& row, const Seen& seen) const;

  const Words& words() const { return w_; }

 private:
  const rows::Table& t_;
  const Symbols* s_;
  Words w_;

  const Symbol* symbol(const RowAt& row) const;
  std::string quoted(const RowAt& row) const;
  std::string count_row(const RowAt& row) const;
  std::string input_row(std::size_t n) const;
  std::string output_row(std::size_t n) const;
  std::string sequence_row(std::size_t n) const;
  std::string prop_row(std::size_t n) const;
  std::string state_row(std::size_t n) const;
  std::string body_row(const RowAt& row) const;
  std::string rule_row(const rows::Rule& rule, std::size_t prop) const;
  std::string keep_row(const rows::Keep& keep) const;
  std::string link_row() const;
  std::string peer_row(std::size_t n) const;
  std::string session_row() const;
  std::string ready_row(const RowAt& row) const;
  std::size_t first_derived() const;
  std::size_t prop_of_body(std::size_t body) const;
  /// Prop and state, from 1, of a row of the states section.
  std::pair<std::size_t, std::size_t> state_of_row(std::size_t row) const;
};

}  // namespace lw::listing
