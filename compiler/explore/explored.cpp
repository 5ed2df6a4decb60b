// See explored.hpp.
#include "explore/explored.hpp"

#include <fmt/format.h>

namespace lw::explore {

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
