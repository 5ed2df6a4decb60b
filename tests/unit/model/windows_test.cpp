// 2.2 and decisions 14 to 16: windows as inclusive ranges of whole divisions.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

namespace {

constexpr std::int64_t kNone = -999'999;

/// A window on a device with ends as given; kNone is without end.
void check_window(const std::string& device, const std::string& range, std::int64_t low, std::int64_t high) {
  INFO(device << ": " << range);
  const Resolved resolved = resolve_text(in_prop("window w on " + device + ": " + range));
  REQUIRE(joined(resolved.lines()) == "");
  const Window& window = resolved.window("it", "w");
  CHECK(window.low.value_or(kNone) == low);
  CHECK(window.high.value_or(kNone) == high);
  CHECK_FALSE(window.is_empty);
}

}  // namespace

TEST_CASE("16: `±` and `to` contain their ends") {
  check_window("balance", "605 g ± 35 g", 570, 640);
  check_window("balance", "605 g +- 35 g", 570, 640);
  check_window("balance", "600 g to 720 g", 600, 720);
  check_window("balance", "605.5 g ± 35.4 g", 571, 640);  // 570.1 to 640.9
  check_window("balance", "600.5 g to 720.5 g", 601, 720);
  check_window("balance", "600 g ± 0 g", 600, 600);
}

TEST_CASE("16: `above`, `below` and `between` never contain their ends") {
  check_window("balance", "above 630 g", 631, kNone);
  check_window("balance", "above 630.5 g", 631, kNone);
  check_window("balance", "below 630 g", kNone, 629);
  check_window("balance", "below 630.5 g", kNone, 630);
  check_window("balance", "between 600 g and 630 g", 601, 629);
  check_window("balance", "between 600.5 g and 629.5 g", 601, 629);
}

TEST_CASE("16: `empty` is the range below what the scale calls empty") {
  check_window("balance", "above empty", 5, kNone);
  check_window("balance", "between empty and 630 g", 5, 629);
  check_pair(in_prop("window w on balance: below empty"), {"3:28 empty_range: nothing lies below `empty`"},
             in_prop("window w on balance: above empty"));
  check_pair(in_prop("window w on heat: above empty"),
             {"3:25 wrong_kind: only a scale is `empty`, and `heat` is a gauge"},
             in_prop("window w on heat: above 0 °C"));
}

TEST_CASE("15: the target is the nominal sum of things and quantities") {
  check_window("balance", "ingot + nugget ± 35 g", 570, 640);
  check_window("balance", "ingot + 2 x nugget ± 20 g", 772, 812);
  check_window("balance", "ingot + 2 × nugget ± 20 g", 772, 812);
  check_window("balance", "12 g + nugget to 300 g", 199, 300);
  const Resolved resolved = resolve_text(in_prop("window w on balance: ingot + 2 x nugget ± 20 g"));
  const Window& window = resolved.window("it", "w");
  REQUIRE(window.target.size() == 2);
  CHECK(window.target[1].count == 2);
  CHECK(resolved.room->things[index(*window.target[1].thing)].name == "nugget");
  CHECK(window.target[1].value == 187'000'000'000'000);
  CHECK(window.tolerance == 20'000'000'000'000);
}

TEST_CASE("14: percent is of the target") {
  check_window("balance", "600 g ± 5 %", 570, 630);
  check_window("balance", "ingot + nugget ± 5 %", 575, 635);  // 574.75 to 635.25
  check_window("balance", "601 g ± 0.5 %", 598, 604);         // 597.995 to 604.005
  check_window("heat", "-20 °C ± 10 %", 36, 44);              // -22 to -18, in halves from -40
}

TEST_CASE("a gauge counts from its low end, below zero too") {
  check_window("heat", "-10 °C to 10.2 °C", 60, 100);
  check_window("heat", "-0.3 °C to 0.3 °C", 80, 80);
  check_window("heat", "above -40 °C", 1, kNone);
  check_window("heat", "below -39.9 °C", kNone, 0);
  check_window("heat", "between -1 °C and 1 °C", 79, 81);
  check_window("heat", "-50 °C ± 5 °C", -30, -10);  // wholly below its low end: a check says so
}

TEST_CASE("16: a gauge that wraps has ranges through its zero") {
  check_window("dial", "40 deg ± 3 deg", 37, 43);
  check_window("dial", "0 deg ± 5 deg", 355, 5);
  check_window("dial", "358 deg ± 5 deg", 353, 3);
  check_window("dial", "350 deg to 10 deg", 350, 10);
  check_window("dial", "between 350 deg and 10 deg", 351, 9);
  check_window("dial", "300 deg to 360 deg", 300, 0);
  check_window("dial", "0 deg ± 200 deg", 0, 359);
  check_window("dial", "-10 deg ± 3 deg", 347, 353);
  check_pair(in_prop("window w on heat: 10 °C to -10 °C"),
             {"3:19 empty_range: the low end of the window lies above its high end"},
             in_prop("window w on heat: -10 °C to 10 °C"));
  check_pair(in_prop("window zero on dial: 0 deg ± 5 deg\nwindow w on dial: above zero"),
             {"4:25 wrong_kind: nothing lies beside `zero`, which goes through zero"},
             in_prop("window zero on dial: 10 deg ± 5 deg\nwindow w on dial: above zero"));
}

