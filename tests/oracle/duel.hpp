// The runtime and the second reading side by side: the same raw values, commands and messages to both, and
// after each scan everything that can be seen of either is compared.
//
// Tests: tests/oracle/differential.cpp.
#pragma once

#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "compiled.hpp"
#include "history.hpp"
#include "oracle.hpp"
#include "runtime_api.hpp"

namespace lw::oracle {

class Duel {
 public:
  /// All must outlive the duel. `compiled` has tables.
  Duel(const Compiled& compiled, const RuntimeApi& api, Coverage& coverage);

  /// Plays the turn; says where the two differ after it, and which was what. Names that the room does not
  /// have are passed over.
  std::optional<std::string> play(const Turn& turn);

  const model::Room& room() const { return room_; }
  const Controller& oracle(std::size_t controller) const { return *seats_[controller].oracle; }
  const Raw& raw(model::InputId input) const { return raws_[model::index(input)]; }

 private:
  struct Seat {
    lw_table table{};
    std::vector<std::uint8_t> block, message;
    std::unique_ptr<Controller> oracle;
    // The same room in all but its identity.
    lw_table stranger{};
    std::vector<std::uint8_t> stranger_bytes;
    // Rows of the table by what they are of.
    std::vector<std::vector<int>> timers, counters, sequences;  // by prop
    std::vector<int> done_fact, wrong_fact;                     // by sequence row; -1 none
    std::vector<std::vector<int>> readies;                      // by prop
    std::vector<std::vector<std::vector<int>>> tells;           // by prop, body
    bool silent = false;
  };
  struct Flight {
    std::size_t from = 0, to = 0, link = 0;
    std::size_t arrives = 0;
    std::vector<std::uint8_t> bytes;
    Message message;
  };
  struct Line {
    bool cut = false;
    int delay = 0;
  };

  void find_rows(std::size_t c);
  void happen(const Happening& one, std::size_t c, Commands& commands);
  void power_up(std::size_t c);
  void stranger(std::size_t c);
  std::optional<std::string> scan(std::size_t c, int periods, const Commands& commands);
  std::optional<std::string> deliver(std::size_t c);
  std::optional<std::string> send(std::size_t c);
  std::vector<lw_raw> port_reads(std::size_t c) const;
  std::optional<std::string> compare(std::size_t c) const;
  void compare_inputs(std::size_t c, std::string& difference) const;
  void compare_props(std::size_t c, std::string& difference) const;
  void compare_outputs(std::size_t c, std::string& difference) const;
  void compare_session(std::size_t c, std::string& difference) const;
  void compare_promises(std::string& difference) const;
  bool holds(std::size_t c, std::uint8_t kind, std::uint32_t a, std::uint32_t b, std::uint32_t third) const;
  bool visible(const model::Cond& cond) const;
  bool answer(const Question& question) const;

  const model::Room& room_;
  const RoomTables& tables_;
  const RuntimeApi& api_;
  Coverage& coverage_;
  std::vector<Seat> seats_;
  std::vector<Raw> raws_;  // by input
  std::vector<Line> lines_;
  std::deque<Flight> flights_;
  std::size_t turn_ = 0;
};

}  // namespace lw::oracle
