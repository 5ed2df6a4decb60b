// Sentences set to a width: see prose.hpp.
#include "report/prose.hpp"

#include <algorithm>
#include <cctype>

#include "text/quantity.hpp"
#include "text/source.hpp"
#include "text/utf8.hpp"

namespace lw::report {
namespace {

constexpr std::string_view kSpace = " \t\r\n";

std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  for (std::size_t begin = text.find_first_not_of(kSpace); begin != std::string_view::npos;) {
    const std::size_t end = std::min(text.find_first_of(kSpace, begin), text.size());
    words.push_back(text.substr(begin, end - begin));
    begin = text.find_first_not_of(kSpace, end);
  }
  return words;
}

// "12.5" before "s," or "V)" or "%".
bool is_number_and_unit(std::string_view number, std::string_view unit) {
  number.remove_prefix(std::min(number.find_first_of("0123456789"), number.size()));
  if (number.empty() || !is_digit(number.back())) return false;
  while (!unit.empty() && std::string_view(".,;:)`").find(unit.back()) != std::string_view::npos) {
    unit.remove_suffix(1);
  }
  return unit == "%" || unit_named(unit).has_value();
}

bool odd_quotes(std::string_view word) { return std::count(word.begin(), word.end(), '`') % 2 != 0; }

// Words that are not to be parted, as [begin, end) of `words`, from `begin` on.
std::size_t end_of_unit(const std::vector<std::string_view>& words, std::size_t begin) {
  std::size_t end = begin + 1;
  if (odd_quotes(words[begin])) {
    while (end < words.size() && !odd_quotes(words[end])) ++end;
    if (end == words.size()) return begin + 1;  // never closed: no code at all
    ++end;
  }
  while (end < words.size() && is_number_and_unit(words[end - 1], words[end])) ++end;
  return end;
}

}  // namespace

std::vector<std::string> wrapped(std::string_view text, std::size_t width) {
  const std::vector<std::string_view> words = words_of(text);
  std::vector<std::string> lines;
  std::size_t used = 0;  // columns of the last line
  const auto put = [&](const std::string& piece) {
    const std::size_t size = display_width(piece);
    if (lines.empty() || used + 1 + size > width) {
      lines.push_back(piece);
      used = size;
    } else {
      lines.back() += ' ' + piece;
      used += 1 + size;
    }
  };
  for (std::size_t begin = 0; begin < words.size();) {
    const std::size_t end = end_of_unit(words, begin);
    std::string together;
    for (std::size_t i = begin; i < end; ++i) {
      if (i != begin) together += ' ';
      together += shown_safely(words[i]);
    }
    if (display_width(together) <= width) {
      put(together);
    } else {
      for (std::size_t i = begin; i < end; ++i) put(shown_safely(words[i]));
    }
    begin = end;
  }
  return lines;
}

std::string paragraph(std::string_view text, std::size_t indent, std::size_t width) {
  std::string result;
  for (const std::string& line : wrapped(text, width > indent ? width - indent : 1)) {
    result += std::string(indent, ' ') + line + '\n';
  }
  return result;
}

std::string counted(std::size_t count, std::string_view noun) {
  return std::to_string(count) + ' ' + std::string(noun) + (count == 1 ? "" : "s");
}

}  // namespace lw::report
