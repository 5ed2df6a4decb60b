// The runtime's calls as a row of pointers, so that a runtime broken on purpose can stand in for the real
// one.
//
// Compiled into the program it is the runtime that ships; compiled with changed sources into a library of its
// own it is loaded by `--runtime` (tests/oracle/mutate.py).
#pragma once

#include "runtime/runtime.h"

namespace lw::oracle {

struct RuntimeApi {
  decltype(&::lw_load) load;
  decltype(&::lw_power_up) power_up;
  decltype(&::lw_condition) condition;
  decltype(&::lw_step) step;
  decltype(&::lw_tag) tag;
  decltype(&::lw_output) output;
  decltype(&::lw_voice) voice;
  decltype(&::lw_cue) cue;
  decltype(&::lw_ready) ready;
  decltype(&::lw_tell) tell;
  decltype(&::lw_message_size) message_size;
  decltype(&::lw_say) say;
  decltype(&::lw_take) take;
  decltype(&::lw_holds) holds;
  decltype(&::lw_fact) fact;
};

}  // namespace lw::oracle

extern "C" const lw::oracle::RuntimeApi* latchwork_runtime_api();
