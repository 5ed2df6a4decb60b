// The layout of a file: see format.hpp, and docs/format.md for its rules.
//
// First every item gets its lines, then neighbouring lines of one kind are brought below each other. Whether
// an item fits its line is asked without that padding, and a column that would not fit is left alone, so the
// lines of a formatted file stay the same lines.
#include "syntax/format.hpp"

#include <algorithm>
#include <cassert>

#include "grammar/latch.hpp"
#include "syntax/format_items.hpp"
#include "syntax/parse.hpp"

namespace lw {
namespace {

using namespace grammar;
using namespace syntax;

constexpr std::size_t kIndent = 2;           // of a block
constexpr std::size_t kContinuation = 4;     // of what an item's first line had no room for
constexpr std::size_t kMostPadding = 10;     // of a column; lines that differ by more are left alone
constexpr std::size_t kMostBeforeDeed = 24;  // the same of a rehearsal's deeds
constexpr std::size_t kDeedGap = 3;          // between a rehearsal's times and its deeds
constexpr std::size_t kCommentGap = 2;       // before a comment behind something

struct Line {
  std::size_t indent = 0;
  std::string text;
  std::string comment;
  bool blank_before = false;
  bool below_comment = false;            // goes on with the comment of the line before
  std::size_t columns[Columns::kCount];  // bytes of `text` where each begins; 0: it has none
  unsigned kind = 0;                     // lines of one kind may share columns; 0 shares none
};

bool no_blank(Token before, Token after) {
  return after == comma_ || after == colon_ || after == close_bracket || after == dot_ || before == dot_ ||
         before == open_bracket;
}

/// Places where an item that is too long may go on in the next line.
bool may_break(Token before, Token after) {
  switch (after) {
    case w_and:
    case w_or:
    case w_while:
    case w_then:
    case w_again:
    case arrow_:
    case plus_:
      return true;
    default:
      return before == comma_;
  }
}

class Layout {
 public:
  explicit Layout(const Tokens& tokens) : tokens_(tokens) {}

  std::string run(const std::vector<FormatItem>& items) {
    lay(items, 0, tokens_.size(), 0, true);
    align();
    align_comments();
    return text();
  }

 private:
  // ---- tokens as text ----

  // As written, with one blank where the writer has any: quantities alone hold blanks that are no text.
  std::string token(std::size_t at) const {
    const std::string_view written = tokens_.written(at);
    if (tokens_.kind(at) == text_) return std::string(written);
    std::string text;
    for (const char c : written) {
      const bool blank = c == ' ' || c == '\t' || c == '\r' || c == '\n';
      if (!blank) text += c;
      if (blank && text.back() != ' ') text += ' ';
    }
    return text;
  }
  std::string flat(std::size_t begin, std::size_t end) const {
    std::string text;
    for (std::size_t at = begin; at < end; ++at) {
      if (at != begin && !no_blank(tokens_.kind(at - 1), tokens_.kind(at))) text += ' ';
      text += token(at);
    }
    return text;
  }
  bool has_comment(std::size_t begin, std::size_t end) const {
    for (std::size_t at = begin + 1; at < end; ++at)
      if (!format_gap(tokens_, at).comments.empty()) return true;
    return false;
  }
  bool on_one_line(std::size_t open, std::size_t close) const {
    for (std::size_t at = open + 1; at <= close; ++at)
      if (format_gap(tokens_, at).new_line) return false;
    return true;
  }
  static bool fits(std::size_t indent, std::string_view text) {
    return indent + display_width(text) <= kFormatWidth;
  }
  bool has_moment(const FormatItem& item) const {
    const Token first = tokens_.kind(item.begin);
    return first == w_at || first == w_after || first == w_within;
  }

  // ---- lines ----

  Line& new_line(std::size_t indent, bool blank_before) {
    Line line;
    line.indent = indent;
    line.blank_before = blank_before;
    std::fill(std::begin(line.columns), std::end(line.columns), std::size_t{0});
    lines_.push_back(std::move(line));
    return lines_.back();
  }

  // The comments before token `at`; says in `gap` what stands between the last of them and the token.
  // `first`: nothing of the block stands before them.
  Gap comments(std::size_t at, std::size_t indent, bool first) {
    Gap gap = format_gap(tokens_, at);
    for (const Comment& comment : gap.comments) {
      if (!comment.own_line && !lines_.empty()) {
        lines_.back().comment = comment.text;
      } else {
        Line& line = new_line(indent, comment.blank_before && !first);
        const Line* const above = lines_.size() > 1 ? &lines_[lines_.size() - 2] : nullptr;
        line.comment = comment.text;
        line.below_comment = comment.directly_below && above != nullptr &&
                             (above->below_comment || (!above->text.empty() && !above->comment.empty()));
        first = false;
      }
    }
    gap.blank_before = gap.blank_before && !first;
    return gap;
  }

