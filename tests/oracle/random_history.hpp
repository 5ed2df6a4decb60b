// Random histories that get somewhere: half of what happens is aimed at what the room waits for just then.
//
// It looks at the second reading while the duel is played, and writes down what it made happen, so that a
// history plays again without it. Values lie on the ends of windows and beside them; what is held, is held
// for a debounce time, one scan more or one less. Tests: tests/oracle/differential.cpp.
#pragma once

#include <deque>
#include <vector>

#include "duel.hpp"
#include "random_room.hpp"

namespace lw::oracle {

class Driver {
 public:
  Driver(Dice& dice, const Duel& duel);
  /// What happens next; the caller plays it.
  Turn next();

 private:
  struct Port {
    std::deque<Raw> coming;  // one a look of its controller
    Raw now;
    int rest = 0;  // looks until something else is thought of
  };

  void commands(std::size_t c, Turn& turn);
  void troubles(Turn& turn);
  void ports(std::size_t c, Turn& turn);
  void aim(std::size_t c);
  void aim(const model::Cond& cond, bool so);
  void aim(const model::Fact& fact, bool so);
  bool knock(std::size_t c, const model::Step& step, const SequenceState& state);
  void random_value(std::size_t input);
  void put(std::size_t input, Raw raw);
  void silence(std::size_t input);
  std::int32_t value_in(const model::Window& window, bool inside);
  std::int64_t looks(std::size_t input, std::int64_t ms) const;

  Dice& dice_;
  const Duel& duel_;
  const model::Room& room_;
  std::vector<Port> ports_;
  std::size_t controller_ = 0;
  int until_restart_ = -1;  // of the first controller
  std::vector<bool> cut_, silent_;
};

}  // namespace lw::oracle
