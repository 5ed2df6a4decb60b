// How often each rule and each construct was met in a run.
//
// Kept by name in one place, so that a rule of which nothing was seen cannot pass unnoticed. Tests:
// tests/oracle/differential.cpp fails where a count is 0.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace lw::oracle {

enum class Rule : std::uint16_t {
#define LW_RULE(name, number, sentence) name,
#include "rules.def"
  count
};

class Coverage {
 public:
  void hit(Rule rule) { ++rules_[static_cast<std::size_t>(rule)]; }
  void hit_construct(const std::string& construct, std::uint64_t times = 1) {
    constructs_[construct] += times;
  }
  void add(const Coverage& other);

  std::uint64_t count(Rule rule) const { return rules_[static_cast<std::size_t>(rule)]; }
  const std::map<std::string, std::uint64_t>& constructs() const { return constructs_; }
  /// The whole list as text, each rule and construct with its count.
  std::string table() const;
  /// What was never met: sentences and constructs.
  std::vector<std::string> missing(const std::vector<std::string>& constructs) const;

 private:
  std::array<std::uint64_t, static_cast<std::size_t>(Rule::count)> rules_{};
  std::map<std::string, std::uint64_t> constructs_;
};

const char* rule_number(Rule rule);
const char* rule_sentence(Rule rule);

}  // namespace lw::oracle