  // The items of a block, or of the file, whose braces are the tokens `begin - 1` and `end`.
  void lay(const std::vector<FormatItem>& items, std::size_t begin, std::size_t end, std::size_t indent,
           bool is_file) {
    const bool was_flat = !is_file && on_one_line(begin - 1, end);
    const std::size_t deed = deed_column(items);
    bool open = false;  // the last line may take another item
    bool first = true;
    for (const FormatItem& item : items) {
      const Gap gap = comments(item.begin, indent, first);
      const bool moment = item.kind == NodeKind::line && has_moment(item);
      const bool own_line = is_file || gap.new_line || !gap.comments.empty() || moment ||
                            (was_flat && !item.fills() && item.kind != NodeKind::line);
      open = lay_item(item, indent, open && !own_line, gap.blank_before, deed);
      first = false;
    }
    comments(end, indent, first);
  }

  // True if another item may follow in its line.
  bool lay_item(const FormatItem& item, std::size_t indent, bool join, bool blank_before, std::size_t deed) {
    const bool commented = has_comment(item.begin, item.end);
    const bool flat_block = !item.has_block() || on_one_line(item.open, item.close);
    const bool padded =
        item.kind == NodeKind::line && deed != 0 && !has_comment(item.begin, deed_of(item) + 1);
    if (!commented && flat_block) {
      std::string text = flat(item.begin, item.end);
      if (join && fits(lines_.back().indent + display_width(lines_.back().text) + 1, text)) {
        lines_.back().text += ' ' + text;
        return true;
      }
      if (padded) text = with_deed(item, deed);
      if (fits(indent, text)) {
        Line& line = new_line(indent, blank_before);
        line.text = std::move(text);
        mark_columns(item, line);
        return true;
      }
    }
    new_line(indent, blank_before);
    if (!item.has_block()) {
      if (padded) {
        const std::size_t begin = deed_of(item);
        lines_.back().text = flat(item.begin, begin);
        lines_.back().text.resize(lines_.back().text.size() + deed - display_width(lines_.back().text), ' ');
        fill(begin, item.end, indent + deed + kIndent);
      } else {
        fill(item.begin, item.end, indent + kContinuation);
      }
      return false;
    }
    fill(item.begin, item.open + 1, indent + kContinuation);
    lay(item.inner, item.open + 1, item.close, indent + kIndent, false);
    new_line(indent, false);
    fill(item.close, item.end, indent + kContinuation);
    return false;
  }

  // The tokens, on the last line and on as many as they need after it.
  void fill(std::size_t begin, std::size_t end, std::size_t continuation) {
    bool fresh = true;  // nothing of these tokens is on the last line
    for (std::size_t at = begin; at < end;) {
      std::size_t next = at + 1;
      while (next < end && !may_break(tokens_.kind(next - 1), tokens_.kind(next)) &&
             !has_comment(next - 1, next + 1))
        ++next;
      const std::string text = flat(at, next);
      if (at != begin && !format_gap(tokens_, at).comments.empty()) {
        comments(at, continuation, false);
        new_line(continuation, false);
        fresh = true;
      }
      const std::string blank =
          fresh || no_blank(tokens_.kind(at - 1), tokens_.kind(at)) ? std::string() : std::string(" ");
      Line& line = lines_.back();
      if (!fresh && !fits(line.indent + display_width(line.text), blank + text)) {
        new_line(continuation, false).text = text;
      } else {
        line.text += blank + text;
      }
      fresh = false;
      at = next;
    }
  }

  // ---- columns ----

  // The token that a line's deed begins with, after the word and the time.
  std::size_t deed_of(const FormatItem& item) const {
    if (!has_moment(item)) return item.begin;
    return item.begin + 2;
  }
  // Columns before the deeds of a rehearsal; 0 where they are not brought below each other.
  std::size_t deed_column(const std::vector<FormatItem>& items) const {
    std::size_t longest = 0;
    std::size_t shortest = kFormatWidth;
    for (const FormatItem& item : items) {
      if (item.kind != NodeKind::line || !has_moment(item)) continue;
      const std::size_t width = display_width(flat(item.begin, deed_of(item)));
      longest = std::max(longest, width);
      shortest = std::min(shortest, width);
    }
    return longest == 0 || longest - shortest > kMostBeforeDeed ? 0 : longest + kDeedGap;
  }
  std::string with_deed(const FormatItem& item, std::size_t deed) const {
    std::string text = flat(item.begin, deed_of(item));
    if (!has_moment(item)) text.clear();
    text.resize(text.size() + deed - display_width(text), ' ');
    return text + flat(deed_of(item), item.end);
  }

  void mark_columns(const FormatItem& item, Line& line) const {
    const Columns columns = format_columns(tokens_, item);
    for (std::size_t i = 0; i < Columns::kCount; ++i)
      if (columns.at[i] > item.begin) {
        line.columns[i] = flat(item.begin, columns.at[i]).size() + 1;
        // `when` and `after` are one kind; of all others the first word says which one they are.
        const Token word = tokens_.kind(item.begin);
        line.kind = 1U + (word == w_after              ? static_cast<unsigned>(w_when)
                          : item.kind == NodeKind::way ? static_cast<unsigned>(w_chain)
                                                       : static_cast<unsigned>(word));
      }
  }

