// Items, gaps and columns: see format_items.hpp.
#include "syntax/format_items.hpp"

#include <algorithm>
#include <cassert>
#include <initializer_list>

#include "grammar/latch.hpp"
#include "text/source.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

class Items {
 public:
  Items(const Tokens& tokens, const std::vector<Node>& nodes) : tokens_(tokens), nodes_(nodes) {}

  // The outermost nodes that stand whole in the tokens [begin, end), of the nodes [node, last).
  std::vector<FormatItem> collect(std::size_t node, std::size_t last, std::size_t begin, std::size_t end) {
    std::vector<FormatItem> items;
    std::size_t at = begin;
    while (node < last && nodes_[node].begin < end) {
      const Node& one = nodes_[node];
      if (one.end <= begin) {
        node = one.next;  // of what stands before the braces
      } else if (one.begin < begin || one.end > end) {
        ++node;  // holds the braces
      } else {
        if (one.kind == NodeKind::line)
          for (std::size_t child = node + 1; child < one.next && nodes_[child].kind == NodeKind::accept;
               child = nodes_[child].next) {
            items.push_back(item(child, at));
            at = items.back().end;
          }
        items.push_back(item(node, at));
        at = items.back().end;
        node = one.next;
      }
    }
    assert(at == end);
    return items;
  }

 private:
  FormatItem item(std::size_t node, std::size_t begin) {
    FormatItem item;
    item.kind = nodes_[node].kind;
    item.begin = begin;
    item.end = nodes_[node].end;
    if (tokens_.kind(item.end) == comma_) ++item.end;
    for (std::size_t at = begin; at < item.end && item.open == 0; ++at)
      if (tokens_.kind(at) == open_brace) item.open = at;
    if (item.open == 0) return item;
    std::size_t depth = 0;
    for (item.close = item.open;; ++item.close) {
      if (tokens_.kind(item.close) == open_brace) ++depth;
      if (tokens_.kind(item.close) == close_brace && --depth == 0) break;
    }
    item.inner = collect(node, nodes_[node].next, item.open + 1, item.close);
    return item;
  }

  const Tokens& tokens_;
  const std::vector<Node>& nodes_;
};

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

std::size_t column_of(std::string_view text, std::size_t offset) {
  std::size_t begin = offset;
  while (begin > 0 && text[begin - 1] != '\n') --begin;
  return display_width(text.substr(begin, offset - begin));
}

std::size_t find_kind(const Tokens& tokens, std::size_t begin, std::size_t end,
                      std::initializer_list<Token> kinds) {
  for (std::size_t at = begin; at < end; ++at)
    for (const Token kind : kinds)
      if (tokens.kind(at) == kind) return at;
  return 0;
}

}  // namespace

bool FormatItem::fills() const {
  switch (kind) {
    case NodeKind::option:
    case NodeKind::given:
    case NodeKind::keep_for:
    case NodeKind::play:
    case NodeKind::quiet:
    case NodeKind::start_timer:
    case NodeKind::stop_timer:
    case NodeKind::add:
    case NodeKind::take_from:
    case NodeKind::set_to:
    case NodeKind::send:
      return true;
    default:
      return false;
  }
}

std::vector<FormatItem> format_items(const Tokens& tokens, const std::vector<Node>& nodes) {
  return Items(tokens, nodes).collect(0, nodes.size(), 0, tokens.size());
}

Gap format_gap(const Tokens& tokens, std::size_t at) {
  const std::string_view text = tokens.text;
  std::size_t offset = at == 0 ? 0 : tokens.places[at - 1].end;
  const std::size_t end = at < tokens.size() ? tokens.places[at].begin : text.size();
  Gap gap;
  std::size_t lines = at == 0 ? 1 : 0;  // line ends since the last thing
  while (offset < end) {
    if (text[offset] != '#') {
      assert(is_blank(text[offset]));
      if (text[offset] == '\n') {
        ++lines;
        gap.new_line = true;
      }
      ++offset;
      continue;
    }
    Comment comment;
    const std::size_t begin = offset;
    offset = std::min(text.find('\n', begin), text.size());
    std::size_t last = offset;
    while (is_blank(text[last - 1])) --last;
    comment.text = text.substr(begin, last - begin);
    comment.column = column_of(text, begin);
    comment.own_line = lines > 0;
    comment.blank_before = lines > 1 && (at != 0 || !gap.comments.empty());
    comment.directly_below = comment.own_line && lines == 1 && !gap.comments.empty() &&
                             gap.comments.back().column == comment.column;
    gap.comments.push_back(comment);
    lines = 0;
  }
  gap.blank_before = lines > 1;
  return gap;
}

Columns format_columns(const Tokens& tokens, const FormatItem& item) {
  Columns columns;
  const std::size_t begin = item.begin;
  const std::size_t end = item.end;
  const std::size_t brace = item.open;
  const auto after_colon = [&] {
    const std::size_t colon = find_kind(tokens, begin, end, {colon_});
    return colon == 0 ? 0 : colon + 1;
  };
  switch (item.kind) {
    case NodeKind::thing:
      columns.at[0] = find_kind(tokens, begin, brace == 0 ? end : brace, {quantity_});
      columns.at[1] = brace;
      break;
    case NodeKind::input:
    case NodeKind::output:
      columns.at[0] = find_kind(tokens, begin + 2, end, {w_at, w_by, w_over});
      columns.at[1] = brace;
      break;
    case NodeKind::controller:
    case NodeKind::link:
      columns.at[0] = find_kind(tokens, begin, end, {w_is, w_joins});
      columns.at[1] = brace;
      break;
    case NodeKind::clip:
    case NodeKind::cue:
      columns.at[0] = find_kind(tokens, begin, end, {text_, w_over});
      break;
    case NodeKind::let:
      columns.at[0] = find_kind(tokens, begin, end, {w_be});
      break;
    case NodeKind::prop_of_design:
      columns.at[0] = find_kind(tokens, begin, end, {w_is});
      columns.at[1] = find_kind(tokens, begin, end, {w_on});
      columns.at[2] = brace;
      break;
    case NodeKind::window:
      columns.at[0] = find_kind(tokens, begin, end, {w_on});
      columns.at[1] = after_colon();
      break;
    case NodeKind::timer:
    case NodeKind::counter:
    case NodeKind::sequence:
    case NodeKind::promise:
      columns.at[0] = after_colon();
      break;
    case NodeKind::state:
      columns.at[0] = brace;
      break;
    case NodeKind::way:
      columns.at[0] = find_kind(tokens, begin, end, {arrow_});
      break;
    case NodeKind::when:
    case NodeKind::after: {
      const std::size_t effect = find_kind(tokens, begin, end, {arrow_, open_brace});
      columns.at[0] = find_kind(tokens, begin, effect, {w_for});
      columns.at[1] = effect;
      break;
    }
    default:
      break;
  }
  return columns;
}

}  // namespace lw::syntax
