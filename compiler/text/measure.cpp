// See measure.hpp.
#include "text/measure.hpp"

namespace lw {

const char* measure_name(MeasureKind kind) {
  switch (kind) {
    case MeasureKind::fastest_finish:
      return "fastest_finish";
    case MeasureKind::worst_current:
      return "worst_current";
    case MeasureKind::slowest_answer:
      return "slowest_answer";
  }
  return "";
}

const char* measure_unit(MeasureKind kind) { return kind == MeasureKind::worst_current ? "uA" : "ms"; }

std::optional<MeasureKind> measure_named(std::string_view name) {
  for (const MeasureKind kind :
       {MeasureKind::fastest_finish, MeasureKind::worst_current, MeasureKind::slowest_answer})
    if (name == measure_name(kind)) return kind;
  return std::nullopt;
}

}  // namespace lw
