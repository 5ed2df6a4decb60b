// See measures.hpp.
#include "explore/measures.hpp"

#include "runtime/table.h"

namespace lw {

Question powered(Seat output) {
  Ask off;
  off.kind = Ask::Kind::fact;
  off.controller = output.controller;
  off.fact = rows::RawFact{rows::FactKind::output_is, output.row, LW_OUTPUT_is_off, 0, {}};
  Ask turned;
  turned.kind = Ask::Kind::not_;
  return {off, turned};
}

Question running(std::uint8_t controller) {
  Ask ask;
  ask.kind = Ask::Kind::fact;
  ask.controller = controller;
  ask.fact = rows::RawFact{rows::FactKind::session_in, 1, 1, 0, {}};
  return {ask};
}

}  // namespace lw
