// Any bytes as a room: parsed, resolved, checked, lowered and told of, all in memory.
//
// Held: no stage reads or writes out of bounds, throws, asserts or runs on; every finding lies within its
// file and can be printed; and a room that has tables has tables that the compiler's reader and the runtime
// both take; a text that reads is laid out, and laid out again stays. A `use` is answered from the same
// bytes: after the root's text come further files, each begun by the byte 0x1E and its name on a line. Clips
// are answered by their names. Rehearsals are left out: how long they run is for whoever writes them to say.
// Rejected: reading true files, since a path made of noise could name anything.
#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "check/compile.hpp"
#include "check/prove.hpp"
#include "report/text.hpp"
#include "runtime/runtime.h"
#include "syntax/format.hpp"
#include "syntax/parse.hpp"
#include "table/bytes.hpp"
#include "table/list.hpp"

namespace {

constexpr char kNextFile = 0x1E;

[[noreturn]] void fault(const char* what) {
  std::fprintf(stderr, "fuzz_language: %s\n", what);
  std::abort();
}

/// The files of one input, and the walk over their uses: a used file comes before the one that uses it.
class Files {
 public:
  explicit Files(const std::string& bytes) {
    std::size_t at = bytes.find(kNextFile);
    root_ = bytes.substr(0, at);
    while (at != std::string::npos) {
      const std::size_t next = bytes.find(kNextFile, at + 1);
      const std::string part = bytes.substr(at + 1, next == std::string::npos ? next : next - at - 1);
      const std::size_t line = part.find('\n');
      if (line != std::string::npos) used_.emplace(part.substr(0, line), part.substr(line + 1));
      at = next;
    }
  }

  lw::ast::Program program(lw::SourceSet& sources, lw::Findings& findings) {
    lw::ast::Program program;
    take(sources.add("room.latch", root_), sources, findings, program);
    return program;
  }

 private:
  // As deep as there are files, which is what the input's size allows at most.
  void take(lw::FileId id, lw::SourceSet& sources, lw::Findings& findings, lw::ast::Program& program) {
    lw::ast::File file = lw::parse(sources, id, findings);
    for (lw::ast::Statement& statement : file.statements) {
      auto* const use = std::get_if<lw::ast::Use>(&statement.form);
      if (use == nullptr || use->path.span.begin == use->path.span.end) continue;
      const std::string path = use->path.value();
      const auto known = known_.find(path);
      if (known != known_.end()) {
        use->file = known->second;
        continue;
      }
      const auto found = used_.find(path);
      if (found == used_.end() || known_.size() >= 50) {
        program.complete = false;
        continue;
      }
      use->file = known_[path] = sources.add(path, found->second);
      take(*use->file, sources, findings, program);
    }
    program.files.push_back(std::move(file));
  }

  std::string root_;
  std::map<std::string, std::string> used_;
  std::map<std::string, lw::FileId> known_;
};

lw::ClipFile clip_at(const std::string& path) {
  lw::ClipFile clip;
  std::size_t sum = 0;
  for (const char c : path) sum = sum * 31 + static_cast<unsigned char>(c);
  if (sum % 16 == 0) {
    clip.error = {static_cast<lw::sound::ClipFault>(sum / 16 % 5), "is not there"};
    return clip;
  }
  lw::sound::ClipInfo info;
  info.kind = sum % 5 == 0 ? "ogg" : "wav";
  info.frames = static_cast<std::int64_t>(sum % 1000000 + 1);
  info.rate_hz = 44100;
  info.channels = 1;
  info.length_ms = *lw::sound::length_ms(info.frames, info.rate_hz);
  clip.info = info;
  return clip;
}

void check_place(const lw::SourceSet& sources, lw::Span span) {
  if (static_cast<std::size_t>(span.file) >= sources.count()) fault("a finding is in no file");
  if (span.begin > span.end || span.end > sources.text(span.file).size())
    fault("a finding lies outside its file");
}

void check_layout(const lw::SourceSet& sources, lw::FileId file) {
  lw::Findings findings;
  const auto text = lw::formatted(sources, file, findings);
  if (!text) return;
  lw::SourceSet other;
  const auto again = lw::formatted(other, other.add("room.latch", *text), findings);
  if (!again || *again != *text) fault("a layout does not settle");
}

void check_table(const lw::ControllerTable& controller) {
  const auto size = controller.bytes.size();
  const auto exact = std::make_unique<std::uint8_t[]>(size);
  std::copy(controller.bytes.begin(), controller.bytes.end(), exact.get());
  lw_table table;
  if (lw_load(&table, exact.get(), static_cast<std::uint32_t>(size)) != LW_OK)
    fault("the runtime refuses a table");
  const lw::Listing listing = lw::list_table(controller.bytes, &controller.symbols);
  if (!listing.well_formed) fault("the listing refuses a table");
  const auto block = std::make_unique<std::uint8_t[]>(lw_block_size(&table));
  const std::vector<lw_raw> raw(table.inputs, lw_raw{1, 1});
  lw_power_up(&table, block.get());
  for (int scan = 0; scan < 3; ++scan) {
    lw_condition(&table, block.get(), raw.data(), 1);
    lw_commands commands{};
    commands.start = scan == 1;
    lw_step(&table, block.get(), &commands);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  lw::CompiledRoom room;
  Files files(std::string(reinterpret_cast<const char*>(data), size));
  const lw::ast::Program program = files.program(room.sources, room.findings);
  check_layout(room.sources, program.files.back().id);
  lw::compile_program(room, program, clip_at);
  for (const lw::Finding& finding : room.findings) {
    check_place(room.sources, finding.span);
    for (const lw::Place& place : finding.places) check_place(room.sources, place.span);
  }
  // The first few: of hundreds, the printing would be most of the time.
  const auto few = static_cast<std::ptrdiff_t>(std::min<std::size_t>(room.findings.size(), 12));
  const lw::Findings shown(room.findings.begin(), room.findings.begin() + few);
  if (lw::report::findings_text(shown, room.sources, {}).empty() != shown.empty())
    fault("findings, and nothing to read of them");
  bool whole = room.room.has_value();
  for (const lw::ClipFile& clip : room.clips) whole = whole && clip.info.has_value();
  if (whole && room.tables.has_value() == room.has_errors()) fault("tables and errors, or neither");
  if (!room.tables) return 0;
  lw::prove(room, {});
  for (const lw::ControllerTable& controller : room.tables->controllers) check_table(controller);
  return 0;
}
