// See last_moment.hpp.
#include "check/last_moment.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "explore/courses.hpp"
#include "explore/tell.hpp"
#include "play/trace.hpp"
#include "play/words.hpp"

namespace lw {

namespace {

using Kind = Happening::Kind;

/// What is taken in by the scan in which the goal is lost.
class Closing {
 public:
  Closing(const model::Room& room, const RoomTables& tables, const Lost& lost) : room_(room) {
    const Playthrough& play = lost.playthrough;
    // The replay may play all of it later, never slower.
    const std::int64_t later_ms = lost.replayed.seen_ms - play.until_ms;
    moment_ms = lost.last.at_ms + later_ms;
    const std::vector<model::Deed>& deeds = lost.replayed.script.deeds;
    for (const Happening& happening : play.happenings) {
      if (happening.at_ms <= lost.last.at_ms || happening.kind == Kind::says) continue;
      const bool of_device = is_of_device(happening);
      // A device's deed comes before the scan that takes it in, and is the last of that device.
      const auto deed = std::find_if(deeds.rbegin(), deeds.rend(), [&](const model::Deed& one) {
        if (of_device) return one.input == tables.controllers[happening.controller].inputs[happening.input];
        return !one.input && one.time_ms > moment_ms;
      });
      if (deed == deeds.rend()) continue;
      done_.push_back(deed_words(room_, *deed));
      begins_ms_ = std::min(begins_ms_.value_or(deed->time_ms), deed->time_ms);
    }
    // What is unkind in between could have closed it for a while.
    const bool unkind =
        std::any_of(play.happenings.begin(), play.happenings.end(), [&](const Happening& one) {
          return begins_ms_ && one.at_ms + later_ms > *begins_ms_ && one.at_ms <= lost.last.at_ms &&
                 (one.kind == Kind::lost || one.kind == Kind::end || one.kind == Kind::reset ||
                  one.kind == Kind::override_ || one.kind == Kind::restart || one.kind == Kind::silent);
        });
    if (begins_ms_ && !unkind) moment_ms = std::min(moment_ms, *begins_ms_);
  }

  /// From power-up, as it was replayed.
  std::int64_t moment_ms = 0;
  std::string deeds() const { return joined(done_); }

 private:
  const model::Room& room_;
  std::vector<std::string> done_;
  std::optional<std::int64_t> begins_ms_;
};

/// What the room itself did in the last instant of the account: "pump is dry (line 12)".
std::string by_itself(const std::vector<Event>& events) {
  std::size_t from = events.size();
  while (from > 0 && events[--from].time.empty()) {
  }
  for (; from < events.size(); ++from)
    if (events[from].line != 0 && !events[from].answers.empty())
      return fmt::format("{} (line {})", events[from].answers, events[from].line);
  return "";
}

}  // namespace

bool tell_last_moment(Courses& courses, const Lost& lost, Finding& finding) {
  if (!replay(courses, lost.last.way_on, seen(lost.goal)).shown) return false;
  const model::Room& room = courses.room();
  const RoomTables& tables = courses.tables();
  const Closing closing(room, tables, lost);
  const Mark mark{closing.moment_ms, "the last moment with a way on"};
  finding.playthrough = account(room, tables, lost.replayed, "no way on to " + lost.words, &mark);
  std::string what = closing.deeds();
  if (what.empty()) {
    what = "time alone";
    if (const std::string does = by_itself(finding.playthrough); !does.empty()) what += ", as " + does;
  }
  finding.reason =
      fmt::format("The last moment with a way on to {} is {}; what closes it: {}. {}", lost.words,
                  clock_words(closing.moment_ms - lost.replayed.start_ms.value_or(0)), what, finding.reason);
  return true;
}

}  // namespace lw
