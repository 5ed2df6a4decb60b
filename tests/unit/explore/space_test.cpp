// What is known of a controller's scan from another location is what it would do in this one.
#include "explore/space.hpp"

#include <doctest/doctest.h>

#include <string>

#include "compiled_room.hpp"
#include "explore/search.hpp"

namespace lw {
namespace {

/// A desk that hears of a hall's inputs and states, with what can be lost, found and come back on the way.
const std::string kHearingRoom = R"(language 1
board slate { inputs I1 to I4 outputs K1 to K4 links L1 scan 10 ms table 4 KiB memory 512 B }
room "Test" { starts by operator, finish box }
controller desk is slate { supply 12 V up to 2 A }
controller hall is slate { supply 12 V up to 2 A }
link wire joins desk, hall { delay up to 20 ms, lost after 2 s }
contact lid at hall.I1 { closed means shut, open means open, debounce 10 ms, lost after 50 ms }
prop lantern on hall {
  state dark start { when lid open -> lit }
  state lit { when lid shut -> dark }
}
prop box on desk {
  sequence seen: lantern lit, lantern dark { wrong ignored }
  state shut start { when seen done -> opened, when lid open again every 30 ms { add 1 to tries } }
  counter tries: 0 to 2
  state opened goal { }
}
)";

TEST_CASE("every outcome of every location comes about by what somebody does there") {
  const auto room = compiled(kHearingRoom);

  const std::vector<Question> questions{room->tables->finish};
  for (const bool held_back : {false, true}) {
    const explore::Slice slice =
        explore::slice_of(*room->room, *room->tables, questions, {}, Freedoms{}, false);
    explore::Space space(slice, questions, nullptr, held_back);
    explore::Search search(space, 3'000);
    search.run({}, {});
    std::size_t outcomes = 0;
    std::string alone;
    for (explore::LocationId id = 0; id < space.locations() && id < 1'000; ++id) {
      if (!space.at(id).worked_out) continue;
      for (std::size_t k = 0; k < space.at(id).outcomes.size(); ++k) {
        ++outcomes;
        // These are worked out anew.
        if (space.picks(id, k, 1).empty()) alone += std::to_string(id) + '.' + std::to_string(k) + ' ';
      }
    }
    CHECK(outcomes > 1'000);
    CHECK(alone == "");
  }
}

}  // namespace
}  // namespace lw
