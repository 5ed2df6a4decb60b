// The grammar run by PEGTL over tokens: see read.hpp. This is the only file that PEGTL's machinery is seen in
// beside the scanner; mistakes leave the grammar as a Stray, which the item that they stand in catches.
#include "syntax/read.hpp"

#include <type_traits>

#include "grammar/latch.hpp"
#include "grammar/messages.hpp"
#include "syntax/recover.hpp"

namespace lw::syntax {
namespace {

namespace pegtl = tao::pegtl;
using Input = pegtl::memory_input<pegtl::tracking_mode::lazy, pegtl::eol::lf, const char*>;

std::size_t here(const Input& in) { return static_cast<std::size_t>(in.current() - in.begin()); }
void move_to(Input& in, std::size_t at) { in.iterator() = in.begin() + at; }

// ---- which rules become nodes ----

enum class Shape : std::uint8_t { none, leaf, branch };
struct Becomes {
  Shape shape = Shape::none;
  NodeKind kind{};
};

template <typename Rule>
constexpr Becomes node_of() {
#define LW_NODE(rule) \
  if constexpr (std::is_same_v<Rule, grammar::rule>) return {Shape::leaf, NodeKind::rule};
  LW_LEAVES(LW_NODE)
#undef LW_NODE
#define LW_NODE(rule) \
  if constexpr (std::is_same_v<Rule, grammar::rule>) return {Shape::branch, NodeKind::rule};
  LW_BRANCHES(LW_NODE)
#undef LW_NODE
#define LW_NODE(rule) \
  if constexpr (std::is_same_v<Rule, grammar::wrong::rule>) return {Shape::branch, NodeKind::rule};
  LW_WRONG_BRANCHES(LW_NODE)
#undef LW_NODE
  if constexpr (std::is_same_v<Rule, grammar::wrong::bare_keep>) return {Shape::branch, NodeKind::keep_for};
  if constexpr (std::is_same_v<Rule, grammar::wrong::reserved_name>)
    return {Shape::leaf, NodeKind::reserved_name};
  // A name is a name, whatever it names.
  if constexpr (std::is_base_of_v<grammar::name, Rule>) return {Shape::leaf, NodeKind::name};
  if constexpr (std::is_base_of_v<grammar::text, Rule>) return {Shape::leaf, NodeKind::text};
  return {};
}

// ---- what a rule wants ----

template <Token... T>
struct Words {
  static constexpr Token list[] = {T...};
};
template <Token... T>
Wanted words_of(const grammar::word<T...>*) {
  return {nullptr, Words<T...>::list, sizeof...(T), false, false, false, false};
}
template <Token... Follow>
Wanted words_of(const grammar::declared<Follow...>*) {
  return {grammar::expected<grammar::name>, nullptr, 0, true, false, false, false};
}

template <typename... Rules>
Wanted words_of(const pegtl::opt<Rules...>*) {
  return {};  // it never fails
}

template <typename Rule>
Wanted wanted() {
  if constexpr (grammar::expected<Rule> != nullptr) {
    return {grammar::expected<Rule>,
            nullptr,
            0,
            std::is_base_of_v<grammar::name, Rule> || std::is_same_v<Rule, grammar::device_names> ||
                std::is_same_v<Rule, grammar::outputs>,
            std::is_same_v<Rule, grammar::cond> || std::is_same_v<Rule, grammar::term> ||
                std::is_same_v<Rule, grammar::held> || std::is_same_v<Rule, grammar::list<grammar::cond>> ||
                std::is_same_v<Rule, grammar::claim>,
            std::is_same_v<Rule, grammar::terminal>,
            std::is_same_v<Rule, grammar::ending>};
  } else {
    return words_of(static_cast<const Rule*>(nullptr));
  }
}

template <typename Form>
constexpr Level level_of() {
  if constexpr (std::is_same_v<Form, grammar::part>) return Level::part;
  if constexpr (std::is_same_v<Form, grammar::inside>) return Level::inside;
  if constexpr (std::is_same_v<Form, grammar::action>) return Level::action;
  if constexpr (std::is_same_v<Form, grammar::line>) return Level::line;
  if constexpr (std::is_same_v<Form, grammar::option>) return Level::option;
  if constexpr (std::is_same_v<Form, grammar::way>) return Level::way;
  if constexpr (std::is_same_v<Form, grammar::given>) return Level::given;
  return Level::statement;
}

// ---- reading ----

struct Reader {
  Reader(Tokens& tokens, Mistakes& mistakes) : recovery(tokens, mistakes) {
    nodes.reserve(tokens.size() + 16);
  }

