// The list of rules.def with its counts; see coverage.hpp.
#include "coverage.hpp"

#include <algorithm>

namespace lw::oracle {
namespace {

struct Row {
  const char* number;
  const char* sentence;
};
constexpr Row kRows[] = {
#define LW_RULE(name, number, sentence) {number, sentence},
#include "rules.def"
};

std::string padded(std::uint64_t count) {
  std::string text = std::to_string(count);
  return std::string(text.size() < 12 ? 12 - text.size() : 0, ' ') + text;
}

}  // namespace

const char* rule_number(Rule rule) { return kRows[static_cast<std::size_t>(rule)].number; }
const char* rule_sentence(Rule rule) { return kRows[static_cast<std::size_t>(rule)].sentence; }

void Coverage::add(const Coverage& other) {
  for (std::size_t n = 0; n < rules_.size(); ++n) rules_[n] += other.rules_[n];
  for (const auto& [construct, count] : other.constructs_) constructs_[construct] += count;
}

std::string Coverage::table() const {
  std::string text = "Rules of docs/meaning.md, how often each case was met:\n";
  for (std::size_t n = 0; n < rules_.size(); ++n)
    text += padded(rules_[n]) + "  " + kRows[n].number + " " + kRows[n].sentence + "\n";
  text += "Constructs of the language, in how many rooms each stood:\n";
  for (const auto& [construct, count] : constructs_) text += padded(count) + "  " + construct + "\n";
  return text;
}

std::vector<std::string> Coverage::missing(const std::vector<std::string>& constructs) const {
  std::vector<std::string> all;
  for (std::size_t n = 0; n < rules_.size(); ++n)
    if (rules_[n] == 0) all.push_back(std::string(kRows[n].number) + " " + kRows[n].sentence);
  for (const std::string& construct : constructs)
    if (constructs_.count(construct) == 0) all.push_back(construct);
  return all;
}

}  // namespace lw::oracle