TEST_CASE("pounds and ounces are exact: divisions of 0.2 oz, 5.669904625 g") {
  check_window("imperial", "1 lb to 2 lb", 80, 160);
  check_window("imperial", "1 lb 4 oz ± 1 oz", 95, 105);
  check_window("imperial", "above 1 lb", 81, kNone);
  check_window("imperial", "453.59237 g to 907.18474 g", 80, 160);  // one and two pounds by definition
  check_window("imperial", "453.592370000001 g to 907.184739999999 g", 81, 159);  // a picogram inside of them
  check_window("imperial", "7000 gr ± 0 g", 80, 80);
}

TEST_CASE("16: `below fair`, `fair`, `above fair` split the line exactly") {
  const Resolved resolved =
      resolve_text(in_prop("window light on balance: below fair\nwindow fair on balance: 600.3 g ± 35.4 "
                           "g\nwindow heavy on balance: above fair\n"
                           "window gap on balance: between light and heavy"));
  REQUIRE(joined(resolved.lines()) == "");
  CHECK(*resolved.window("it", "fair").low == 565);
  CHECK(*resolved.window("it", "fair").high == 635);
  CHECK(*resolved.window("it", "light").high == 564);
  CHECK(*resolved.window("it", "heavy").low == 636);
  CHECK(*resolved.window("it", "gap").low == 565);
  CHECK(*resolved.window("it", "gap").high == 635);
}

TEST_CASE("a window in which no division lies is marked, and its neighbours still meet") {
  const Resolved resolved =
      resolve_text(in_prop("window thin on balance: 600.5 g ± 0.3 g\nwindow light on balance: below thin\n"
                           "window heavy on balance: above thin"));
  REQUIRE(resolved.room);
  CHECK(resolved.window("it", "thin").is_empty);
  CHECK(*resolved.window("it", "light").high == 600);
  CHECK(*resolved.window("it", "heavy").low == 601);
  CHECK(resolve_text(in_prop("window w on balance: between 5 g and 5 g")).window("it", "w").is_empty);
  CHECK(resolve_text(in_prop("window w on dial: between 10.2 deg and 10.6 deg")).window("it", "w").is_empty);
}

TEST_CASE("16: a low end above the high end") {
  const char* const message = " empty_range: the low end of the window lies above its high end";
  check_pair(in_prop("window w on balance: 720 g to 600 g"), {std::string("3:22") + message},
             in_prop("window w on balance: 600 g to 720 g"));
  check_pair(in_prop("window w on balance: between 720 g and 600 g"), {std::string("3:22") + message},
             in_prop("window w on balance: between 600 g and 720 g"));
  check_pair(in_prop("window a on balance: below 100 g\nwindow b on balance: above 200 g\nwindow w on "
                     "balance: between b and a"),
             {"5:30 empty_range: nothing lies above `b`", "5:36 empty_range: nothing lies below `a`"},
             in_prop("window a on balance: below 100 g\nwindow b on balance: above 200 g\nwindow w on "
                     "balance: between a and b"));
}

TEST_CASE("ends that are windows: of the same scale, and not in a ring") {
  check_pair(in_prop("window a on other: 100 g ± 5 g\nwindow w on balance: above a"),
             {"4:28 wrong_kind: `a` is a window on `other`, and this one is on `balance`"},
             in_prop("window a on balance: 100 g ± 5 g\nwindow w on balance: above a"));
  check_pair(in_prop("window a on balance: above b\nwindow b on balance: below a"),
             {"3:8 ring: the window `a` is bounded by itself"},
             in_prop("window a on balance: above 5 g\nwindow b on balance: below a"));
}

TEST_CASE("what a target may be made of") {
  check_pair(in_prop("window w on balance: crown ± 5 g"), {"3:22 wrong_kind: `crown` has no mass"},
             in_prop("window w on balance: ingot ± 5 g"));
  check_pair(in_prop("window w on dial: ingot ± 5 deg"),
             {"3:19 wrong_kind: a thing lies on a scale, and `dial` is a gauge"},
             in_prop("window w on dial: 5 deg ± 5 deg"));
  check_pair(in_prop("window w on balance: 0 x ingot ± 5 g"),
             {"3:22 out_of_range: a sum counts 1 to 1000000 of a thing"},
             in_prop("window w on balance: 1 x ingot ± 5 g"));
  check_pair(in_prop("window w on balance: 9000 kg + 9000 kg ± 5 g"),
             {"3:22 overflow: a quantity larger than can be counted"},
             in_prop("window w on balance: 9 kg + 9 kg ± 5 g"));
}

TEST_CASE("ends and targets may be lets") {
  const Resolved resolved = resolve_text(
      "let aim be 600 g\n" + in_prop("window w on balance: aim + 5 g ± 5 g\nwindow v on balance: above aim"));
  REQUIRE(joined(resolved.lines()) == "");
  CHECK(*resolved.window("it", "w").low == 600);
  CHECK(*resolved.window("it", "v").low == 601);
}
