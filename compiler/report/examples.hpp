// A bad and a good room for each finding, built in from the cases that the tests run.
//
// examples/make_examples.cpp writes the definitions at build time: of each code the shortest firing case
// whose twin is clean, both without their directives. So what `latchwork explain` shows is what is tested,
// and nothing is written twice. Tests: tests/explain.py.
#pragma once

#include <cstddef>
#include <string_view>

namespace lw::report {

/// A file that an example uses, by the path with which it does.
struct UsedFile {
  std::string_view path;
  std::string_view text;
};

struct Example {
  std::string_view code;
  std::string_view family;  // its heading in findings.def
  std::string_view bad;     // empty when no case fires it
  std::string_view good;
  std::string_view uses;  // the paths of used files, a line each, those that they use included
};

/// In the order of findings.def, one a code.
extern const Example kExamples[];
extern const std::size_t kExampleCount;

/// In the order of their paths.
extern const UsedFile kUsedFiles[];
extern const std::size_t kUsedFileCount;

}  // namespace lw::report
