#include "rooms.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <nlohmann/json.hpp>
#include <sstream>

namespace lw::bench {
namespace {

constexpr unsigned kPropsOfController = 13, kLinesOfProp = 37;

std::string prop_text(unsigned prop) {
  const unsigned on = prop / kPropsOfController, seat = prop % kPropsOfController;
  return fmt::format(
      R"(
# Prop {n}: the right weight lets the drawer go, and the drawer's key lifts the lid.
thing ingot{n} {grams} g ± 1 g {{ home "shelf {n}" }}
scale pan{n} at c{c}.S{s} {{ capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }}
contact lid{n} at c{c}.I{i} {{ closed means shut, open means lifted }}
button bell{n} at c{c}.I{j}
lamp blue{n} at c{c}.K{k} {{ draws 150 mA }}
lamp red{n} at c{c}.K{l} {{ draws 150 mA }}
lock drawer{n} at c{c}.K{m} {{ draws 450 mA, fail-secure, longest 20 s }}

prop p{n} on c{c} {{
  window fair on pan{n}: {grams} g ± 35 g
  window light on pan{n}: between empty and fair
  window heavy on pan{n}: above fair
  timer patience: 3 min
  counter tries: 0 to 9
  ready when pan{n} empty and lid{n} shut "Pan {n} empty, lid shut"

  state weighing start {{
    enter {{ start patience }}
    when fair for 700 ms -> settled
    when light for 700 ms again every 9 s {{ keep blue{n} on for 2500 ms, keep red{n} off for 2500 ms }}
    when heavy for 400 ms again every 5 s {{ keep red{n} blinking every 500 ms for 4 s }}
    when bell{n} pressed and tries below 9 {{ add 1 to tries }}
    when patience done or tries above 4 -> helped
    tell "Pan {n} has lost its cable" while pan{n} lost
  }}
  state helped {{
    keep blue{n} blinking every 1 s
    when fair for 700 ms -> settled
  }}
  state settled {{
    enter {{ keep drawer{n} released for 10 s }}
    when lid{n} lifted for 2 s -> open
  }}
  state open goal {{ }}
}}
)",
      fmt::arg("n", prop), fmt::arg("c", on), fmt::arg("s", seat + 1), fmt::arg("i", 2 * seat + 1),
      fmt::arg("j", 2 * seat + 2), fmt::arg("k", 3 * seat + 1), fmt::arg("l", 3 * seat + 2),
      fmt::arg("m", 3 * seat + 3), fmt::arg("grams", 200 + prop * 7 % 900));
}

}  // namespace

std::string room_of_lines(unsigned lines) {
  const unsigned props = (lines + kLinesOfProp - 1) / kLinesOfProp;
  const unsigned controllers = (props + kPropsOfController - 1) / kPropsOfController;
  assert(controllers >= 2 && controllers <= 32);
  std::string text = fmt::format(
      R"(language 1
room "The Long House" {{ session 3 h, starts by operator, finish p{last} }}
board house {{
  inputs I1 to I{inputs}
  outputs K1 to K{outputs} up to 2 A
  scales S1 to S{scales}
  links L1
  table 32 KiB, memory 8 KiB, scan 10 ms
  total up to 40 A
}}
)",
      fmt::arg("last", props - 1), fmt::arg("inputs", 2 * kPropsOfController),
      fmt::arg("outputs", 3 * kPropsOfController), fmt::arg("scales", kPropsOfController));
  std::string joins;
  for (unsigned n = 0; n < controllers; ++n) {
    text += fmt::format("controller c{} is house {{ supply 12 V up to 40 A }}\n", n);
    joins += fmt::format("{}c{}", n == 0 ? "" : ", ", n);
  }
  text += fmt::format("link floor joins {} {{ delay up to 200 ms, lost after 2 s }}\n", joins);
  for (unsigned n = 0; n < props; ++n) text += prop_text(n);
  text += "\nchain {\n";
  for (unsigned n = 0; n + 1 < props; ++n) text += fmt::format("  p{} -> p{}\n", n, n + 1);
  return text + "}\n";
}

std::string json_of(const std::string& room, std::size_t size) {
  std::string text = "[";
  std::istringstream lines(room);
  for (std::string line; text.size() < size;) {
    if (!std::getline(lines, line)) {
      lines = std::istringstream(room);
      continue;
    }
    std::string row;
    std::istringstream words(line);
    for (std::string word; words >> word;) {
      const bool number = std::all_of(word.begin(), word.end(), [](char c) { return c >= '0' && c <= '9'; });
      row += row.empty() ? "" : ",";
      row += number ? word : nlohmann::json(word).dump();
    }
    if (row.empty()) continue;
    if (text.size() + row.size() + 5 > size) break;
    text += (text.size() == 1 ? "[" : ",\n[") + row + "]";
  }
  text.resize(size - 1, ' ');
  return text + "]";
}

}  // namespace lw::bench
