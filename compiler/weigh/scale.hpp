// What a scale can tell: its error at a load, the loads that read as a division, the least load of its class.
//
// The error is what the text states, added at its worst: the class's maximum permissible error in service
// (twice that at verification, by OIML R 76 as UK SI 1995/1907 schedule 2, 4.1 and 4.2, prints it, with a
// verification interval of one division), the drift of its zero and the spread of its repeats. Added, since a
// builder wants to know what may happen and not how often. What is not stated is not in it. Tests:
// tests/unit/weigh/scale_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "model/model.hpp"
#include "weigh/sets.hpp"

namespace lw::weigh {

/// As text writes it: "1.5 kg".
std::string mass(std::int64_t pg);

/// Half divisions that the class allows either way at verification; `load` in divisions, classes 1 to 4.
int permitted_half_divisions(int accuracy_class, std::int64_t load);
/// The most divisions of a scale of the class; class 1 has no most.
std::optional<std::int64_t> most_divisions(int accuracy_class);
/// The least load of the class, in divisions; for class II of a division of `division_pg`. From secondary
/// pages that quote OIML R 76-1, table 3; the table itself was not read. A target under it is a warning, and
/// alters no verdict on what lands.
std::int64_t least_load(int accuracy_class, std::int64_t division_pg);

/// The scale's own error either way.
struct OwnError {
  std::int64_t class_pg = 0;  // in service; 0 without a class
  std::int64_t drift_pg = 0, repeats_pg = 0;

  std::int64_t total_pg() const { return add_up(class_pg, add_up(drift_pg, repeats_pg)); }
};
OwnError own_error(const model::Input& scale, std::int64_t load_pg);

/// The heaviest load that it can show beside what lives on its pan, in divisions.
std::int64_t most_shown(const model::Input& scale);

/// The true loads that an ideal scale shows as `low` to `high` divisions: it rounds to the nearest, halves
/// upwards.
Band loads_of(std::int64_t low, std::int64_t high, std::int64_t division_pg);
/// How an ideal scale shows a load, in divisions.
std::int64_t shown(std::int64_t load_pg, std::int64_t division_pg);

/// The same band with `margin_pg` more at either end, or less if that is below 0.
Band widened(Band band, std::int64_t margin_pg);

}  // namespace lw::weigh