  void align() {
    for (std::size_t begin = 0; begin < lines_.size();) {
      std::size_t end = begin + 1;
      while (end < lines_.size() && lines_[begin].kind != 0 && lines_[end].kind == lines_[begin].kind &&
             lines_[end].indent == lines_[begin].indent && !lines_[end].blank_before)
        ++end;
      for (std::size_t column = 0; column < Columns::kCount; ++column) align_column(begin, end, column);
      begin = end;
    }
  }

  void align_column(std::size_t begin, std::size_t end, std::size_t column) {
    std::size_t longest = 0;
    std::size_t shortest = kFormatWidth;
    for (std::size_t i = begin; i < end; ++i) {
      if (lines_[i].columns[column] == 0) continue;
      const std::size_t width = before(lines_[i], column);
      longest = std::max(longest, width);
      shortest = std::min(shortest, width);
    }
    if (longest == 0 || longest - shortest > kMostPadding) return;
    for (std::size_t i = begin; i < end; ++i)
      if (lines_[i].columns[column] != 0 &&
          !fits(lines_[i].indent + longest - before(lines_[i], column), lines_[i].text))
        return;
    for (std::size_t i = begin; i < end; ++i) {
      Line& line = lines_[i];
      if (line.columns[column] == 0) continue;
      const std::size_t padding = longest - before(line, column);
      line.text.insert(line.columns[column], padding, ' ');
      for (std::size_t later = column; later < Columns::kCount; ++later)
        if (line.columns[later] != 0) line.columns[later] += padding;
    }
  }
  static std::size_t before(const Line& line, std::size_t column) {
    return display_width(std::string_view(line.text).substr(0, line.columns[column]));
  }

  // Comments behind neighbouring lines stand below each other too.
  void align_comments() {
    for (std::size_t begin = 0; begin < lines_.size();) {
      std::size_t end = begin;
      std::size_t longest = 0;
      std::size_t shortest = std::string::npos;
      while (end < lines_.size() && behind(lines_[end]) && (end == begin || !lines_[end].blank_before)) {
        if (!lines_[end].below_comment) {
          const std::size_t width = lines_[end].indent + display_width(lines_[end].text);
          longest = std::max(longest, width);
          shortest = std::min(shortest, width);
        }
        ++end;
      }
      std::size_t column = 0;
      for (std::size_t i = begin; i < end; ++i) {
        Line& line = lines_[i];
        const std::size_t width = line.indent + display_width(line.text);
        if (!line.below_comment) column = (longest - shortest > kMostPadding ? width : longest) + kCommentGap;
        line.text.append(column - width, ' ');
      }
      begin = std::max(end, begin + 1);
    }
  }
  static bool behind(const Line& line) {
    return !line.comment.empty() && (!line.text.empty() || line.below_comment);
  }

  std::string text() const {
    std::string text;
    for (const Line& line : lines_) {
      if (line.blank_before && !text.empty()) text += '\n';
      text.append(line.indent, ' ');
      text += line.text;
      text += line.comment;
      text += '\n';
    }
    return text;
  }

  const Tokens& tokens_;
  std::vector<Line> lines_;
};

/// True if nothing but layout differs.
bool same_tokens(const Tokens& a, const Tokens& b) {
  if (a.kinds != b.kinds) return false;
  const auto bare = [](std::string_view written) {
    std::string text(written);
    text.erase(std::remove_if(text.begin(), text.end(),
                              [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }),
               text.end());
    return text;
  };
  for (std::size_t at = 0; at <= a.size(); ++at) {
    if (a.kind(at) == text_ ? a.written(at) != b.written(at) : bare(a.written(at)) != bare(b.written(at)))
      return false;
    const Gap one = format_gap(a, at);
    const Gap other = format_gap(b, at);
    if (!std::equal(one.comments.begin(), one.comments.end(), other.comments.begin(), other.comments.end(),
                    [](const Comment& x, const Comment& y) { return x.text == y.text; }))
      return false;
  }
  return true;
}

}  // namespace

std::optional<std::string> formatted(const SourceSet& sources, FileId file, Findings& findings) {
  const std::size_t before = findings.size();
  static_cast<void>(parse(sources, file, findings));
  if (std::any_of(findings.begin() + static_cast<std::ptrdiff_t>(before), findings.end(),
                  [](const Finding& finding) { return finding.severity == Severity::error; }))
    return std::nullopt;
  Findings unused;
  Mistakes mistakes(unused);
  Tokens tokens = scan(sources, file, mistakes);
  const std::vector<Node> nodes = read(tokens, mistakes);
  std::string text = Layout(tokens).run(format_items(tokens, nodes));

  SourceSet printed;
  const FileId again = printed.add("", text);
  const Tokens result = scan(printed, again, mistakes);
  assert(same_tokens(tokens, result));
  static_cast<void>(result);
  return text;
}

}  // namespace lw
