// Tables written in hex for tests of malformed ones (tests/cases/table/*.bytes).
//
//   # comment
//   #: refused CODE     why both readers refuse it (a name of LW_REFUSAL)
//   #: at OFFSET        where decode says so; without it at the `^`, and without one at the first bracket
//   #: first N bytes    only these are given to the readers
//   NAME: 00 01 …       a header field or a section, in any order; lines without a name go on with the one
//   before length of NAME: …   a section's length, when not that of its bytes
// `[bad|right]` is where the table is wrong: the readers get the left bytes, and must take the table with the
// right ones. `(…)*N` repeats. What is not named is that of the least table: header fields `=` (worked out),
// sections empty.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lw::testing {

struct ByteFile {
  std::string refused;
  std::vector<std::uint8_t> bad, right;
  std::uint32_t at = 0;
};

/// Throws std::runtime_error with the file's name for anything that is not such a file.
ByteFile read_byte_file(const std::string& path);

/// The names of the folder's files that begin so, sorted.
std::vector<std::string> files_in(const std::string& folder, const std::string& prefix);

}  // namespace lw::testing
