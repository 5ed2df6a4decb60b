#include "table/list.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "table/bytes.hpp"
#include "table/list_rows.hpp"
#include "table/scan_bound.hpp"
#include "text/source.hpp"

namespace lw {
namespace {

using listing::plural;

constexpr std::size_t kBytesInLine = 8;
constexpr std::size_t kMeaningAt = 32;  // column
constexpr std::size_t kWidth = 80;

std::string hex(const std::vector<std::uint8_t>& bytes, std::size_t from, std::size_t end) {
  std::string text;
  for (std::size_t n = from; n < end; ++n) text += fmt::format("{}{:02X}", n == from ? "" : " ", bytes[n]);
  return text;
}

/// Words in lines no wider than `width`, but for a word that is wider by itself.
std::vector<std::string> wrapped(const std::string& text, std::size_t width) {
  std::vector<std::string> lines;
  std::string line;
  for (std::size_t at = 0; at < text.size();) {
    std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, end - at);
    if (!line.empty() && display_width(line) + 1 + display_width(word) > width) {
      lines.push_back(line);
      line.clear();
    }
    if (!line.empty()) line += ' ';
    line += word;
    at = end + 1;
  }
  if (!line.empty()) lines.push_back(line);
  return lines;
}

/// An offset, the bytes from there in hex and what they mean, side by side.
std::string entry(const std::vector<std::uint8_t>& bytes, std::size_t from, std::size_t end,
                  std::size_t indent, const std::string& meaning) {
  const std::vector<std::string> lines = wrapped(meaning, kWidth - kMeaningAt);
  std::string text;
  for (std::size_t n = 0; from + n * kBytesInLine < end || n < lines.size() || n == 0; ++n) {
    const std::size_t at = from + n * kBytesInLine;
    std::string line(indent, ' ');
    if (at < end || n == 0)
      line += fmt::format("{:04X}  {}", at, hex(bytes, at, std::min(end, at + kBytesInLine)));
    if (n < lines.size()) {
      line.resize(std::max(line.size(), kMeaningAt - 1), ' ');
      line += " " + lines[n];
    }
    text += line + "\n";
  }
  return text;
}

std::string share(std::size_t part, std::size_t whole) {
  // Tenths of a percent, rounded; no floating point, so that all machines print the same.
  const std::size_t tenths = (part * 1000 + whole / 2) / whole;
  return fmt::format("{}.{} %", tenths / 10, tenths % 10);
}

std::string tenths(std::size_t part, std::size_t whole) {
  const std::size_t n = (part * 10 + whole / 2) / whole;
  return fmt::format("{}.{}", n / 10, n % 10);
}

class Lister {
 public:
  Lister(const std::vector<std::uint8_t>& bytes, const Decoded& decoded, const Symbols* symbols,
         ListDetail detail)
      : bytes_(bytes),
        t_(*decoded.table),
        layout_(decoded.layout),
        s_(symbols),
        rows_(*decoded.table, symbols),
        detail_(detail),
        size_(decoded.layout.section[format::kSectionCount]) {}

  std::string text() {
    heading();
    sections();
    block();
    worst_scan();
    for (const RowAt& row : layout_.rows) show(row);
    return std::move(text_);
  }

 private:
  const std::vector<std::uint8_t>& bytes_;
  const rows::Table& t_;
  const Layout& layout_;
  const Symbols* s_;
  listing::Rows rows_;
  ListDetail detail_;
  std::size_t size_;
  std::string text_;

  std::size_t section_bytes(format::Section section) const {
    const auto n = static_cast<std::size_t>(section);
    return layout_.section[n + 1] - layout_.section[n];
  }

  void heading() {
    if (s_) {
      text_ += fmt::format("{}, the table of {}", listing::shown(s_->room), listing::shown(s_->controller));
      if (!s_->board.empty()) text_ += fmt::format(", a {}", listing::shown(s_->board));
      text_ += "\n";
    }
    text_ +=
        fmt::format("controller {} of {} in file order; {} of version {}; a scan every {} ms\n",
                    t_.controller + 1, t_.controllers, plural(size_, "byte"), format::kVersion, t_.scan_ms);
    text_ += fmt::format("identity of the room {:016x}; CRC {:08x}\n", t_.identity, layout_.crc);
    if (bytes_.size() > size_)
      text_ += fmt::format("behind the table: {} that no reader looks at\n",
                           plural(bytes_.size() - size_, "byte"));
    if (s_ && !fits()) text_ += "The symbol file is that of another table: names and lines may be wrong.\n";
  }

  /// Whether the symbols can be those of this table: a name for each row.
  bool fits() const {
    std::size_t facts = 1 + t_.facts.size() + t_.derived.size();
    for (const rows::Sequence& r : t_.sequences) facts += r.facts.size();
    bool same = s_->inputs.size() == t_.inputs.size() && s_->outputs.size() == t_.outputs.size() &&
                s_->facts.size() == facts && s_->props.size() == t_.props.size() &&
                s_->bodies.size() == t_.bodies.size() && s_->controllers.size() == t_.controllers;
    for (std::size_t n = 0; same && n < t_.props.size(); ++n)
      same = s_->props[n].states.size() == t_.props[n].states.size();
    for (std::size_t n = 0; same && n < t_.bodies.size(); ++n)
      same = s_->bodies[n].rules.size() == t_.bodies[n].rules.size() &&
             s_->bodies[n].keeps.size() == t_.bodies[n].keeps.size();
    return same;
  }

