// The nearest known name, and words for kinds: see names.hpp.
#include "model/names.hpp"

#include <algorithm>
#include <cstdlib>

namespace lw::model {

int edit_distance(std::string_view a, std::string_view b, int most) {
  const std::size_t longer = std::max(a.size(), b.size());
  const std::size_t shorter = std::min(a.size(), b.size());
  if (longer - shorter > static_cast<std::size_t>(most)) return most + 1;
  std::vector<int> before(b.size() + 1), last(b.size() + 1), now(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int same = a[i - 1] == b[j - 1] ? 0 : 1;
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + same});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        now[j] = std::min(now[j], before[j - 2] + 1);
    }
    before.swap(last);
    last.swap(now);
  }
  return std::min(last[b.size()], most + 1);
}

std::string nearest_name(std::string_view word, const std::vector<std::string>& known) {
  constexpr std::size_t kLongest =
      64;  // nobody mistypes one letter in a name longer than this, and time stays small
  if (word.size() > kLongest) return "";
  const std::string* best = nullptr;
  int best_distance = 0;
  for (const std::string& candidate : known) {
    if (candidate.size() > kLongest) continue;
    const int allowed = std::max(1, static_cast<int>(std::min(word.size(), candidate.size())) / 3);
    const int most = best == nullptr ? allowed : std::min(allowed, best_distance - 1);
    if (most < 0) break;
    const int distance = edit_distance(word, candidate, most);
    if (distance <= most && distance < static_cast<int>(word.size())) {
      best = &candidate;
      best_distance = distance;
    }
  }
  return best == nullptr ? std::string() : *best;
}

std::string quoted(std::string_view word) {
  std::string text = "`";
  text += word;
  text += '`';
  return text;
}

std::string list_of(const std::vector<std::string>& words, const char* last_joint) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? std::string(" ") + last_joint + " " : std::string(", ");
    text += quoted(words[i]);
  }
  return text;
}

const char* kind_phrase(InputKind kind) {
  switch (kind) {
    case InputKind::scale:
      return "a scale";
    case InputKind::gauge:
      return "a gauge";
    case InputKind::contact:
      return "a contact";
    case InputKind::button:
      return "a button";
    case InputKind::operator_button:
      return "an operator's button";
    case InputKind::reader:
      return "a reader";
    case InputKind::keypad:
      return "a keypad";
    case InputKind::signal:
      return "a signal";
  }
  return "";
}

const char* kind_phrase(OutputKind kind) {
  switch (kind) {
    case OutputKind::lamp:
      return "a lamp";
    case OutputKind::relay:
      return "a relay";
    case OutputKind::motor:
      return "a motor";
    case OutputKind::lock:
      return "a lock";
    case OutputKind::voice:
      return "a voice";
  }
  return "";
}

}  // namespace lw::model
