// A room weighed once for all checks of its scales, and what several of them say.
//
// weighing.cpp holds a scale and each window to the scale's own error, landing.cpp says which sets land that
// are not meant, neighbours.cpp which windows are too close to each other, noise.cpp what noise at an edge
// does. Effort is that of a look while writing: what takes longer is said to be undecided. Tests:
// tests/cases/weighing.
#pragma once

#include <string>
#include <vector>

#include "check/check.hpp"
#include "text/quantity.hpp"
#include "weigh/room.hpp"

namespace lw {

struct Scales {
  Scales(const model::Room& of_room, Findings& into);

  /// A look while writing: what takes longer than about a second is left undecided.
  static constexpr weigh::Effort kLook{50'000, 1u << 19, 20'000, 0};
  static constexpr std::size_t kMostListed = 40;  // sets of a window that are looked at one by one

  const model::Room& room;
  weigh::WeighedRoom weighed;
  Findings& findings;

  /// What `from` means may be shown in `to`, the window beside it. Said of the two, it is not said of either
  /// again.
  struct Carried {
    const weigh::Place* from;
    const weigh::Place* to;
  };
  std::vector<Carried> carried;

  /// A finding at the window's range, with its ends beside it.
  Finding of(Code code, const weigh::Place& place, std::string message) const;
  /// "570 g to 640 g".
  std::string ends(const weigh::Place& place) const;
  /// "class III in service 2 g, drift 1 g"; empty where nothing is stated.
  static std::string error_words(const model::Input& input, const weigh::OwnError& error);
  /// A place of the scale with its own error at the window beside it.
  lw::Place error_place(const weigh::Place& place) const;
  /// Says how the window could mean its intended set alone: by another tolerance or another mass.
  void mend(const weigh::Place& place, Finding& finding);
  /// What lands in the window was too much to count.
  void undecided(const weigh::Place& place);
};

/// "630 g ± 3 g".
std::string weight_words(const weigh::Load& load);
std::string time_words(std::int64_t ms);
/// What a plain target that nothing reaches was perhaps meant to be, where some set of the room says.
void say_slip(weigh::WeighedRoom& weighed, std::int64_t target_pg, Finding& finding);
/// Puts the places of a finding into the order of the files.
void sort_places(Finding& finding);

/// The sets that land in the window and are not meant, or that none does.
void check_landing(Scales& scales, const weigh::Place& place);
/// Windows of a scale so near to each other that a load meant for one may be shown in the other.
void check_near_windows(Scales& scales);
/// Rules that act again and again while a load lies still at the edge of a window.
void check_noise(Scales& scales);

}  // namespace lw
