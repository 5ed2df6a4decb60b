// lw_naive_findings: what docs/findings.md says of props that meet, judged for a small room by stepping it.
//
//   lw_naive_findings FILE [--steps N] [--losses]
//
// Slow and obvious: every instant of the room of one controller, with raw values through the real
// conditioning (instants.hpp), and from each what comes when each input goes on giving one value and nobody
// asks for anything. Nothing is shared with what it judges. A line for each finding, its name as it stands in
// the room; tests/findings.py compares.
//
//   restless PROP       moves in every scan for ever, by moves that wait for no time
//   round PROP PROP     go round for ever so: some of these in every scan
//   two_moves PROP      two moves of one scan that lead elsewhere or do other things, when one input at a
//                       time changes and the room comes to rest before the next one does
//   at_odds OUTPUT      props are still at odds over it three scans later, met in the same way
//   left_driven OUTPUT  a relay or motor that rests off, without `longest`, driven for ever in an ended
//   session left_over PROP      solved with the inputs left so since power-up, and not solved with them left
//   otherwise met CODE NAME       at_odds or two_moves in any instant, by chance too
//
// A button counts as held where that is asked of what players do, and as up where they have gone. The
// conditions of promises whose titles begin with "ready" are to hold before the operator starts. Exit 0:
// judged; 2: too large, or no room.
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <stdexcept>
#include <string>
#include <unordered_map>
#include <vector>

#include "compiled.hpp"
#include "instants.hpp"
#include "runtime/block.h"

namespace lw::naive {
namespace {

using Node = std::size_t;
using Command = Instants::Next::Command;
using Rows = std::set<std::size_t>;  // of props, or outputs

constexpr std::uint8_t kEnded = 2;

/// What comes of one scan.
struct Way {
  Node to = 0;
  Instants::Next seen;
};

/// All instants of a room; nothing is worked out of how it goes on but by asking the runtime.
class Graph {
 public:
  Graph(const oracle::Compiled& compiled, Freedom freedom, std::uint64_t most_steps)
      : instants_(*compiled.room, *compiled.tables, freedom) {
    before_ = instants_.power_up();
    nodes_.push_back(&before_);
    for (Node from = 0; from < nodes_.size(); ++from) {
      if (instants_.steps() > most_steps) throw std::runtime_error("too many instants");
      held_.emplace_back();
      instants_.each_next(*nodes_[from], [&](const Instants::Bytes& bytes, const Instants::Next& next) {
        const auto [at, is_new] = known_.try_emplace(bytes, nodes_.size());
        if (is_new) nodes_.push_back(&at->first);
        if (next.command == Command::none) {
          if (held_[from].size() != next.choice) throw std::logic_error("choices out of order");
          held_[from].push_back({at->second, next});
        } else if (next.command == Command::start) {
          starts_[{from, next.choice}] = at->second;
        }
      });
    }
  }
  std::size_t size() const { return nodes_.size(); }
  std::size_t choices() const { return held_[0].size(); }
  const Way& held(Node from, std::size_t choice) const { return held_[from][choice]; }
  const Node* started(Node from, std::size_t choice) const {
    const auto found = starts_.find({from, choice});
    return found == starts_.end() ? nullptr : &found->second;
  }
  const std::uint8_t* block(Node n) const { return reinterpret_cast<const std::uint8_t*>(nodes_[n]->data()); }
  bool condition(Node n, std::size_t promise) const { return instants_.condition(*nodes_[n], promise); }
  const Instants& instants() const { return instants_; }

  /// Where it ends when one choice is made again and again: the instants that then come round for ever.
  /// Calls `on` with each way gone, those of one round included.
  template <class On>
  std::vector<Node> follow(Node from, std::size_t choice, On&& on) const {
    std::vector<Node> path{from};
    std::unordered_map<Node, std::size_t> place{{from, 0}};
    for (;;) {
      const Way& way = held(path.back(), choice);
      on(path.back(), way);
      const auto [at, is_new] = place.try_emplace(way.to, path.size());
      if (!is_new)
        return std::vector<Node>(path.begin() + static_cast<std::ptrdiff_t>(at->second), path.end());
      path.push_back(way.to);
    }
  }

