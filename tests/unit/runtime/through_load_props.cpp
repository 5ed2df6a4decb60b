// runtime/load_props.cpp once more, reading through a function: see through.hpp.
#include "through_read.hpp"

namespace lw::bench::through {
#include "runtime/load_props.cpp"
}  // namespace lw::bench::through