  void open(NodeKind kind, std::size_t begin) {
    open_nodes.push_back(static_cast<std::uint32_t>(nodes.size()));
    nodes.push_back({kind, true, static_cast<std::uint32_t>(begin), 0, 0});
  }
  void close(std::size_t end, bool whole) {
    Node& node = nodes[open_nodes.back()];
    node.end = static_cast<std::uint32_t>(end);
    node.next = static_cast<std::uint32_t>(nodes.size());
    node.whole = whole;
    open_nodes.pop_back();
  }
  // Of the one token that ends at `end`. Where a leaf is made of another, as a time of a name, it takes its
  // place.
  void leaf(NodeKind kind, std::size_t end) {
    const auto token = static_cast<std::uint32_t>(end - 1);
    if (!nodes.empty() && nodes.back().begin == token && nodes.back().next == nodes.size()) nodes.pop_back();
    const auto next = static_cast<std::uint32_t>(nodes.size() + 1);
    nodes.push_back({kind, true, token, token + 1, next});
  }
  void drop() {
    nodes.resize(open_nodes.back());
    open_nodes.pop_back();
  }
  void stray(std::size_t begin, std::size_t end) {
    open(NodeKind::stray, begin);
    close(end, false);
  }

  Recovery recovery;
  std::vector<Node> nodes;
  std::vector<std::uint32_t> open_nodes;
  std::size_t depth = 0;
};

template <typename Rule>
struct Control : pegtl::normal<Rule> {
  static constexpr Becomes becomes = node_of<Rule>();
  static constexpr bool enable = becomes.shape != Shape::none;

  template <typename In>
  static void start(const In& in, Reader& reader) {
    if constexpr (becomes.shape == Shape::branch) reader.open(becomes.kind, here(in));
  }
  template <typename In>
  static void success(const In& in, Reader& reader) {
    if constexpr (becomes.shape == Shape::branch) {
      reader.close(here(in), true);
    } else {
      reader.leaf(becomes.kind, here(in));
    }
  }
  template <typename In>
  static void failure(const In&, Reader& reader) {
    if constexpr (becomes.shape == Shape::branch) reader.drop();
  }
  template <typename In>
  static void unwind(const In& in, Reader& reader) {
    if constexpr (becomes.shape == Shape::branch) reader.close(here(in), false);
  }
  template <typename In>
  [[noreturn]] static void raise(const In& in, Reader&) {
    throw Stray{Stray::Kind::wanted, here(in), wanted<Rule>()};
  }
};

// A condition in a condition; only so deep that no text can exhaust the stack.
template <>
struct Control<grammar::term> : pegtl::normal<grammar::term> {
  static constexpr bool enable = false;
  template <pegtl::apply_mode A, pegtl::rewind_mode M, template <typename...> class Action,
            template <typename...> class Inner, typename In>
  static bool match(In& in, Reader& reader) {
    struct Deeper {
      explicit Deeper(std::size_t& depth) : depth_(depth) { ++depth_; }
      ~Deeper() { --depth_; }
      std::size_t& depth_;
    } deeper(reader.depth);
    if (reader.depth > Recovery::kDeepest) {
      reader.recovery.say_too_deep(here(in));
      throw Stray{Stray::Kind::reported, here(in), {}};
    }
    return pegtl::match<grammar::term, A, M, Action, Inner>(in, reader);
  }
  template <typename In>
  [[noreturn]] static void raise(const In& in, Reader&) {
    throw Stray{Stray::Kind::wanted, here(in), wanted<grammar::term>()};
  }
};

// An item of a list: what was thrown in it ends here.
template <typename Form>
struct Control<grammar::item<Form>> : pegtl::normal<grammar::item<Form>> {
  static constexpr bool enable = false;

