// Facts kept once, made of each other, and numbered. See lower_facts.hpp; tests:
// tests/unit/lower/pool_test.cpp.
#include "table/lower_facts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <set>

namespace lw::lowering {
namespace {

constexpr Literal opposite(Literal literal) { return literal ^ 1; }

}  // namespace

FactPool::FactPool() {
  Entry truth;
  truth.words.brief = truth.words.full = "true";
  entries_.push_back(truth);
}

Literal FactPool::add(Entry entry) {
  entries_.push_back(std::move(entry));
  return rows::literal(static_cast<std::uint32_t>(entries_.size() - 1));
}

Literal FactPool::raw(const rows::RawFact& fact, const Words& words) {
  const auto [at, is_new] = raw_.try_emplace(key_of(fact), rows::kTrue);
  if (is_new) {
    Entry entry;
    entry.sort = Sort::raw;
    entry.words = words;
    entry.raw = fact;
    at->second = add(std::move(entry));
  }
  return at->second;
}

Literal FactPool::own(std::size_t sequence, std::uint8_t low, std::uint8_t high, const Words& words) {
  const auto [at, is_new] = own_.try_emplace(OwnKey{sequence, low, high}, rows::kTrue);
  if (is_new) {
    Entry entry;
    entry.sort = Sort::own;
    entry.words = words;
    entry.sequence = sequence;
    entry.low = low;
    entry.high = high;
    at->second = add(std::move(entry));
  }
  return at->second;
}

Literal FactPool::derive(std::size_t least, std::vector<Literal> spoken) {
  std::vector<Literal> parts = spoken;
  std::sort(parts.begin(), parts.end());
  std::vector<Literal> key = parts;
  key.push_back(static_cast<Literal>(least));
  const auto [at, is_new] = derived_.try_emplace(std::move(key), rows::kTrue);
  if (is_new) {
    Entry entry;
    entry.sort = Sort::derived;
    entry.least = static_cast<std::uint8_t>(least);
    entry.parts = std::move(parts);
    entry.spoken = std::move(spoken);
    at->second = add(std::move(entry));
  }
  return at->second;
}

Literal FactPool::join(std::vector<Literal> literals, bool all) {
  const Literal neutral = all ? rows::kTrue : rows::kFalse;
  literals.erase(std::remove(literals.begin(), literals.end(), neutral), literals.end());
  if (literals.size() == 1) return literals.front();
  std::vector<Literal> flat;
  std::set<Literal> seen;
  bool is_opposed = false;
  const auto take = [&](Literal literal) {
    if (seen.count(opposite(literal)) != 0 || literal == opposite(neutral)) is_opposed = true;
    if (seen.insert(literal).second) flat.push_back(literal);
  };
  for (const Literal literal : literals) {
    // An `and` within an `and` is one `and`; so is the negation of an `or`.
    const Entry& entry = entries_[rows::fact_of(literal)];
    const bool wants_and = all != rows::negated(literal);
    if (entry.sort == Sort::derived && entry.least == (wants_and ? entry.parts.size() : 1)) {
      for (const Literal part : entry.spoken) take(part ^ (literal & 1));
    } else {
      take(literal);
    }
  }
  if (is_opposed) return opposite(neutral);
  if (flat.empty()) return neutral;
  while (flat.size() > kMostLiterals) {
    std::sort(flat.begin(), flat.end());
    std::vector<Literal> groups;
    for (std::size_t from = 0; from < flat.size(); from += kMostLiterals) {
      const std::size_t size = std::min(kMostLiterals, flat.size() - from);
      const auto begin = flat.begin() + static_cast<std::ptrdiff_t>(from);
      std::vector<Literal> group(begin, begin + static_cast<std::ptrdiff_t>(size));
      groups.push_back(size == 1 ? group.front() : derive(all ? size : 1, std::move(group)));
    }
    flat = std::move(groups);
  }
  if (flat.size() == 1) return flat.front();
  const std::size_t least = all ? flat.size() : 1;
  return derive(least, std::move(flat));
}

Literal FactPool::at_least(std::int64_t least, std::vector<Literal> literals) {
  // A fact and its negation make one between them; so does what is always true.
  std::vector<Literal> left;
  for (const Literal literal : literals) {
    if (literal == rows::kFalse) continue;
    const auto other = std::find(left.begin(), left.end(), opposite(literal));
    if (literal == rows::kTrue) {
      --least;
    } else if (other != left.end()) {
      left.erase(other);
      --least;
    } else {
      left.push_back(literal);
    }
  }
  if (least <= 0) return rows::kTrue;
  const std::size_t count = static_cast<std::size_t>(least);
  if (count > left.size()) return rows::kFalse;
  if (count == left.size()) return all(std::move(left));
  if (count == 1) return any(std::move(left));
  assert(left.size() <= kMostLiterals);
  return derive(count, std::move(left));
}

Literal FactPool::exactly(std::int64_t count, const std::vector<Literal>& literals) {
  return all({at_least(count, literals), opposite(at_least(count + 1, literals))});
}

void FactPool::place(Literal literal, Span span) {
  Entry& entry = entries_[rows::fact_of(literal)];
  if (entry.sort == Sort::derived && entry.words.span == Span{}) entry.words.span = span;
}

void FactPool::sequences_read(Literal literal, std::set<std::size_t>& found) const {
  const Entry& entry = entries_[rows::fact_of(literal)];
  if (entry.sort == Sort::own) found.insert(entry.sequence);
  for (const Literal part : entry.parts) sequences_read(part, found);
}

void FactPool::mark(Literal literal, std::vector<bool>& used) const {
  const std::uint32_t n = rows::fact_of(literal);
  if (used[n]) return;
  used[n] = true;
  for (const Literal part : entries_[n].parts) mark(part, used);
}

void FactPool::number_derived(std::uint32_t n, Numbering& to) const {
  if (to.numbers[n] != kNoNumber) return;
  const Entry& entry = entries_[n];
  for (const Literal part : entry.parts) number_derived(rows::fact_of(part), to);
  rows::DerivedFact row;
  row.least = entry.least;
  for (const Literal part : entry.parts) row.literals.push_back(to.literal(part));
  std::sort(row.literals.begin(), row.literals.end());
  to.numbers[n] = static_cast<std::uint32_t>(to.spans.size());
  to.spans.push_back(entry.words.span);
  to.derived.push_back(std::move(row));
}

void FactPool::name_entries(const std::vector<bool>& used, Numbering& to) const {
  std::map<std::string, int> bearers;
  for (std::size_t n = 0; n < entries_.size(); ++n)
    if (used[n] && entries_[n].sort != Sort::derived) ++bearers[entries_[n].words.brief];
  std::vector<std::string> names(entries_.size());
  const auto term = [&](Literal literal) {
    const std::uint32_t n = rows::fact_of(literal);
    const bool bare = entries_[n].sort != Sort::derived ||
                      (entries_[n].least != 1 && entries_[n].least != entries_[n].parts.size());
    return fmt::format("{}{}", rows::negated(literal) ? "not " : "", bare ? names[n] : "(" + names[n] + ")");
  };
  to.names.resize(to.spans.size());
  for (std::size_t n = 0; n < entries_.size(); ++n) {
    if (!used[n]) continue;
    const Entry& entry = entries_[n];
    if (entry.sort != Sort::derived) {
      names[n] = bearers[entry.words.brief] > 1 ? entry.words.full : entry.words.brief;
    } else {
      const bool is_and = entry.least == entry.parts.size();
      const bool counts = !is_and && entry.least != 1;
      std::string text;
      for (const Literal part : entry.spoken) {
        if (!text.empty()) text += counts ? ", " : is_and ? " and " : " or ";
        text += term(part);
      }
      names[n] = counts ? fmt::format("any {} of ({})", entry.least, text) : text;
    }
    to.names[to.numbers[n]] = names[n];
  }
}

Numbering FactPool::number(const std::vector<Literal>& roots,
                           const std::vector<SequenceNeeds>& sequences) const {
  std::vector<bool> used(entries_.size());
  used[0] = true;
  for (const Literal root : roots) mark(root, used);
  for (const SequenceNeeds& needs : sequences)
    for (const Literal literal : needs.literals) mark(literal, used);

  Numbering to;
  to.numbers.assign(entries_.size(), kNoNumber);
  const auto give_number = [&](Literal entry) {
    const std::uint32_t n = rows::fact_of(entry);
    if (!used[n]) return false;
    to.numbers[n] = static_cast<std::uint32_t>(to.spans.size());
    to.spans.push_back(entries_[n].words.span);
    return true;
  };
  give_number(rows::kTrue);
  for (const auto& [key, entry] : raw_)
    if (give_number(entry)) to.raw.push_back(entries_[rows::fact_of(entry)].raw);
  for (const SequenceNeeds& needs : sequences) {
    std::vector<rows::SequenceFact> own;
    for (auto at = own_.lower_bound({needs.sequence, 0, 0});
         at != own_.end() && std::get<0>(at->first) == needs.sequence; ++at)
      if (give_number(at->second)) own.push_back({std::get<1>(at->first), std::get<2>(at->first)});
    to.own.push_back(std::move(own));
  }
  for (const SequenceNeeds& needs : sequences) {
    for (const Literal literal : needs.literals) number_derived(rows::fact_of(literal), to);
    to.derived_before.push_back(static_cast<std::uint32_t>(to.derived.size()));
  }
  for (std::uint32_t n = 0; n < entries_.size(); ++n)
    if (used[n] && entries_[n].sort == Sort::derived) number_derived(n, to);
  name_entries(used, to);
  return to;
}

}  // namespace lw::lowering
