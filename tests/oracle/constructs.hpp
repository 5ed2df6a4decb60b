// Which constructs of the language a room uses, told from the room as resolved and, where that no longer
// shows it, from its text.
#pragma once

#include <string>
#include <vector>

#include "coverage.hpp"
#include "model/model.hpp"

namespace lw::oracle {

void note_constructs(const model::Room& room, const std::string& text, Coverage& coverage);

/// Every construct that random rooms must use.
const std::vector<std::string>& all_constructs();

}  // namespace lw::oracle