  void sections() {
    text_ += "\nsection      bytes    share\n";
    const auto line = [&](std::string_view name, std::size_t bytes) {
      text_ += fmt::format("{:<11} {:>6} {:>8}\n", name, bytes, share(bytes, size_));
    };
    line("header", format::kHeaderSize);
    for (std::size_t n = 0; n < format::kSectionCount; ++n)
      line(format::kSections[n].name, layout_.section[n + 1] - layout_.section[n]);
    line("all", size_);
    std::size_t rules = 0;
    for (const rows::Body& body : t_.bodies) rules += body.rules.size();
    if (rules == 0) return;
    const std::size_t bytes =
        section_bytes(format::Section::bodies) + section_bytes(format::Section::actions);
    text_ += fmt::format("\n{} bytes a rule: {} of bodies and actions, {}\n", tenths(bytes, rules), bytes,
                         plural(rules, "rule"));
  }

  void block() {
    const std::vector<BlockPart> parts = block_parts(t_);
    std::uint32_t state = 0;
    for (const BlockPart& part : parts) state += part.scratch ? 0 : part.bytes;
    const std::uint32_t all = block_size(parts);
    text_ += fmt::format("\nstate block: {}, {} of state and {} of scratch\n", plural(all, "byte"), state,
                         all - state);
    for (const BlockPart& part : parts)
      if (part.bytes != 0)
        text_ += fmt::format("  {:<26} {:>6}{}\n", part.name, part.bytes, part.scratch ? "  scratch" : "");
  }

  /// The bound of the worst scan, for the slowest board that we know of.
  void worst_scan() {
    constexpr double kCyclesInMs = 16000;  // at 16 MHz
    const ScanBound bound = scan_bound(t_);
    // Rounded up, as the next few would not matter to anyone.
    const auto thousands = [](const ScanCounts& counts) { return (cost_of(counts) + 999) / 1000 * 1000; };
    const std::uint64_t scan = thousands(bound.scan);
    const double ms = static_cast<double>(scan) / kCyclesInMs;
    text_ += fmt::format("\nworst scan: at most {} cycles of an ATmega2560, {:.1f} ms of {} at 16 MHz", scan,
                         ms, t_.scan_ms);
    if (!t_.link.peers.empty()) {
      const std::uint64_t message = thousands(bound.message);
      text_ += fmt::format(";\n  for each message that comes, at most {} more, {:.1f} ms", message,
                           static_cast<double>(message) / kCyclesInMs);
    }
    text_ += "\n";
    if (ms > t_.scan_ms) text_ += "  On such a board a scan can come late; take a faster one.\n";
  }

  void show(const RowAt& row) {
    if (row.row == Row::header) {
      text_ += "\nheader\n";
      if (detail_ == ListDetail::rows)
        header_rows(row);
      else
        fields(row);
      return;
    }
    const auto section = static_cast<std::size_t>(row.section);
    if (row.offset == layout_.section[section])
      text_ +=
          fmt::format("\n{}: {}\n", format::kSections[section].name, format::kSections[section].sentence);
    const std::string source = rows_.source(row);
    text_ += entry(bytes_, row.offset, row.end, 0,
                   rows_.meaning(row) + (source.empty() ? "" : fmt::format(" [{}]", source)));
    if (detail_ == ListDetail::bytes) fields(row);
  }

  /// The header's figures; the lengths of the sections together, since the table of sections tells them.
  void header_rows(const RowAt& row) {
    std::uint32_t n = row.first_field;
    for (; layout_.fields[n].field != &format::info(format::Field::header_length); ++n) {
      const Seen& seen = layout_.fields[n];
      text_ += entry(bytes_, seen.offset, seen.offset + seen.size, 0,
                     fmt::format("{} {}", seen.field->name, figure(seen)));
    }
    text_ += entry(bytes_, layout_.fields[n].offset, row.end, 0, "lengths of the sections, 2 bytes each");
  }

  static std::string figure(const Seen& seen) {
    if (seen.field == &format::info(format::Field::header_magic)) return "LWT";
    if (seen.field->type == format::Type::u32 || seen.field->type == format::Type::u64)
      return fmt::format("{:0{}x}", static_cast<std::uint64_t>(seen.value), 2 * seen.size);
    return fmt::format("{}", seen.value);
  }

  void fields(const RowAt& row) {
    std::size_t lengths = 0;
    for (std::uint32_t n = row.first_field; n < row.fields_end; ++n) {
      const Seen& seen = layout_.fields[n];
      std::string meaning = fmt::format("{} {}", seen.field->name, figure(seen));
      std::string value = rows_.value(row, seen);
      if (seen.field == &format::info(format::Field::header_length))
        value = format::kSections[lengths++].name;
      if (!value.empty()) meaning += fmt::format(" = {}", value);
      meaning += fmt::format(" ({}): {}", seen.field->type_name, seen.field->sentence);
      text_ += entry(bytes_, seen.offset, seen.offset + seen.size, 2, meaning);
    }
  }
};

std::string refusal(const std::vector<std::uint8_t>& bytes, const Refused& refused) {
  std::string text = fmt::format("This table is refused at byte {} (0x{:04X}), `{}`:\n{}.\n", refused.offset,
                                 refused.offset, format::info(refused.refusal).name, refused.sentence);
  const std::size_t from = std::min<std::size_t>(refused.offset, bytes.size());
  const std::size_t end = std::min(bytes.size(), from + kBytesInLine);
  if (from < end) text += entry(bytes, from, end, 0, "");
  return text;
}

}  // namespace

Listing list_table(const std::vector<std::uint8_t>& bytes, const Symbols* symbols, ListDetail detail) {
  const Decoded decoded = decode(bytes);
  if (!decoded.table) return {refusal(bytes, decoded.refused), false};
  return {Lister(bytes, decoded, symbols, detail).text(), true};
}

}  // namespace lw
