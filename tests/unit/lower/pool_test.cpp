// Facts made of facts: whatever is flattened, shared, folded or reordered, a literal is true when its
// condition is.
#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "table/lower_facts.hpp"

namespace lw::test {
namespace {

using lowering::FactPool;
using lowering::Numbering;
using rows::Literal;

/// A condition over `atoms` true-or-false things, beside the literal that stands for it.
struct Made {
  Literal literal = rows::kTrue;
  std::vector<bool> truth;  // by assignment
};

class Maker {
 public:
  Maker(std::uint32_t seed, std::uint32_t atoms) : random_(seed), atoms_(atoms) {
    for (std::uint32_t n = 0; n < atoms; ++n) {
      const std::string name(1, static_cast<char>('a' + n));
      // Raw facts come up in another order than that of their kinds.
      const rows::RawFact raw{
          n % 2 == 0 ? rows::FactKind::prop_solved : rows::FactKind::input_lost, n, 0, 0, {}};
      atom_literals_.push_back(pool_.raw(raw, {name, name, {}}));
    }
  }

  Made make(int depth) {
    Made made;
    const std::uint32_t what = depth == 0 ? pick(2) : pick(8);
    if (what < 2) {
      const std::uint32_t n = pick(atoms_ + 1);
      made.literal = n == atoms_ ? rows::kTrue : atom_literals_[n];
      for (std::uint32_t a = 0; a < (1u << atoms_); ++a)
        made.truth.push_back(n == atoms_ || ((a >> n) & 1) != 0);
      return made;
    }
    std::vector<Made> parts;
    std::vector<Literal> literals;
    for (std::uint32_t n = 1 + pick(4); n != 0; --n) {
      parts.push_back(make(depth - 1));
      literals.push_back(parts.back().literal);
    }
    const std::uint32_t count = pick(static_cast<std::uint32_t>(parts.size()) + 2);
    const auto least = static_cast<std::int64_t>(count);
    switch (what) {
      case 2:
      case 3:
        made.literal = pool_.all(literals);
        break;
      case 4:
      case 5:
        made.literal = pool_.any(literals);
        break;
      case 6:
        made.literal = pick(2) != 0 ? pool_.at_least(least, literals) : pool_.exactly(least, literals);
        break;
      default:
        made.literal = literals.front() ^ 1;
    }
    const bool exact = what == 6 && made.literal == pool_.exactly(least, literals);
    for (std::uint32_t a = 0; a < (1u << atoms_); ++a) {
      std::uint32_t hold = 0;
      for (const Made& part : parts) hold += part.truth[a] ? 1 : 0;
      const bool truth = what < 4   ? hold == parts.size()
                         : what < 6 ? hold != 0
                         : what > 6 ? !parts.front().truth[a]
                         : exact    ? hold == count
                                    : hold >= count;
      made.truth.push_back(truth);
    }
    return made;
  }

  /// The literals' bits, worked out in the order of the table for one assignment of the atoms.
  std::vector<bool> bits(const Numbering& numbering, std::uint32_t assignment) const {
    std::vector<bool> bits{true};
    for (const rows::RawFact& raw : numbering.raw) bits.push_back(((assignment >> raw.a) & 1) != 0);
    for (const rows::DerivedFact& fact : numbering.derived) {
      int hold = 0;
      for (const Literal l : fact.literals) {
        REQUIRE(rows::fact_of(l) < bits.size());  // worked out before
        if (bits[rows::fact_of(l)] != rows::negated(l)) ++hold;
      }
      REQUIRE(fact.least >= 1);
      REQUIRE(fact.least <= fact.literals.size());
      CHECK(std::is_sorted(fact.literals.begin(), fact.literals.end()));
      bits.push_back(hold >= fact.least);
    }
    return bits;
  }

  FactPool& pool() { return pool_; }

 private:
  std::uint32_t pick(std::uint32_t below) { return static_cast<std::uint32_t>(random_() % below); }

