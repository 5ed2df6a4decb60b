// Tokens to a flat tree: which form of the grammar stands where, whatever mistakes stand between.
//
// The grammar (grammar/latch.hpp) is run by PEGTL over the tokens. For each form that the tree of the room is
// built from, a node goes into one preorder list. Every item of a list is read on its own: a mistake in it is
// reported, what was read of it stays as a node that is not whole, and reading goes on at the next item; so
// each mistake is reported, and once. A word that is nearly the one that should stand there is taken for it,
// and the item is read again. Rejected: PEGTL's parse_tree (a heap node a rule). Invariant: time is linear in
// the tokens. Tests: tests/unit/syntax/recovery_test.cpp.
#pragma once

#include <cstdint>
#include <vector>

#include "syntax/mistakes.hpp"
#include "syntax/scan.hpp"

namespace lw::syntax {

/// The forms of grammar/latch.hpp that become nodes, by their names there. A leaf is one token.
// clang-format off
#define LW_LEAVES(X) \
  X(name) X(member) X(target) X(text) X(terminal) X(percent) X(quantity) X(time) X(whole) X(bound) \
  X(free_word) X(start_mark) X(goal_mark) X(kind) X(empty_pan) X(set_word) X(plain_predicate)
#define LW_BRANCHES(X) \
  X(accept) X(every_state) X(language) X(use) X(room) X(board) X(controller) X(link) X(thing) X(input) \
  X(output) X(device_names) X(at_terminal) X(by_label) X(over_link) X(clip) X(cue) X(let) X(design) \
  X(prop_of_design) X(prop_of_parts) X(given) X(chain) X(way) X(promise) X(never) X(can_reach) \
  X(not_before) X(then_within) X(rehearsal) X(line) X(moment) X(expect) X(place_tag) X(place_thing) \
  X(place_deed) X(take_deed) X(load) X(press) X(set_input) X(turn) X(type) X(lose) X(restore) X(restart) \
  X(delay) X(shift) X(operator_deed) X(override_prop) X(option) X(terminals) X(by_operator) X(starts_when) \
  X(window) X(range) X(edge) X(addend) X(tolerance) X(up_to_end) X(timer) X(counter) X(sequence) X(each) \
  X(gap) X(step) X(ready) X(in) X(state) X(takes) X(place) X(keep) X(outputs) X(level) X(while_cond) \
  X(longer) X(tell) X(enter) X(leave) X(when) X(after) X(again) X(actions) X(keep_for) X(play) X(loudness) \
  X(quiet) X(start_timer) X(stop_timer) X(add) X(take_from) X(set_to) X(send) X(held) X(for_time) X(cond) \
  X(all_of) X(some_of) X(negation) X(bracketed) X(count_of) X(fact) X(reads) X(anything) X(enters) X(is) \
  X(above) X(below) X(past) X(has_left) X(at_percent)
/// Those of grammar::wrong; reserved_name is a leaf.
#define LW_WRONG_BRANCHES(X) \
  X(mixed) X(lasting_step) X(is_word) X(late_not) X(late_word) X(bare_action) X(bare_act) X(late_clauses) X(timed_keep) \
  X(wordless_state) X(wordless_prop) X(late_language)
// clang-format on

enum class NodeKind : std::uint8_t {
#define LW_NODE(rule) rule,
  LW_LEAVES(LW_NODE) reserved_name,
  LW_BRANCHES(LW_NODE) LW_WRONG_BRANCHES(LW_NODE)
#undef LW_NODE
      stray,  // tokens that nothing could be made of, and what was tried of them
};

struct Node {
  NodeKind kind{};
  bool whole = true;        // no mistake was met in reading it; what was left out is not known here
  std::uint32_t begin = 0;  // its tokens are [begin, end)
  std::uint32_t end = 0;
  std::uint32_t next = 0;  // behind its subtree
};

/// The nodes of the file. Tokens that were misspelt are changed to what was meant.
std::vector<Node> read(Tokens& tokens, Mistakes& mistakes);

/// Makes the braces of each statement pair up, by what the layout shows; reports what was missing or too
/// many.
void balance(Tokens& tokens, Mistakes& mistakes);

}  // namespace lw::syntax
