// Nodes to the tree of the room, and the mistakes that stand in forms which read well.
//
// The last step of parsing: each node of read.hpp becomes its struct of ast.hpp. Here the forms of
// grammar::wrong are reported, and what the grammar cannot say: an option twice, a missing unit, a condition
// with two readings, a rule in the wrong order. Invariant: any list of nodes that read() gives can be built;
// what a node lacks stays at its default. Tests: tests/unit/syntax/tree_test.cpp, decisions_test.cpp.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "syntax/ast.hpp"
#include "syntax/mistakes.hpp"
#include "syntax/read.hpp"
#include "syntax/scan.hpp"

namespace lw::syntax {

class Builder {
 public:
  Builder(const Tokens& tokens, const std::vector<Node>& nodes, Mistakes& mistakes)
      : tokens_(tokens), nodes_(nodes), mistakes_(mistakes), clean_(mistakes.count() == 0) {}

  ast::File file();

 private:
  using Index = std::uint32_t;
  enum class Sign : bool { no, allowed };

  // ---- nodes ----
  const Node& node(Index at) const { return nodes_[at]; }
  NodeKind kind(Index at) const { return nodes_[at].kind; }
  Token token(std::size_t at) const { return tokens_.kind(at); }
  Token first_token(Index at) const { return tokens_.kind(nodes_[at].begin); }
  Span span(Index at) const;
  Index first(Index at) const { return at + 1; }
  Index next(Index at) const { return nodes_[at].next; }
  bool inside(Index child, Index at) const { return child < nodes_[at].next; }
  /// The first child of that kind; the node itself if there is none.
  Index child(Index at, NodeKind kind) const;
  /// Tokens as text: one blank where the room has any, no comments.
  std::string plain(std::size_t begin, std::size_t end) const;
  std::string plain(Index at) const { return plain(node(at).begin, node(at).end); }
  void say(Span span, Wording wording);
  /// True if no mistake was met in what is built by `build`, which stands at the node.
  template <typename Build>
  bool whole(Index at, Build build);
  void take_stray(Index at);

  // ---- small parts: build_small.cpp ----
  ast::Name name(Index at);
  ast::Name word(std::size_t at) const;
  ast::Text text(Index at) const;
  ast::Text path(Index at);
  ast::Terminal terminal(Index at) const;
  ast::Number whole_number(std::size_t at);
  ast::Percent percent(Index at);
  ast::Quantity quantity(std::size_t at, std::string_view unit, Sign sign);
  ast::Value value(Index at, std::string_view unit, Sign sign = Sign::no);
  std::optional<ast::Value> time_in(Index at);
  ast::Level level(Index at);
  ast::Accept accept(Index at);

  // ---- conditions: build_conditions.cpp ----
  ast::Cond cond(Index at);
  ast::Cond term(Index at);
  bool declares_count(std::string_view name);
  ast::Fact fact(Index at);
  ast::Held held(Index at);
  std::optional<ast::Cond> cond_in(Index at);
  bool is_open(Index cond, NodeKind joint) const;
  void report_mixed(Index cond, Index joint, Index mixed);
  void check_commas(const std::vector<Index>& conds, bool all_count);

  // ---- parts and lines: build_parts.cpp, build_rules.cpp ----
  std::vector<ast::Part> parts(Index from, Index end, bool in_design);
  std::vector<ast::Inside> insides(Index from, Index end);
  template <typename Form>
  bool own(Index at, Form& form);
  ast::Let let(Index at);
  ast::Window window(Index at);
  ast::Range range(Index at);
  ast::Edge edge(Index at);
  ast::Addend addend(Index at);
  ast::Timer timer(Index at);
  ast::Counter counter(Index at);
  ast::Sequence sequence(Index at);
  ast::Gap gap(Index at);
  ast::Ready ready(Index at);
  ast::In in(Index at);
  ast::State state(Index at);
  ast::Takes takes_places(Index at);
  ast::Keep keep(Index at);
  ast::Tell tell(Index at);
  std::vector<ast::Action> acts(Index at);
  ast::When when(Index at);
  ast::After after(Index at);
  struct Clauses;
  void clauses(Index at, Index from, std::size_t head_end, Clauses& found);
  ast::Action action(Index at);
  std::vector<ast::Action> actions(Index at, bool moves, std::string_view move);
  std::vector<ast::Name> names_in(Index at);

  // ---- statements: build_statements.cpp, build_options.cpp ----
  void statement(Index at, std::vector<ast::Accept>& accepts, ast::File& file);
  bool form_of_statement(Index at, ast::Statement& statement);
  ast::Language language(Index at);
  ast::Link link(Index at);
  ast::Thing thing(Index at);
  void device(Index at, ast::Names& names, ast::Hangs& hangs, ast::Options& options);
  ast::Hangs hangs(Index at);
  ast::Prop prop_of_parts(Index at);
  ast::Prop prop_of_design(Index at);
  ast::Chain chain(Index at);
  ast::Promise promise(Index at);
  ast::Options options(Index at, Token owner);
  std::optional<ast::OptionValue> option_value(Index at, ast::OptionKind kind);
  ast::Terminals terminals(Index at);

  // ---- rehearsals: build_rehearsal.cpp ----
  ast::Rehearsal rehearsal(Index at);
  void line(Index at, ast::Line& line);
  bool deed(Index at, ast::Line& line);

  const Tokens& tokens_;
  const std::vector<Node>& nodes_;
  Mistakes& mistakes_;
  bool clean_;         // nothing is reported about the file so far
  bool whole_ = true;  // of what is being built
  std::vector<ast::Name> stray_;
  std::optional<std::set<std::string_view>> counts_;  // filled at the first mistake that asks
};

template <typename Build>
bool Builder::whole(Index at, Build build) {
  const bool outer = whole_;
  whole_ = node(at).whole;
  if (!clean_) {
    for (std::size_t i = node(at).begin; i < node(at).end && whole_; ++i)
      whole_ = !tokens_.has(i, Tokens::kReported);
  }
  build();
  const bool result = whole_;
  whole_ = outer && result;
  return result;
}

}  // namespace lw::syntax
