// The calls of the runtime that this file is linked with; see runtime_api.hpp.
#include "runtime_api.hpp"

extern "C" const lw::oracle::RuntimeApi* latchwork_runtime_api() {
  static const lw::oracle::RuntimeApi api{&lw_load,         &lw_power_up, &lw_condition, &lw_step,  &lw_tag,
                                          &lw_output,       &lw_voice,    &lw_cue,       &lw_ready, &lw_tell,
                                          &lw_message_size, &lw_say,      &lw_take,      &lw_holds, &lw_fact};
  return &api;
}
