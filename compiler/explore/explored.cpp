// See explored.hpp.
#include "explore/explored.hpp"

#include <fmt/format.h>

#include <numeric>

namespace lw::explore {

Count ticks_of(Watch::Kind kind, std::int64_t time_ms, const std::vector<Question>& questions,
               const Slice& slice) {
  std::int64_t scan_ms = 0;
  for (const Question& question : questions)
    for (const Ask& ask : question)
      if (ask.kind == Ask::Kind::fact || ask.kind == Ask::Kind::scan_fact)
        scan_ms = std::gcd(scan_ms, std::int64_t{slice.parts[ask.controller].rows.scan_ms});
  if (scan_ms == 0) scan_ms = slice.unit_ms();
  if (kind != Watch::Kind::stays) time_ms += scan_ms - 1;
  return static_cast<Count>(time_ms / scan_ms * (scan_ms / slice.unit_ms()));
}

std::string looked_at(const Search& search, const Slice& slice) {
  return fmt::format("{} states of {} prop{}", search.stored(), slice.props, slice.props == 1 ? "" : "s");
}

Explored of_several_periods() {
  Explored result;
  result.bound = "the controllers scan at different periods";
  return result;
}

Explored ended(const Search& search, const Slice& slice, const Space& space) {
  Explored result;
  result.states = search.stored();
  result.bound =
      space.spent() ? fmt::format("{}, in a part of {} prop{}", space.what_was_spent(), slice.props,
                                  slice.props == 1 ? "" : "s")
      : space.overflowed()
          ? fmt::format("more inputs or messages at once than are followed, in a part of {} prop{}",
                        slice.props, slice.props == 1 ? "" : "s")
          : fmt::format("after {}, the most that may be stored", looked_at(search, slice));
  return result;
}

}  // namespace lw::explore
