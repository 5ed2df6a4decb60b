// Links and the bits that cross them. See lower_link.hpp; tests: tests/unit/lower/link_test.cpp.
#include "table/lower_link.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <set>

#include "table/lower_meaning.hpp"

namespace lw::lowering {
namespace {

using model::FactKind;
using model::index;

/// Which part of the message: 9.3 treats the three differently when the sender is lost.
std::size_t part_of(rows::FactKind kind) {
  switch (kind) {
    case rows::FactKind::input_in:
    case rows::FactKind::input_lost:
    case rows::FactKind::input_moving:
      return 0;
    case rows::FactKind::prop_solved:
      return 2;
    default:
      return 1;
  }
}

class Linking {
 public:
  Linking(const Plan& plan, Report& report)
      : plan_(plan), report_(report), crossing_(plan.controllers.size()) {}

  Links run();

 private:
  void find_hearers();
  void read(std::size_t reader, const model::Fact& fact, Span span);
  void read_solved(std::size_t reader, Span span);
  bool hears(std::size_t reader, std::size_t owner, Span span, const std::string& what);
  const std::string& name(std::size_t controller) const { return plan_.room.controllers[controller].name; }

  const Plan& plan_;
  Report& report_;
  Links links_;
  std::set<std::pair<std::size_t, std::size_t>> deaf_;          // reader and owner that share no link
  std::vector<std::array<std::map<RawKey, Bit>, 3>> crossing_;  // by sender
};

void Linking::find_hearers() {
  const std::size_t controllers = plan_.controllers.size();
  links_.heard.resize(controllers);
  for (std::size_t hearer = 0; hearer < controllers; ++hearer) {
    for (std::size_t sender = 0; sender < controllers; ++sender) {
      if (sender == hearer) continue;
      std::optional<Hearing> found;
      for (const model::Link& link : plan_.room.links) {
        const auto joins = [&](std::size_t c) {
          return std::find(link.joins.begin(), link.joins.end(), model::ControllerId(c)) != link.joins.end();
        };
        if (joins(hearer) && joins(sender) && (!found || link.lost_after_ms < found->lost_after_ms))
          found = Hearing{sender, link.lost_after_ms, link.span};
      }
      if (found) links_.heard[hearer].push_back(*found);
    }
    const model::Controller& controller = plan_.room.controllers[hearer];
    report_.over_limit(links_.heard[hearer].size(), LW_MAX_peers, controller.span,
                       fmt::format("`{}`", controller.name), "other controllers on its links",
                       "let fewer controllers share a link.");
    if (hearer != 0 && !links_.peer(hearer, 0))
      report_.error(
          Code::no_link, controller.span,
          fmt::format("`{}` shares no link with `{}`", controller.name, name(0)),
          fmt::format("`{}` is written first, so it keeps the session; `{}` would never hear that it starts.",
                      name(0), controller.name),
          fmt::format("name both in a link: `link NAME joins {}, {} {{ delay up to 200 ms }}`.", name(0),
                      controller.name));
  }
}

bool Linking::hears(std::size_t reader, std::size_t owner, Span span, const std::string& what) {
  if (links_.peer(reader, owner)) return true;
  // Once for two controllers; that one does not hear the first was said where the session cannot reach it.
  const bool said = reader == 0 || owner == 0 || !deaf_.emplace(reader, owner).second;
  if (said) return false;
  report_.error(
      Code::no_link, span,
      fmt::format("`{}` cannot know {}: it shares no link with `{}`", name(reader), what, name(owner)),
      "What another controller knows crosses a link that joins the two.",
      fmt::format("name `{}` and `{}` in one link, or move the prop.", name(reader), name(owner)));
  return false;
}

void Linking::read_solved(std::size_t reader, Span span) {
  for (const model::PropId id : plan_.room.finish) {
    model::Fact solved;
    solved.kind = FactKind::prop_solved;
    solved.prop = id;
    read(reader, solved, span);
  }
}

void Linking::read(std::size_t reader, const model::Fact& fact, Span span) {
  if (fact.kind == FactKind::finish) return read_solved(reader, span);
  const std::string what = fmt::format("`{}`", words(plan_.room, fact, true));
  if (fact.kind == FactKind::controller_lost) {
    if (index(fact.controller) != reader) hears(reader, index(fact.controller), span, what);
    return;
  }
  const Meaning m = meaning(plan_, fact, span, reader);
  if (m.kind == Meaning::Kind::constant || m.owner == reader) return;
  assert(is_level(m));  // resolving refuses another controller's edges
  if (!hears(reader, m.owner, span, what)) return;
  for (std::size_t n = 0; n < m.any.size(); ++n) {
    Words called{words(plan_.room, fact, false), words(plan_.room, fact, true), span};
    crossing_[m.owner][part_of(m.any[n].kind)].try_emplace(key_of(m.any[n]), Bit{m.any[n], called});
  }
}

Links Linking::run() {
  find_hearers();
  each_table_condition(plan_.room, [&](std::size_t reader, const model::Cond& cond) {
    model::each_fact(cond, [&](const model::Fact& fact, Span span) { read(reader, fact, span); });
  });
  if (!plan_.controllers.empty()) read_solved(0, plan_.room.span);
  for (std::size_t c = 0; c < plan_.controllers.size(); ++c) {
    links_.bits.emplace_back();
    links_.counts.emplace_back();
    for (std::size_t part = 0; part < 3; ++part) {
      links_.counts[c][part] = crossing_[c][part].size();
      for (const auto& [key, bit] : crossing_[c][part]) links_.bits[c].push_back(bit);
    }
    report_.over_limit(links_.bits[c].size(), LW_MAX_bits, plan_.room.controllers[c].span,
                       fmt::format("`{}`", name(c)), "facts that other controllers read",
                       "let a prop there gather them into a state, and read that state.");
  }
  return std::move(links_);
}

}  // namespace

std::optional<std::uint8_t> Links::peer(std::size_t hearer, std::size_t sender) const {
  const std::vector<Hearing>& all = heard[hearer];
  for (std::size_t n = 0; n < all.size(); ++n)
    if (all[n].controller == sender) return static_cast<std::uint8_t>(n);
  return std::nullopt;
}

std::uint8_t Links::bit(std::size_t sender, const rows::RawFact& fact) const {
  const auto& all = bits[sender];
  const auto at =
      std::find_if(all.begin(), all.end(), [&](const Bit& b) { return key_of(b.fact) == key_of(fact); });
  assert(at != all.end());
  return static_cast<std::uint8_t>(at - all.begin());
}

Links make_links(const Plan& plan, Report& report) { return Linking(plan, report).run(); }

}  // namespace lw::lowering
