// Counting the sets that land in a window: time by number of things and sort of masses, beside plain
// enumeration in the same run and beside Z3, which is asked only whether any set other than the intended one
// lands.
//
// Plain enumeration goes through all sets in Gray code, one addition each: as fast as it gets. Processor
// time, the median of several runs; Z3 by the clock, its start included, and given up after 20 s.
// docs/measured.md keeps what it gave.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <functional>
#include <random>
#include <string>

#include "weigh/sets.hpp"

using namespace lw::weigh;

namespace {

constexpr std::int64_t kMg = 1'000'000'000, kG = 1000 * kMg;

double median_ms(int runs, const std::function<void()>& run) {
  std::vector<double> times;
  for (int n = 0; n < runs; ++n) {
    const std::clock_t start = std::clock();
    run();
    times.push_back(1000.0 * static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC);
  }
  std::sort(times.begin(), times.end());
  return times[times.size() / 2];
}

enum class Sort { grams, hundredths, any, near_equal, powers };
const char* const kSorts[] = {"whole grams", "hundredths of a gram", "any picogram", "near-equal",
                              "powers of two"};

std::vector<Kind> things(Sort sort, int n, std::int64_t count) {
  std::mt19937_64 random(static_cast<unsigned>(n));
  const auto upto = [&](std::int64_t most) {
    return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most));
  };
  std::vector<Kind> kinds;
  for (int i = 0; i < n; ++i) {
    const std::int64_t mass = sort == Sort::grams        ? (50 + upto(900)) * kG
                              : sort == Sort::hundredths ? 50 * kG + upto(90'000) * 10 * kMg
                              : sort == Sort::any        ? 50 * kG + upto(900 * kG)
                              : sort == Sort::near_equal ? 300 * kG + upto(kG)
                                                         : std::int64_t{1} << (i % 62);
    kinds.push_back({mass, 0, count});
  }
  return kinds;
}

/// A window of 100 g, or of a hundredth where all is less, about the half of everything but within 6 kg.
Band window(const std::vector<Kind>& kinds) {
  std::int64_t all = 0;
  for (const Kind& kind : kinds) all = add_up(all, times_up(kind.mass_pg, kind.count));
  const std::int64_t middle = std::min(all / 2, 6000 * kG);
  const std::int64_t half = std::min(50 * kG, middle / 100 + 1);
  return {middle - half, middle + half};
}

/// Every set once, each one thing apart from the last.
std::uint64_t enumerated(const std::vector<Kind>& kinds, Band band) {
  std::uint64_t landing = 0, in = 0;
  std::int64_t sum = 0;
  const std::uint64_t sets = std::uint64_t{1} << kinds.size();
  for (std::uint64_t n = 1; n < sets; ++n) {
    const int turned = __builtin_ctzll(n);
    in ^= std::uint64_t{1} << turned;
    const std::int64_t mass = kinds[static_cast<std::size_t>(turned)].mass_pg;
    sum += (in >> turned & 1) != 0 ? mass : -mass;
    landing += sum >= band.low_pg && sum <= band.high_pg ? 1 : 0;
  }
  return landing;
}

/// The same where each thing has a tolerance: how many land surely, as written, possibly.
struct Landed {
  std::uint64_t surely = 0, nominally = 0, possibly = 0;
};
Landed enumerated_within(const std::vector<Kind>& kinds, Band band) {
  Landed landed;
  std::uint64_t in = 0;
  std::int64_t sum = 0, tolerance = 0;
  const std::uint64_t sets = std::uint64_t{1} << kinds.size();
  for (std::uint64_t n = 1; n < sets; ++n) {
    const int turned = __builtin_ctzll(n);
    in ^= std::uint64_t{1} << turned;
    const Kind& kind = kinds[static_cast<std::size_t>(turned)];
    const std::int64_t sign = (in >> turned & 1) != 0 ? 1 : -1;
    sum += sign * kind.mass_pg;
    tolerance += sign * kind.tolerance_pg;
    landed.surely += sum - tolerance >= band.low_pg && sum + tolerance <= band.high_pg ? 1 : 0;
    landed.nominally += sum >= band.low_pg && sum <= band.high_pg ? 1 : 0;
    landed.possibly += sum + tolerance >= band.low_pg && sum - tolerance <= band.high_pg ? 1 : 0;
  }
  return landed;
}

/// Whether some set lands besides the one found first, as Z3 says it: "sat", "unsat", "unknown".
std::string z3(const std::vector<Kind>& kinds, Band band, const Parts& first, double& ms) {
  const std::string path = "/tmp/latchwork_bench_weigh.smt2";
  {
    std::ofstream file(path);
    std::string sum = "(+ 0", same = "(and true";
    for (std::size_t i = 0; i < kinds.size(); ++i) {
      file << "(declare-const x" << i << " Int)(assert (<= 0 x" << i << " " << kinds[i].count << "))\n";
      sum += fmt::format(" (* {} x{})", kinds[i].mass_pg, i);
      if (!first.empty()) same += fmt::format(" (= x{} {})", i, first[i]);
    }
    file << "(assert (<= " << band.low_pg << " " << sum << ")))(assert (>= " << band.high_pg << " " << sum
         << ")))\n";
    if (!first.empty()) file << "(assert (not " << same << ")))\n";
    file << "(check-sat)\n";
  }
  const auto start = std::chrono::steady_clock::now();
  std::string said;
  if (FILE* const pipe = popen(("z3 -T:20 " + path).c_str(), "r")) {
    char line[200];
    while (std::fgets(line, sizeof line, pipe) != nullptr) said += line;
    pclose(pipe);
  }
  ms = std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
  said = said.substr(0, said.find('\n'));
  std::remove(path.c_str());
  return said;
}