 private:
  struct Hash {
    std::size_t operator()(const std::pair<Node, std::size_t>& key) const {
      return key.first * 0x9E3779B97F4A7C15u + key.second;
    }
  };
  Instants instants_;
  Instants::Bytes before_;
  std::vector<const Instants::Bytes*> nodes_;  // 0: before the first scan
  std::vector<std::vector<Way>> held_;         // by choice
  std::unordered_map<std::pair<Node, std::size_t>, Node, Hash> starts_;
  std::unordered_map<Instants::Bytes, Node> known_;
};

class Judge {
 public:
  Judge(const oracle::Compiled& compiled, Freedom freedom, std::uint64_t most_steps)
      : room_(*compiled.room),
        tables_(*compiled.tables),
        rows_(tables_.controllers[0].rows),
        graph_(compiled, freedom, most_steps) {
    if (lw_load(&table_, tables_.controllers[0].bytes.data(),
                static_cast<std::uint32_t>(tables_.controllers[0].bytes.size())) != LW_OK)
      throw std::logic_error("the runtime refuses a table that was just made");
    for (std::size_t n = 0; n < rows_.inputs.size(); ++n)
      raws_.push_back(graph_.instants().raws(0, n).size() + (freedom.losses && is_losable(n) ? 1 : 0));
    std::size_t all = 1;
    for (const std::size_t raws : raws_) all *= raws;
    if (all != graph_.choices()) throw std::logic_error("choices that are not all combinations");
  }

  void print() const {
    std::set<std::string> lines;
    const auto say = [&](const std::string& what, const Rows& found, bool outputs) {
      for (const std::size_t row : found)
        lines.insert(what + " " + (outputs ? output_name(row) : prop_name(row)));
    };
    std::set<Rows> together;
    Rows may;
    say("restless", restless(together, may), false);
    say("met restless", may, false);
    for (const Rows& movers : together) {
      std::string line = "round";
      for (const std::size_t row : movers) line += " " + prop_name(row);
      lines.insert(line);
    }
    Rows two_ways, at_odds;
    at_leisure(two_ways, at_odds);
    say("two_moves", two_ways, false);
    say("at_odds", at_odds, true);
    say("left_driven", left_driven(), true);
    say("left_over", left_over(), false);
    Rows ever_two, ever_odds;
    for (Node n = 0; n < graph_.size(); ++n)
      for (std::size_t choice = 0; choice < graph_.choices(); ++choice) {
        const Instants::Next& seen = graph_.held(n, choice).seen;
        ever_two.insert(seen.two_ways.begin(), seen.two_ways.end());
        ever_odds.insert(seen.at_odds.begin(), seen.at_odds.end());
      }
    say("met two_moves", ever_two, false);
    say("met at_odds", ever_odds, true);
    for (const std::string& line : lines) std::printf("%s\n", line.c_str());
    std::printf("instants %zu\n", graph_.size());
  }

