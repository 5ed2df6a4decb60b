// UTF-8, one code point at a time: see utf8.hpp.
#include "text/utf8.hpp"

#include <cassert>

namespace lw {
namespace {

unsigned byte_at(std::string_view text, std::size_t offset) {
  return static_cast<unsigned char>(text[offset]);
}

bool is_control(char32_t value) { return value < 0x20 || (value >= 0x7F && value < 0xA0); }

// What shows nothing and changes how the text around it reads: direction marks, line separators, the byte
// order mark.
bool is_hidden(char32_t value) {
  return value == 0x061C || value == 0x200E || value == 0x200F || (value >= 0x2028 && value <= 0x202E) ||
         (value >= 0x2066 && value <= 0x2069) || value == 0xFEFF;
}

std::string hex(unsigned value, int least_digits) {
  std::string text;
  for (; value != 0 || least_digits > 0; value >>= 4, --least_digits) {
    text.insert(text.begin(), "0123456789ABCDEF"[value & 0xF]);
  }
  return text;
}

}  // namespace

CodePoint code_point_at(std::string_view text, std::size_t offset) {
  assert(offset < text.size());
  const unsigned first = byte_at(text, offset);
  const CodePoint broken{static_cast<char32_t>(first), 1, false};
  if (first < 0x80) return {static_cast<char32_t>(first), 1, true};
  std::uint8_t size = 0;
  char32_t value = 0;
  char32_t least = 0;
  if (first >= 0xC2 && first < 0xE0) {
    size = 2, value = first & 0x1F, least = 0x80;
  } else if (first >= 0xE0 && first < 0xF0) {
    size = 3, value = first & 0x0F, least = 0x800;
  } else if (first >= 0xF0 && first < 0xF5) {
    size = 4, value = first & 0x07, least = 0x10000;
  } else {
    return broken;
  }
  if (text.size() - offset < size) return broken;
  for (std::size_t i = 1; i < size; ++i) {
    const unsigned next = byte_at(text, offset + i);
    if ((next & 0xC0) != 0x80) return broken;
    value = (value << 6) | (next & 0x3F);
  }
  const bool surrogate = value >= 0xD800 && value < 0xE000;
  if (value < least || value > 0x10FFFF || surrogate) return broken;
  return {value, size, true};
}

std::size_t count_code_points(std::string_view text) {
  std::size_t count = 0;
  for (const char byte : text) count += (static_cast<unsigned char>(byte) & 0xC0) != 0x80;
  return count;
}

std::optional<BadText> find_bad_text(std::string_view text, std::size_t offset) {
  while (offset < text.size()) {
    const CodePoint point = code_point_at(text, offset);
    if (!point.valid) return BadText{TextFault::not_utf8, offset, 1};
    if (point.value == 0) return BadText{TextFault::nul, offset, 1};
    if (point.value == 0xFEFF) return BadText{TextFault::byte_order_mark, offset, point.size};
    const bool line_end =
        point.value == '\n' || (point.value == '\r' && offset + 1 < text.size() && text[offset + 1] == '\n');
    if (is_control(point.value) && point.value != '\t' && !line_end) {
      return BadText{TextFault::control, offset, point.size};
    }
    offset += point.size;
  }
  return std::nullopt;
}

std::string escape_of(CodePoint point) {
  const auto value = static_cast<unsigned>(point.value);
  if (!point.valid || (is_control(point.value) && value < 0x80)) return "<" + hex(value, 2) + ">";
  if (is_control(point.value) || is_hidden(point.value)) return "<U+" + hex(value, 4) + ">";
  return {};
}

std::string shown_safely(std::string_view text) {
  std::string shown;
  for (std::size_t offset = 0; offset < text.size();) {
    const CodePoint point = code_point_at(text, offset);
    const std::string escape = escape_of(point);
    if (escape.empty()) {
      shown += text.substr(offset, point.size);
    } else {
      shown += escape;
    }
    offset += point.size;
  }
  return shown;
}

}  // namespace lw
