// A scale's axis of weight as a picture: its windows, the error at their edges, the gaps; then each window by
// itself and large, with the sets that land in it or come near.
//
// SVG 1.1 text, complete in itself. Colours keep apart for eyes without red, green or blue cones, and never
// say a thing alone: each mark has its words beside it, and what is meant, what is not and what is near
// differ in shape too. Each prop has its own rows, since windows of different props may overlap. Tests:
// tests/weigh_picture.py.
#pragma once

#include <string>

#include "weigh/room.hpp"

namespace lw::weigh {

/// The picture of one scale of the room; nothing is drawn of a window beyond what the scale can show.
std::string picture(WeighedRoom& weighed, model::InputId scale);

}  // namespace lw::weigh
