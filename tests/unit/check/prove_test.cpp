// What is said of a promise that a playthrough breaks, and that nothing is said which the runtime does not
// show.
#include "check/prove.hpp"

#include "../play/played.hpp"

using namespace lw;
using test::played;

namespace {

const char* const kRoom = R"(
room "Two Lamps" { starts by operator, finish p }
controller hall is box
thing ingot 418 g { home "shelf" }
contact gate at hall.I1 { closed means shut, open means lifted }
scale   balance at hall.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }
lamp    red  at hall.K1
lamp    blue at hall.K2
prop p on hall {
  window fair on balance: 400 g to 430 g
  window huge on balance: from 2 kg
  ready when gate shut "Gate shut"
  state s start {
    keep red on while fair
    keep blue on while gate lifted
    when huge -> t
  }
  state t goal { }
}
promise "one lamp": never red on and blue on
promise "quick":    gate lifted then red on within 100 ms
promise "no hand":  never p t
promise "slow":     finish not before 10 s
)";

struct Broken {
  std::unique_ptr<test::Played> room;
  std::string why_not;

  Broken() {
    std::string text = kRoom;
    text.replace(text.find("from 2 kg"), 9, "2 kg to 3 kg");
    room = played(text);
  }

  Happening of(Happening::Kind kind, const char* input, std::int64_t at_ms, std::uint8_t value) const {
    Happening happening;
    happening.kind = kind;
    happening.at_ms = at_ms;
    if (kind == Happening::Kind::input || kind == Happening::Kind::lost)
      happening.input = room->tables.inputs[room->input(input)].front().row;
    happening.value = value;
    return happening;
  }
  std::optional<Finding> finding(std::size_t which, const std::vector<Happening>& happenings,
                                 std::int64_t until_ms) {
    Playthrough playthrough;
    playthrough.happenings = {of(Happening::Kind::input, "gate", 0, 1),
                              of(Happening::Kind::start, "", 500, 0)};
    playthrough.happenings.insert(playthrough.happenings.end(), happenings.begin(), happenings.end());
    playthrough.known_ms = 400;
    playthrough.until_ms = until_ms;
    Courses courses(room->room, room->tables);
    Explored refuted;
    refuted.answer = Answer::refuted;
    refuted.playthrough = playthrough;
    return broken_promise(room->sources, courses, which, refuted, why_not);
  }
};

}  // namespace

TEST_CASE("a broken promise tells its playthrough, what it needs, and how it is rehearsed") {
  using Kind = Happening::Kind;
  Broken broken;
  const auto both = broken.finding(
      0, {broken.of(Kind::input, "balance", 1500, 1), broken.of(Kind::input, "gate", 2000, 0)}, 2000);
  REQUIRE(both);
  CHECK(both->code == Code::broken_promise);
  CHECK(both->severity == Severity::error);
  CHECK(both->message == "promise \"one lamp\" is broken");
  CHECK(broken.room->sources.text(both->span) == "promise \"one lamp\": never red on and blue on");
  CHECK(both->reason == "The shortest playthrough found takes 1.5 s and needs only the things in the room:");
  CHECK(test::told(both->playthrough) ==
        "0.0 s | operator starts the session | p is s\n"
        "0.6 s | ingot put on balance | \n"
        "1.0 s | balance settles at 418 g, `fair` | red on | 19\n"
        "1.47 s | gate lifted | \n"
        "1.5 s |  | blue on | 20\n"
        " |  | red on and blue on\n");
  CHECK(both->rehearsal ==
        "rehearsal \"breaks \"\"one lamp\"\"\" {\n"
        "  at 600 ms   place ingot on balance\n"
        "  at 1.47 s   set gate lifted\n"
        "  at 1.5 s    expect red on and blue on\n"
        "}\n");
}

TEST_CASE("what a playthrough makes use of is named") {
  using Kind = Happening::Kind;
  Broken broken;
  const auto hand = broken.finding(2, {broken.of(Kind::input, "balance", 1500, 3)}, 1510);
  REQUIRE(hand);
  CHECK(hand->reason == "The shortest playthrough found takes 1.0 s and needs a hand on balance:");
  const auto lost = broken.finding(
      1, {broken.of(Kind::lost, "gate", 2000, 0), broken.of(Kind::input, "gate", 3000, 0)}, 3100);
  REQUIRE(lost);
  CHECK(lost->reason == "The shortest playthrough found takes 2.6 s and needs gate lost:");
  const auto reset =
      broken.finding(1, {broken.of(Kind::reset, "", 800, 0), broken.of(Kind::input, "gate", 3000, 0)}, 3100);
  REQUIRE(reset);
  CHECK(reset->reason == "The shortest playthrough found takes 2.6 s and needs a reset:");
}

TEST_CASE("what the runtime does not show is no finding") {
  using Kind = Happening::Kind;
  Broken broken;
  CHECK_FALSE(broken.finding(0, {broken.of(Kind::input, "balance", 1500, 1)}, 2000));
  CHECK(broken.why_not == "played in the room, it does not show by 1.5 s what it is to show");
  CHECK_FALSE(broken.finding(3, {broken.of(Kind::input, "balance", 11'000, 3)}, 11'010));
}

TEST_CASE("freedoms are said in the words of the room") {
  const Broken broken;
  CHECK(freedoms_words(broken.room->room, {"hands", "losses", "late", "operator"}) ==
        "hands anywhere, devices lost and found and the operator's start, end and reset at any time");
  CHECK(freedoms_words(broken.room->room, {}) == "what the things of the room weigh alone");
}
