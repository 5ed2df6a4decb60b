// A room's text made into its model and its tables by the real compiler.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "model/model.hpp"
#include "table/room_tables.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw::oracle {

struct Compiled {
  SourceSet sources;
  Findings findings;
  std::optional<model::Room> room;
  std::optional<RoomTables> tables;  // when there is no error

  /// The first error, with its line.
  std::string first_error() const;
};

/// Compiles the text and the boards that random rooms use. Clips are not files: clip_ms says how long they
/// last.
std::unique_ptr<Compiled> compile_text(const std::string& text);
std::int64_t clip_ms(const model::Clip& clip);

}  // namespace lw::oracle
