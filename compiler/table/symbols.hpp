// The names that a table leaves out: a JSON file beside it, for people, listings, traces and bench tests.
//
// Each row of the table that a person may ask about has its name and the place of its text. Tests:
// tests/unit/table.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lw {

/// A row's name and where it is written: `file` indexes Symbols::files, line counts from 1 (0: no text of its
/// own).
struct Symbol {
  std::string name;
  std::uint16_t file = 0;
  std::uint32_t line = 0;
};

struct BodySymbols {
  Symbol body;  // "weighing", or "in calm, tense" for an `in` block; the prop's name before: "bomb in calm,
                // tense"
  std::vector<Symbol> rules;  // name empty; file and line
  std::vector<Symbol> keeps;
};

struct InputSymbols {
  Symbol input;
  std::vector<std::string>
      values;  // contact: word open, word closed; scale/gauge: a name a cell ("570 g to 640 g")
};

struct OutputSymbols {
  Symbol output;
  std::string kind;      // lamp, relay, motor, lock, voice
  std::string off_word;  // "off", or "released"/"secured" for a lock
  std::string on_word;
};

struct PropSymbols {
  Symbol prop;
  std::vector<Symbol> states;
};

struct Symbols {
  std::string room, controller, board, tool_version;
  std::vector<std::string> files;        // as findings name them
  std::vector<std::string> controllers;  // of the room, in file order
  std::vector<InputSymbols> inputs;
  std::vector<Symbol> tags, clips, timers, counters, sequences, drives, tails, cues, readies, tells;
  std::vector<OutputSymbols> outputs;
  std::vector<Symbol>
      facts;  // one for each fact number, from 0: "true", "fair", "assay weighing", "any 3 of …"
  std::vector<PropSymbols> props;
  std::vector<BodySymbols> bodies;
  std::vector<Symbol> own_bits;
};

/// The symbol file's text. Names that are not UTF-8 are written with U+FFFD in their place.
std::string symbols_to_json(const Symbols& symbols);
/// Reads a symbol file, whoever wrote it. When it is none: false, `symbols` as it was, and `why` in a few
/// words.
bool symbols_from_json(const std::string& text, Symbols& symbols, std::string& why);

}  // namespace lw