 private:
  std::string prop_name(std::size_t row) const {
    for (std::size_t n = 0; n < room_.props.size(); ++n)
      if (tables_.props[n].row == row) return room_.props[n].name;
    throw std::logic_error("a prop without a name");
  }
  const model::Output& output(std::size_t row) const {
    return room_.outputs[model::index(tables_.controllers[0].outputs[row])];
  }
  std::string output_name(std::size_t row) const { return output(row).name; }
  bool is_losable(std::size_t input) const {
    return rows_.inputs[input].kind != rows::InputKind::operator_button;
  }
  /// What the choice gives an input: the place of its raw value. The first input changes fastest.
  std::size_t given(std::size_t choice, std::size_t input) const {
    for (std::size_t n = 0; n < input; ++n) choice /= raws_[n];
    return choice % raws_[input];
  }
  /// Whether everything could be as the choice has it with nobody there.
  bool can_be_left(std::size_t choice) const {
    for (std::size_t n = 0; n < raws_.size(); ++n) {
      const rows::InputKind kind = rows_.inputs[n].kind;
      const std::size_t of = given(choice, n);
      if (of >= graph_.instants().raws(0, n).size()) return false;  // lost
      if ((kind == rows::InputKind::button || kind == rows::InputKind::operator_button) && of != 0)
        return false;
    }
    return true;
  }
  bool differ_in_one(std::size_t a, std::size_t b) const {
    std::size_t differ = 0;
    for (std::size_t n = 0; n < raws_.size(); ++n) differ += given(a, n) != given(b, n) ? 1 : 0;
    return differ == 1;
  }
  static void nothing(Node /*from*/, const Way& /*way*/) {}

  /// Rounds in which each scan has a move that waits for no time, and props that move so make no other move:
  /// the props that move in each scan by themselves; else all of them, put together in `together`.
  Rows restless(std::set<Rows>& together, Rows& may) const {
    Rows alone;
    for (std::size_t choice = 0; choice < graph_.choices(); ++choice) {
      std::vector<bool> looked(graph_.size(), false);
      for (Node n = 0; n < graph_.size(); ++n) {
        if (looked[n]) continue;
        const std::vector<Node> round =
            graph_.follow(n, choice, [&](Node from, const Way& /*way*/) { looked[from] = true; });
        Rows timed;
        bool goes_round = true;
        for (const Node at : round) {
          const Rows& now = graph_.held(at, choice).seen.timed;
          timed.insert(now.begin(), now.end());
          goes_round = goes_round && !graph_.held(at, choice).seen.hurried.empty();
        }
        if (goes_round)
          for (const Node at : round) {
            const Rows& now = graph_.held(at, choice).seen.hurried;
            may.insert(now.begin(), now.end());
          }
        std::map<std::size_t, std::size_t> moves;  // by prop
        bool each = true;
        for (const Node at : round) {
          bool any = false;
          for (const std::size_t prop : graph_.held(at, choice).seen.hurried)
            if (timed.count(prop) == 0) {
              ++moves[prop];
              any = true;
            }
          each = each && any;
        }
        if (!each) continue;
        Rows movers, by_itself;
        for (const auto& [prop, count] : moves) {
          movers.insert(prop);
          if (count == round.size()) by_itself.insert(prop);
        }
        alone.insert(by_itself.begin(), by_itself.end());
        together.insert(movers);
      }
    }
    return alone;
  }

  /// One input changes at a time, and only where the room is at rest: nothing moves or acts any more.
  void at_leisure(Rows& two_ways, Rows& at_odds) const {
    std::set<std::pair<Node, std::size_t>> known;
    std::vector<std::pair<Node, std::size_t>> open;
    const auto deed = [&](Node from, std::size_t choice) {
      std::vector<Rows> odds;
      const std::vector<Node> round = graph_.follow(from, choice, [&](Node /*from*/, const Way& way) {
        two_ways.insert(way.seen.two_ways.begin(), way.seen.two_ways.end());
        odds.push_back(way.seen.at_odds);
      });
      // What is so at the end of the path goes on through the round.
      for (std::size_t more = 0; more < 3; ++more)
        odds.push_back(graph_.held(round[more % round.size()], choice).seen.at_odds);
      for (std::size_t k = 0; k + 3 < odds.size(); ++k)
        for (const std::size_t row : odds[k])
          if (odds[k + 1].count(row) != 0 && odds[k + 2].count(row) != 0 && odds[k + 3].count(row) != 0)
            at_odds.insert(row);
      for (const Node at : round)
        if (graph_.held(at, choice).seen.acted) return;
      for (const Node at : round)
        if (known.insert({at, choice}).second) open.push_back({at, choice});
    };
    for (std::size_t choice = 0; choice < graph_.choices(); ++choice) deed(0, choice);
    while (!open.empty()) {
      const auto [from, before] = open.back();
      open.pop_back();
      for (std::size_t choice = 0; choice < graph_.choices(); ++choice)
        if (differ_in_one(before, choice)) deed(from, choice);
    }
  }

