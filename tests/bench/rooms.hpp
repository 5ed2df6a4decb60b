// A room of as many lines as asked, such as a large house could have, for the benches: props of one pattern
// on up to 32 controllers, each with its scale, contact, button, lamps and lock, windows, a timer, a counter
// and four states. No line of it is a finding, so that what is timed is the whole way to tables. One `design`
// used often was rejected: it would be few lines and much room.
#pragma once

#include <string>

namespace lw::bench {

/// At least `lines` lines, at most a prop more; 37 lines a prop, 13 props a controller, so 15,300 lines at
/// most.
std::string room_of_lines(unsigned lines);

/// The same text as JSON, an array of words for each line, cut off or repeated to `size` bytes and padded
/// with blanks. Made of the room's own words, so that what is compared is alike in more than its length.
std::string json_of(const std::string& room, std::size_t size);

}  // namespace lw::bench