void row(Sort sort, int n, std::int64_t count) {
  const std::vector<Kind> kinds = things(sort, n, count);
  const Band band = window(kinds);
  const std::int64_t most = times_up(band.high_pg, 2);
  std::optional<Count> landing;
  const auto ours = [&] {
    Sets sets(kinds, most);
    landing = sets.nominally(band);
  };
  double ms = median_ms(1, ours);
  // The first run also tidies up the memory of the row before.
  if (ms < 5000) ms = median_ms(ms < 2 ? 101 : 5, ours);
  const std::string counted = !landing                     ? "not decided"
                              : landing->str().size() > 12 ? fmt::format("{} digits", landing->str().size())
                                                           : landing->str();
  std::string plain = "–", ratio = "–";
  if (n <= 26 && count == 1) {
    std::uint64_t by_hand = 0;
    const double plain_ms = median_ms(3, [&] { by_hand = enumerated(kinds, band); });
    if (!landing || *landing != Count(by_hand)) {
      fmt::print("the counts differ: {} and {}\n", counted, by_hand);
      std::exit(1);
    }
    plain = fmt::format("{:.1f} ms", plain_ms);
    ratio = fmt::format("{:.0f}", plain_ms / ms);
  }
  Sets sets(kinds, most);
  const Listing one = sets.list(band, Which::all, 1);
  double z3_ms = 0;
  const std::string said = z3(kinds, band, one.sets.empty() ? Parts() : one.sets[0], z3_ms);
  const bool other = landing && *landing > 1;
  if (landing && (said == "sat" || said == "unsat") && (said == "sat") != other) {
    fmt::print("Z3 says {}, and {} sets land\n", said, counted);
    std::exit(1);
  }
  fmt::print("| {} | {} | {} | {} | {:.2f} ms | {} | {} | {} in {:.0f} ms | {:.0f} |\n", n, count,
             kSorts[static_cast<int>(sort)], counted, ms, plain, ratio, said, z3_ms, z3_ms / ms);
  std::fflush(stdout);
}

/// Things with a tolerance of 1 to 5 g each: all three counts.
void row_within(Sort sort, int n, std::int64_t count) {
  std::vector<Kind> kinds = things(sort, n, count);
  for (std::size_t i = 0; i < kinds.size(); ++i)
    kinds[i].tolerance_pg = (1 + static_cast<std::int64_t>(i) % 5) * kG;
  const Band band = window(kinds);
  Counts counts;
  const auto ours = [&] {
    Sets sets(kinds, times_up(band.high_pg, 2));
    counts = sets.count(band);
  };
  double ms = median_ms(1, ours);
  ms = median_ms(ms < 2 ? 101 : 5, ours);
  const auto said = [](const std::optional<Count>& all) {
    return !all                     ? "not decided"
           : all->str().size() > 12 ? fmt::format("{} digits", all->str().size())
                                    : all->str();
  };
  std::string plain = "–", ratio = "–";
  if (n <= 26 && count == 1) {
    Landed by_hand;
    const double plain_ms = median_ms(3, [&] { by_hand = enumerated_within(kinds, band); });
    if (counts.surely != Count(by_hand.surely) || counts.nominally != Count(by_hand.nominally) ||
        counts.possibly != Count(by_hand.possibly)) {
      fmt::print("the counts differ from those of plain enumeration\n");
      std::exit(1);
    }
    plain = fmt::format("{:.1f} ms", plain_ms);
    ratio = fmt::format("{:.0f}", plain_ms / ms);
  }
  fmt::print("| {} | {} | {} | {} | {} | {} | {:.2f} ms | {} | {} |\n", n, count,
             kSorts[static_cast<int>(sort)], said(counts.surely), said(counts.nominally),
             said(counts.possibly), ms, plain, ratio);
  std::fflush(stdout);
}

}  // namespace

int main() {
  fmt::print(
      "| things | of each | masses | sets that land | counted in | plain enumeration | to ours | Z3: any "
      "other set? | to ours |\n");
  fmt::print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
  for (const Sort sort : {Sort::grams, Sort::any, Sort::near_equal, Sort::powers})
    for (const int n : {16, 24}) row(sort, n, 1);
  for (const Sort sort : {Sort::grams, Sort::any, Sort::near_equal, Sort::powers}) row(sort, 40, 1);
  for (const Sort sort : {Sort::grams, Sort::hundredths, Sort::near_equal, Sort::powers}) row(sort, 30, 3);
  for (const Sort sort : {Sort::grams, Sort::hundredths, Sort::near_equal, Sort::powers}) row(sort, 60, 1);
  for (const Sort sort : {Sort::grams, Sort::hundredths, Sort::near_equal, Sort::powers}) row(sort, 60, 3);
  row(Sort::any, 30, 3);  // some kinds stay outside the halves
  row(Sort::any, 34, 3);  // beyond what is decided, and how long it takes to say so
  fmt::print(
      "\n| things, ± 1 to 5 g | of each | masses | surely | as written | possibly | counted in | plain "
      "enumeration | to ours |\n");
  fmt::print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
  for (const Sort sort : {Sort::grams, Sort::hundredths, Sort::any, Sort::near_equal})
    row_within(sort, 24, 1);
  for (const Sort sort : {Sort::grams, Sort::hundredths, Sort::near_equal}) {
    row_within(sort, 40, 1);
    row_within(sort, 30, 3);
    row_within(sort, 60, 1);
    row_within(sort, 60, 3);
  }
}
