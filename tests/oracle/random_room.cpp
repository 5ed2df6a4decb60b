// Random rooms: the room statement, the chain, promises; and the tree of pieces.
#include "random_room.hpp"

#include <algorithm>

#include "random_maker.hpp"

namespace lw::oracle {

std::uint64_t Dice::next() {
  std::uint64_t z = (state_ += 0x9E3779B97F4A7C15u);
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

int Dice::from(int low, int high) {
  if (high <= low) return low;
  return low + static_cast<int>(next() % static_cast<std::uint64_t>(high - low + 1));
}

namespace {

void write(const Piece& piece, std::string& text) {
  text += piece.head;
  for (std::size_t n = 0; n < piece.parts.size(); ++n) {
    if (n > 0) text += piece.separator;
    write(piece.parts[n], text);
  }
  text += piece.tail;
}

}  // namespace

std::string render(const Piece& piece) {
  std::string flat;
  write(piece, flat);
  std::string text;
  int depth = 0;
  std::size_t begin = 0;
  while (begin < flat.size()) {
    const std::size_t end = std::min(flat.find('\n', begin), flat.size());
    const std::string line = flat.substr(begin, end - begin);
    begin = end + 1;
    if (line.empty()) continue;
    if (line == "}") --depth;
    text += std::string(static_cast<std::size_t>(std::max(0, 2 * depth)), ' ') + line + "\n";
    if (line.back() == '{') ++depth;
  }
  return text;
}

Piece Maker::room_statement() {
  std::vector<Piece> given;
  const bool short_one = dice_.chance(35);
  if (!small_)
    given.push_back("session " + (short_one ? milliseconds(0, 25, 60) : "60 min"));
  else if (short_one)
    given.push_back("session " + std::to_string(10 * dice_.from(3, 6)) + " ms");
  endless_ = small_ && !short_one;
  const int roll = dice_.from(1, 100);
  if (roll <= 40) {
    given.push_back("starts by operator");
  } else if (roll <= 75) {
    PropPlan nobody;
    Scope scope = scope_of(nobody);
    scope.here = nullptr;
    scope.props.clear();
    const bool edge = dice_.chance(small_ ? 55 : 35);
    const bool hold = !edge && dice_.chance(40);
    // Level facts of inputs alone: while the session is idle nothing else changes.
    std::optional<std::string> level = device_fact(scope);
    Piece cond = edge ? condition(scope, Edges::must, true) : Piece(level ? *level : "finish");
    std::vector<Piece> when{Piece("starts when ", {std::move(cond)}, "", "")};
    if (hold) when.push_back(" for " + milliseconds(0, 1, 5));
    given.push_back(Piece("", std::move(when), "", ""));
  } else {
  }
  std::vector<Piece> finish;
  for (const PropPlan& plan : plans_)
    if (plan.has_goal && joined(0, plan.controller) && (finish.empty() || dice_.chance(30)))
      finish.push_back(plan.name);
  if (finish.empty()) finish.push_back(plans_.front().name);
  given.push_back(Piece("finish ", std::move(finish), ", ", ""));
  return Piece("room \"Random\" { ", std::move(given), ", ", " }");
}

std::optional<Piece> Maker::chain() {
  std::vector<Piece> ways;
  for (std::size_t p = 1; p < plans_.size(); ++p) {
    const PropPlan& plan = plans_[p];
    if (!plan.has_goal || !dice_.chance(small_ ? 90 : 50)) continue;
    std::vector<const PropPlan*> earlier;
    for (std::size_t q = 0; q < p; ++q)
      if (plans_[q].has_goal && joined(plans_[q].controller, plan.controller)) earlier.push_back(&plans_[q]);
    if (!earlier.empty() && dice_.chance(small_ ? 25 : 60)) {
      ways.push_back(dice_.one_of(earlier)->name + " → " + plan.name);
      continue;
    }
    Scope scope = scope_of(plan);
    const bool edge = dice_.chance(small_ ? 90 : 35);
    ways.push_back(
        Piece("", {condition(scope, edge ? Edges::must : Edges::none, false)}, "", " -> " + plan.name));
  }
  if (ways.empty()) return std::nullopt;
  return Piece("chain {\n", std::move(ways), "\n", "\n}");
}

/// What promises ask of visible states is compared too.
std::vector<Piece> Maker::promises() {
  std::vector<Piece> all;
  PropPlan nobody;
  Scope scope = scope_of(nobody);
  scope.here = nullptr;
  if (small_) {
    for (int n = dice_.from(2, 4); n > 0; --n) all.push_back(promise(scope, n));
    return all;
  }
  for (int n = dice_.from(0, 2); n > 0; --n) {
    all.push_back(Piece("promise \"" + std::to_string(n) + "\": never ",
                        {condition(scope, Edges::none, false)}, "", ""));
  }
  return all;
}

/// Of states and levels more than of inputs, of which nothing much can be promised.
Piece Maker::promise(const Scope& scope, int number) {
  const auto something = [&]() -> Piece {
    if (dice_.chance(25)) return condition(scope, Edges::none, false);
    std::optional<std::string> fact = prop_fact(scope);
    if (!fact || dice_.chance(25)) fact = level_fact(scope);
    return Piece(*fact);
  };
  const std::string title = "promise \"" + std::to_string(number) + "\": ";
  switch (dice_.from(0, 3)) {
    case 0:
      if (dice_.chance(50)) return Piece(title + "never ", {something()}, "", "");
      return Piece(title + "never (", {something(), something()}, " and ", ")");
    case 1:
      return Piece(title + "can always reach ", {something()}, "", "");
    case 2: {
      // What stands on either side may be a moment.
      Piece first = dice_.chance(30) ? condition(scope, Edges::must, false) : something();
      return Piece(title, {std::move(first), something()}, " then ",
                   " within " + std::to_string(10 * dice_.from(1, 5)) + " ms");
    }
    default:
      return Piece(title + "finish not before " + std::to_string(10 * dice_.from(1, 6)) + " ms");
  }
}

Piece Maker::make() {
  statements_.push_back(Piece(""));  // the room statement, once its props are known
  hardware();
  plan_props();
  statements_.front() = room_statement();
  for (int n = dice_.chance(30) ? 1 : 0; n > 0; --n) {
    PropPlan nobody;
    Scope scope = scope_of(nobody);
    scope.here = nullptr;
    scope.in_let = true;
    scope.props.clear();
    statements_.push_back(Piece("let tidy be ", {condition(scope, Edges::none, true)}, "", ""));
    lets_.push_back("tidy");
  }
  // Plans first: what others may say of a prop is what was planned, and never changes after.
  std::vector<PropPlan> inside = plans_;
  for (PropPlan& plan : plans_)
    for (Counting& sequence : plan.items.sequences) sequence.high = std::max(0, sequence.high - 1);
  for (PropPlan& plan : inside) {
    if (dice_.chance(14))
      design(plan, statements_);
    else
      statements_.push_back(prop(plan));
  }
  if (auto piece = chain()) statements_.push_back(std::move(*piece));
  for (Piece& promise : promises()) statements_.push_back(std::move(promise));
  return Piece("language 1\nuse \"" + std::string(kBoardsFile) + "\"\n", std::move(statements_), "\n", "\n");
}

Piece random_room(Dice& dice, Size size) { return Maker(dice, size).make(); }

}  // namespace lw::oracle
