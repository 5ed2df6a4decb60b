// Histories in words; see history.hpp.
#include "history.hpp"

namespace lw::oracle {
namespace {

std::string in_words(const Happening& one) {
  switch (one.what) {
    case What::reads: {
      if (!one.raw.good) return one.name + " gives nothing";
      if (!one.raw.tag.empty()) {
        std::string tag;
        for (const char byte : one.raw.tag) {
          constexpr char kDigits[] = "0123456789ABCDEF";
          const auto value = static_cast<unsigned char>(byte);
          tag += std::string(tag.empty() ? "" : " ") + kDigits[value / 16] + kDigits[value % 16];
        }
        return one.name + " reads \"" + tag + "\"";
      }
      return one.name + " reads " + std::to_string(one.raw.value);
    }
    case What::presses:
      return "operator presses " + one.name;
    case What::start:
      return "operator start";
    case What::end:
      return "operator end";
    case What::reset:
      return "operator reset";
    case What::overrides:
      return "operator override " + one.name;
    case What::restart:
      return "restart " + one.name;
    case What::cut:
      return "cut " + one.name;
    case What::join:
      return "join " + one.name;
    case What::delay:
      return "delay " + one.name + " " + std::to_string(one.number) + " turns";
    case What::falls_silent:
      return "lose " + one.name;
    case What::speaks:
      return "restore " + one.name;
    case What::resets:
      return "operator resets " + std::to_string(one.number) + " times";
    case What::stranger:
      return "a message of another room";
  }
  return "";
}

}  // namespace

std::string render(const History& history) {
  std::string text;
  std::size_t n = 0;
  while (n < history.size()) {
    const Turn& turn = history[n];
    std::size_t last = n + 1;
    if (turn.before.empty() && turn.periods == 1)
      while (last < history.size() && history[last].before.empty() && history[last].periods == 1 &&
             history[last].controller == turn.controller)
        ++last;
    text += "  turn " + std::to_string(n) + (last > n + 1 ? " to " + std::to_string(last - 1) : "") + "  " +
            turn.controller;
    if (turn.periods > 1) text += ", " + std::to_string(turn.periods) + " periods";
    for (std::size_t i = 0; i < turn.before.size(); ++i)
      text += (i == 0 ? ": " : ", ") + in_words(turn.before[i]);
    text += "\n";
    n = last;
  }
  return text;
}

}  // namespace lw::oracle