  Rows left_driven() const {
    Rows found;
    for (std::size_t choice = 0; choice < graph_.choices(); ++choice) {
      if (!can_be_left(choice)) continue;
      std::vector<bool> looked(graph_.size(), false);
      for (Node n = 0; n < graph_.size(); ++n) {
        if (looked[n] || graph_.block(n)[LW_AT_PHASE] != kEnded) continue;
        const std::vector<Node> round =
            graph_.follow(n, choice, [&](Node from, const Way& /*way*/) { looked[from] = true; });
        for (std::size_t row = 0; row < rows_.outputs.size(); ++row) {
          const model::OutputKind kind = output(row).kind;
          const bool meant = kind == model::OutputKind::relay || kind == model::OutputKind::motor;
          if (!meant || output(row).longest_ms || !is_off(rows_.outputs[row].rest)) continue;
          bool always = true;
          for (const Node at : round)
            always = always && !is_off(graph_.block(at)[table_.output_levels + row]);
          if (always) found.insert(row);
        }
      }
    }
    return found;
  }
  bool is_off(std::uint8_t level) const { return rows_.levels[level].kind == rows::LevelKind::off; }

  Rows left_over() const {
    Rows solved_so, solved_not;
    for (std::size_t choice = 0; choice < graph_.choices(); ++choice) {
      if (!can_be_left(choice)) continue;
      Node at = 0;
      // Until it stands still, idle or started by itself.
      at = graph_.follow(at, choice, nothing).front();
      if (graph_.block(at)[LW_AT_PHASE] == 0) {
        bool ready = true;
        for (std::size_t n = 0; n < room_.promises.size(); ++n)
          if (room_.promises[n].title.rfind("ready", 0) == 0) ready = ready && graph_.condition(at, n);
        if (!ready) continue;
        const Node* const started = graph_.started(at, choice);
        if (!started) throw std::logic_error("an idle room that cannot be started");
        at = graph_.follow(*started, choice, nothing).front();
      }
      for (std::size_t p = 0; p < rows_.props.size(); ++p)
        (graph_.block(at)[table_.prop_solved + p] != 0 ? solved_so : solved_not).insert(p);
    }
    Rows found;
    for (const std::size_t p : solved_so)
      if (solved_not.count(p) != 0) found.insert(p);
    return found;
  }

  const model::Room& room_;
  const RoomTables& tables_;
  const rows::Table& rows_;
  lw_table table_{};
  Graph graph_;
  std::vector<std::size_t> raws_;  // by input
};

int run(const std::string& path, std::uint64_t steps, bool losses) {
  std::ifstream file(path);
  std::ostringstream text;
  text << file.rdbuf();
  const auto compiled = oracle::compile_text(text.str());
  if (!compiled->tables) throw std::runtime_error(compiled->first_error());
  if (compiled->room->controllers.size() != 1) throw std::runtime_error("several controllers");
  Freedom freedom;
  freedom.losses = losses;
  Judge(*compiled, freedom, steps).print();
  return 0;
}

}  // namespace
}  // namespace lw::naive

int main(int argc, char** argv) {
  std::string path;
  std::uint64_t steps = 200'000;
  bool losses = false;
  for (int n = 1; n < argc; ++n) {
    const std::string option = argv[n];
    if (option == "--steps" && n + 1 < argc)
      steps = std::strtoull(argv[++n], nullptr, 10);
    else if (option == "--losses")
      losses = true;
    else
      path = option;
  }
  try {
    return lw::naive::run(path, steps, losses);
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "lw_naive_findings: %s\n", fault.what());
    return 2;
  }
}
