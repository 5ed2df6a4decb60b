// The edit distance behind nearest.hpp, cut off as soon as it is too large.
#include "text/nearest.hpp"

#include <algorithm>
#include <utility>

namespace lw {
namespace {

// Letters to add, take out, change, or swap with their neighbour; `limit` + 1 if it is more than that.
std::size_t distance(std::string_view a, std::string_view b, std::size_t limit) {
  if (a.size() > b.size() + limit || b.size() > a.size() + limit) return limit + 1;
  std::vector<std::size_t> before(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, change});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    std::swap(before, last);
    std::swap(last, row);
  }
  return std::min(last[b.size()], limit + 1);
}

}  // namespace

std::string_view nearest(std::string_view word, const std::vector<std::string_view>& known) {
  const std::size_t most = word.size() < 2 ? 0 : word.size() <= 6 ? 1 : word.size() <= 10 ? 2 : 3;
  constexpr std::size_t kLongest = 64;  // the time is quadratic in the letters
  std::string_view best;
  if (word.size() > kLongest) return best;
  std::size_t best_distance = most + 1;
  std::size_t best_prefix = 0;
  for (const std::string_view candidate : known) {
    const std::size_t d = distance(word, candidate, std::min(best_distance, most));
    if (d > most || d > best_distance) continue;
    // Of two that are as near, the one that begins alike.
    const auto differ = std::mismatch(word.begin(), word.end(), candidate.begin(), candidate.end());
    const auto prefix = static_cast<std::size_t>(differ.first - word.begin());
    if (d == best_distance && prefix <= best_prefix) continue;
    best = candidate;
    best_distance = d;
    best_prefix = prefix;
  }
  return best;
}

}  // namespace lw