  template <pegtl::apply_mode A, pegtl::rewind_mode, template <typename...> class Action,
            template <typename...> class Inner, typename In>
  static bool match(In& in, Reader& reader) {
    constexpr Level level = level_of<Form>();
    Recovery& recovery = reader.recovery;
    if (recovery.at_end(level, here(in))) return false;
    if constexpr (std::is_same_v<Form, grammar::language>) {
      if (static_cast<Token>(in.peek_uint8()) != grammar::w_language) return false;
    }
    recovery.enter(level, here(in));
    const std::size_t depth = reader.depth;
    const std::size_t first_node = reader.nodes.size();
    for (;;) {
      Stray stray;
      try {
        if (Inner<Form>::template match<A, pegtl::rewind_mode::required, Action, Inner>(in, reader)) {
          if (recovery.ends_item(here(in))) break;
          stray = {Stray::Kind::left, here(in), {}};
        } else {
          stray = {Stray::Kind::begins, recovery.begin(), {}};
        }
      } catch (const Stray& caught) {
        stray = caught;
      }
      reader.depth = depth;
      Recovery::Next next = recovery.mend(stray);
      move_to(in, next.at);
      if (next.again) {
        reader.nodes.resize(first_node);
        continue;
      }
      // What is skipped may hold blocks that can be read for their own mistakes.
      reader.open(NodeKind::stray, stray.at);
      while (next.block != Recovery::Block::none) {
        if constexpr (level == Level::statement || level == Level::part) {
          if (next.block == Recovery::Block::parts) {
            (void)Inner<grammar::parts>::template match<A, pegtl::rewind_mode::required, Action, Inner>(
                in, reader);
          }
        }
        if constexpr (level == Level::statement || level == Level::part || level == Level::inside) {
          if (next.block == Recovery::Block::insides) {
            (void)Inner<grammar::insides>::template match<A, pegtl::rewind_mode::required, Action, Inner>(
                in, reader);
          }
        }
        next = recovery.skip(here(in));
        move_to(in, next.at);
      }
      reader.close(here(in), false);
      break;
    }
    recovery.leave();
    if (!in.empty() && static_cast<Token>(in.peek_uint8()) == grammar::comma_) in.bump(1);
    return true;
  }
};

// What stands before braces: a mistake in it does not hide what stands in them.
template <typename... Rules>
struct Control<grammar::head<Rules...>> : pegtl::normal<grammar::head<Rules...>> {
  static constexpr bool enable = false;

  template <pegtl::apply_mode A, pegtl::rewind_mode M, template <typename...> class Action,
            template <typename...> class Inner, typename In>
  static bool match(In& in, Reader& reader) {
    const std::size_t depth = reader.depth;
    Stray stray;
    try {
      return pegtl::match<grammar::head<Rules...>, A, M, Action, Inner>(in, reader);
    } catch (const Stray& caught) {
      stray = caught;
    }
    reader.depth = depth;
    const Recovery::Next next = reader.recovery.mend_head(stray);
    move_to(in, next.at);
    if (next.again) throw Stray{Stray::Kind::again, next.at, {}};
    if (next.at > stray.at || !next.found || !stray.wanted.ending) reader.stray(stray.at, next.at);
    if (next.found) return true;
    throw Stray{Stray::Kind::reported, next.at, {}};
  }
};

}  // namespace

std::vector<Node> read(Tokens& tokens, Mistakes& mistakes) {
  Reader reader(tokens, mistakes);
  Input in(tokens.kinds.data(), tokens.kinds.data() + tokens.kinds.size(), "");
  (void)pegtl::normal<grammar::file>::match<pegtl::apply_mode::nothing, pegtl::rewind_mode::required,
                                            pegtl::nothing, Control>(in, reader);
  return std::move(reader.nodes);
}

}  // namespace lw::syntax
