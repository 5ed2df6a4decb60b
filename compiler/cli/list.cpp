// `latchwork list TABLE`: a table for people, with the names of the symbol file beside it.
#include "table/list.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "cli/command.hpp"

namespace lw::cli {
namespace {

bool read(const std::string& path, std::string& text) {
  std::error_code ignored;
  if (std::filesystem::is_directory(path, ignored)) return false;
  std::ifstream file(path, std::ios::binary);
  if (!file) return false;
  text.assign(std::istreambuf_iterator<char>(file), {});
  return !file.bad();
}

}  // namespace

void add_list(CLI::App& app, Outcome& outcome) {
  struct ListOptions {
    std::string table, symbols;
    bool bytes = false;
  };
  auto options = std::make_shared<ListOptions>();
  CLI::App* const command = app.add_subcommand("list", "Show what a controller's table says");
  command->add_option("TABLE", options->table, "The table, as in a payload's controller folder")->required();
  command->add_option("--symbols", options->symbols,
                      "The symbol file with its names (else the one beside the table, when there is one)");
  command->add_flag("--bytes", options->bytes, "Every field with its bytes, its name and what it means");
  command->callback([options, &outcome] {
    std::string bytes;
    if (!read(options->table, bytes)) {
      fmt::print(stderr, "latchwork: {}: cannot be read as a table\n", options->table);
      outcome.status = kUsage;
      return;
    }
    Symbols symbols;
    bool named = false;
    std::string path = options->symbols;
    if (path.empty()) {
      path = (std::filesystem::path(options->table).parent_path() / "SYMBOLS.JSN").string();
      if (!std::filesystem::exists(path)) path.clear();
    }
    if (!path.empty()) {
      std::string text, why;
      if (!read(path, text)) why = "cannot be read";
      named = why.empty() && symbols_from_json(text, symbols, why);
      if (!named) {
        fmt::print(stderr, "latchwork: {}: not a symbol file: {}\n", path, why);
        outcome.status = kUsage;
        return;
      }
    }
    const std::vector<std::uint8_t> table(bytes.begin(), bytes.end());
    const Listing listing =
        list_table(table, named ? &symbols : nullptr, options->bytes ? ListDetail::bytes : ListDetail::rows);
    fmt::print("{}", listing.text);
    outcome.status = listing.well_formed ? kClean : kFindings;
  });
}

}  // namespace lw::cli