  std::mt19937 random_;
  std::uint32_t atoms_;
  FactPool pool_;
  std::vector<Literal> atom_literals_;
};

}  // namespace

TEST_CASE("3000 random conditions over 5 facts mean in the table what they mean as written") {
  for (std::uint32_t seed = 0; seed < 300; ++seed) {
    CAPTURE(seed);
    Maker maker(seed, 5);
    std::vector<Made> made;
    std::vector<Literal> roots;
    for (int n = 0; n < 10; ++n) {
      made.push_back(maker.make(3));
      roots.push_back(made.back().literal);
    }
    const Numbering numbering = maker.pool().number(roots, {});
    for (std::uint32_t assignment = 0; assignment < 32; ++assignment) {
      const std::vector<bool> bits = maker.bits(numbering, assignment);
      for (const Made& one : made) {
        const Literal l = numbering.literal(one.literal);
        REQUIRE((bits[rows::fact_of(l)] != rows::negated(l)) == one.truth[assignment]);
      }
    }
    // Raw facts stand by kind; every fact is named.
    CHECK(std::is_sorted(numbering.raw.begin(), numbering.raw.end(),
                         [](const rows::RawFact& a, const rows::RawFact& b) { return a.kind < b.kind; }));
    CHECK(std::none_of(numbering.names.begin(), numbering.names.end(),
                       [](const auto& name) { return name.empty(); }));
  }
}

namespace {

struct Letters {
  FactPool pool;
  Literal a = raw(0, "a"), b = raw(1, "b"), c = raw(2, "c"), d = raw(3, "d");
  Literal raw(std::uint32_t n, const std::string& name) {
    return pool.raw({rows::FactKind::prop_solved, n, 0, 0, {}}, {name, "room." + name, {}});
  }
  /// What a literal is called once numbered.
  std::string name(Literal l) {
    const Numbering numbering = pool.number({l}, {});
    const Literal n = numbering.literal(l);
    return (rows::negated(n) ? "not " : "") + numbering.names[rows::fact_of(n)];
  }
};
constexpr Literal no(Literal l) { return l ^ 1; }

}  // namespace

TEST_CASE("equal facts are one bit") {
  Letters x;
  CHECK(x.pool.all({x.a, x.b}) == x.pool.all({x.b, x.a, x.b}));
  CHECK(x.pool.all({x.a, x.pool.all({x.b, x.c})}) == x.pool.all({x.pool.all({x.c, x.a}), x.b}));
  CHECK(x.pool.any({x.a, x.pool.any({x.b, x.c})}) == x.pool.any({x.c, x.b, x.a}));
  CHECK(x.pool.all({x.a, no(x.pool.any({x.b, x.c}))}) == x.pool.all({x.a, no(x.b), no(x.c)}));
  CHECK(x.pool.any({x.a, no(x.pool.all({x.b, x.c}))}) == x.pool.any({x.a, no(x.b), no(x.c)}));
  CHECK(x.pool.at_least(3, {x.a, x.b, x.c}) == x.pool.all({x.a, x.b, x.c}));
  CHECK(x.pool.at_least(1, {x.a, x.b, x.c}) == x.pool.any({x.a, x.b, x.c}));
  CHECK(x.pool.all({x.a}) == x.a);
  CHECK(x.raw(0, "another name") == x.a);
}

TEST_CASE("what is always so takes no bit") {
  Letters x;
  CHECK(x.pool.all({}) == rows::kTrue);
  CHECK(x.pool.any({}) == rows::kFalse);
  CHECK(x.pool.all({x.a, rows::kTrue}) == x.a);
  CHECK(x.pool.all({x.a, rows::kFalse}) == rows::kFalse);
  CHECK(x.pool.all({x.a, no(x.a)}) == rows::kFalse);
  CHECK(x.pool.any({x.a, no(x.a)}) == rows::kTrue);
  CHECK(x.pool.at_least(0, {x.a}) == rows::kTrue);
  CHECK(x.pool.at_least(2, {x.a}) == rows::kFalse);
  CHECK(x.pool.at_least(2, {x.a, no(x.a), x.b}) == x.b);
  CHECK(x.pool.exactly(0, {x.a, x.b}) == no(x.pool.any({x.a, x.b})));
}

TEST_CASE("facts are called as people say them") {
  Letters x;
  CHECK(x.name(x.pool.all({x.a, no(x.b)})) == "a and not b");
  CHECK(x.name(x.pool.any({x.c, x.pool.all({x.a, x.b})})) == "c or (a and b)");
  CHECK(x.name(x.pool.exactly(1, {x.a, x.b, x.c})) == "(a or b or c) and not any 2 of (a, b, c)");
  CHECK(x.name(x.pool.at_least(2, {x.b, x.c, x.d})) == "any 2 of (b, c, d)");
  // Two windows of one name in two props: each with its prop's.
  const Literal other = x.pool.raw({rows::FactKind::prop_solved, 9, 0, 0, {}}, {"a", "other.a", {}});
  CHECK(x.name(x.pool.all({x.a, other})) == "room.a and other.a");
}

TEST_CASE("an `and` of more literals than a fact can count is made of several") {
  FactPool pool;
  std::vector<Literal> many;
  for (std::uint32_t n = 0; n < 600; ++n)
    many.push_back(pool.raw({rows::FactKind::prop_in, n / 120, n % 120, n % 120, {}}, {"x", "x", {}}));
  const Literal all = pool.all(many);
  const Numbering numbering = pool.number({all}, {});
  REQUIRE(numbering.derived.size() == 4);
  std::size_t counted = 0;
  for (const rows::DerivedFact& fact : numbering.derived) {
    CHECK(fact.least == fact.literals.size());
    CHECK(fact.literals.size() <= 255);
    counted += fact.literals.size();
  }
  CHECK(counted == 603);
  const Numbering any = pool.number({pool.any(many)}, {});
  REQUIRE(any.derived.size() == 4);
  for (const rows::DerivedFact& fact : any.derived) CHECK(fact.least == 1);
}

TEST_CASE("a fact that nothing uses has no number") {
  Letters x;
  const Literal inner = x.pool.all({x.a, x.b});
  const Numbering numbering = x.pool.number({x.pool.all({inner, x.c})}, {});
  CHECK(numbering.derived.size() == 1);
  CHECK(numbering.raw.size() == 3);
  CHECK(numbering.numbers[rows::fact_of(inner)] == lowering::kNoNumber);
}

}  // namespace lw::test
