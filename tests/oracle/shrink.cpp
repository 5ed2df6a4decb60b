// Greedy: what can be left out is left out, until nothing more can be; see shrink.hpp.
#include "shrink.hpp"

#include <algorithm>

namespace lw::oracle {
namespace {

struct Shrinking {
  Piece& room;
  History& history;
  const Differs& differs;
  int tries;

  bool keeps(const Piece& smaller, History shorter) {
    if (tries-- <= 0 || !differs(smaller, shorter)) return false;
    history = std::move(shorter);
    return true;
  }
};

/// Tries to leave out each part of `at`, the last first, then what stands in them.
bool leave_out_pieces(Shrinking& now, Piece& at) {
  bool changed = false;
  for (std::size_t n = at.parts.size(); n-- > 0;) {
    const Piece part = at.parts[n];
    at.parts.erase(at.parts.begin() + static_cast<std::ptrdiff_t>(n));
    if (now.keeps(now.room, now.history)) {
      changed = true;
      continue;
    }
    at.parts.insert(at.parts.begin() + static_cast<std::ptrdiff_t>(n), part);
    if (now.tries <= 0) return changed;
  }
  for (Piece& part : at.parts) changed = leave_out_pieces(now, part) || changed;
  return changed;
}

bool leave_out_turns(Shrinking& now) {
  bool changed = false;
  for (std::size_t size = std::max<std::size_t>(now.history.size() / 2, 1);; size /= 2) {
    for (std::size_t begin = 0; begin < now.history.size();) {
      History shorter = now.history;
      const auto first = shorter.begin() + static_cast<std::ptrdiff_t>(begin);
      shorter.erase(first, first + static_cast<std::ptrdiff_t>(std::min(size, shorter.size() - begin)));
      if (now.keeps(now.room, std::move(shorter)))
        changed = true;
      else
        begin += size;
      if (now.tries <= 0) return changed;
    }
    if (size <= 1) return changed;
  }
}

bool leave_out_happenings(Shrinking& now) {
  bool changed = false;
  for (std::size_t t = 0; t < now.history.size(); ++t) {
    for (std::size_t n = now.history[t].before.size(); n-- > 0;) {
      History shorter = now.history;
      shorter[t].before.erase(shorter[t].before.begin() + static_cast<std::ptrdiff_t>(n));
      changed = now.keeps(now.room, std::move(shorter)) || changed;
      if (now.tries <= 0 || t >= now.history.size()) return changed;
    }
    if (now.history[t].periods == 1) continue;
    History shorter = now.history;
    shorter[t].periods = 1;
    changed = now.keeps(now.room, std::move(shorter)) || changed;
  }
  return changed;
}

}  // namespace

void shrink(Piece& room, History& history, const Differs& differs, int tries) {
  Shrinking now{room, history, differs, tries};
  for (bool changed = true; changed && now.tries > 0;) {
    changed = leave_out_turns(now);
    changed = leave_out_pieces(now, room) || changed;
    changed = leave_out_happenings(now) || changed;
  }
}

}  // namespace lw::oracle
