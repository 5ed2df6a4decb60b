// Windows: from a range of quantities, of things, or of other windows' ends to whole divisions of the scale.
//
// A window next to another takes its end from that one's divisions, never from its quantities, so that `below
// fair`, `fair` and `above fair` share the line without a gap or an overlap. Tests:
// tests/unit/model/windows_test.cpp.
#include <limits>

#include "model/divisions.hpp"
#include "model/workspace.hpp"

namespace lw::model {
namespace {

struct Making {
  Workspace& work;
  PropWork& prop;
  const ast::Window& written;
  Where where;
  Window& window;
  const Input& input;
  Ruler ruler;
};

std::optional<std::int64_t> narrow(Making& m, Wide value) {
  constexpr Wide kMost = std::numeric_limits<std::int64_t>::max() / 2;
  if (value <= kMost && value >= -kMost) return static_cast<std::int64_t>(value);
  m.work.report.say(Code::overflow, m.written.range.span, "a quantity larger than can be counted",
                    "The sum is more than Latchwork can count exactly.",
                    {"write a smaller sum or tolerance."});
  return std::nullopt;
}

/// An end that a window takes from an edge: the quantity, or the divisions of another window.
struct End {
  std::optional<std::int64_t> quantity;
  const Window* window = nullptr;
  bool empty = false;
};

std::optional<End> read_edge(Making& m, const ast::Edge& edge) {
  if (const auto* quantity = std::get_if<ast::Quantity>(&edge.value)) {
    const auto value = amount(m.work, *quantity, m.input.dimension, Sign::any);
    if (!value) return std::nullopt;
    return End{value, nullptr, false};
  }
  const auto* name = std::get_if<ast::Name>(&edge.value);
  if (name == nullptr) {
    if (edge.span.begin == edge.span.end) return std::nullopt;  // could not be read
    if (m.input.kind == InputKind::scale) {
      if (m.input.empty_below == 0) return std::nullopt;
      return End{std::nullopt, nullptr, true};
    }
    m.work.report.say(Code::wrong_kind, edge.span,
                      "only a scale is `empty`, and " + quoted(m.input.name) + " is a gauge", "",
                      {"write a quantity."});
    return std::nullopt;
  }
  const Symbol* symbol = named(m.work, m.where, *name, "a window or a quantity", [](const Symbol& s) {
    return s.kind == NameKind::window || s.kind == NameKind::let;
  });
  if (symbol == nullptr) return std::nullopt;
  if (symbol->kind == NameKind::let) {
    const auto value = amount(m.work, m.where, ast::Value(*name), m.input.dimension, Sign::any);
    if (!value) return std::nullopt;
    return End{value, nullptr, false};
  }
  const auto id = static_cast<WindowId>(symbol->index);
  if (!window_done(m.work, m.prop, id)) return std::nullopt;
  const Window& other = m.work.room.props[index(m.prop.id)].windows[index(id)];
  m.window.follows = true;
  if (other.input != m.window.input) {
    m.work.report.say(
        Code::wrong_kind, name->span,
        quoted(name->text) + " is a window on " + quoted(m.work.room.inputs[index(other.input)].name) +
            ", and this one is on " + quoted(m.input.name),
        "A window takes its ends from windows of the same device.",
        {"name a window on " + quoted(m.input.name) + ", or write quantities."}, {{other.span, "", true}});
    return std::nullopt;
  }
  const bool over_seam = other.low && other.high && *other.low > *other.high && !other.is_empty;
  if (over_seam) {
    m.work.report.say(Code::wrong_kind, name->span,
                      "nothing lies beside " + quoted(name->text) + ", which goes through zero",
                      "On a circle there is no above and no below.", {"write this window with quantities."},
                      {{other.range_span, "", true}});
    return std::nullopt;
  }
  return End{std::nullopt, &other, false};
}

/// The first division above the end, or the last below it.
std::optional<Wide> beside(Making& m, const End& end, const ast::Edge& edge, bool above) {
  if (end.quantity) return above ? m.ruler.first_above(*end.quantity) : m.ruler.last_below(*end.quantity);
  if (end.empty && above) return m.ruler.first_from(m.input.empty_below);
  const std::optional<std::int64_t> limit = end.empty ? std::nullopt
                                            : above   ? end.window->high
                                                      : end.window->low;
  if (!limit) {
    std::vector<Place> places;
    if (end.window != nullptr) places.push_back({end.window->range_span, "", true});
    m.work.report.say(
        Code::empty_range, edge.span,
        std::string("nothing lies ") + (above ? "above " : "below ") + quoted(m.work.text(edge.span)),
        std::string("It has no ") + (above ? "high" : "low") + " end.",
        {"name a window that has one, or write a quantity."}, places);
    return std::nullopt;
  }
  return above ? static_cast<Wide>(*limit) + 1 : static_cast<Wide>(*limit) - 1;
}

/// Sum of the addends in base units, which go into `target`.
std::optional<Wide> read_sum(Making& m, const std::vector<ast::Addend>& sum, std::vector<Addend>& target) {
  Wide total = 0;
  bool good = !sum.empty();
  for (const ast::Addend& written : sum) {
    Addend addend;
    addend.count = written.count;
    constexpr std::int64_t kMostThings = 1'000'000;
    if (written.count < 1 || written.count > kMostThings) {
      m.work.report.say(Code::out_of_range, written.span, "a sum counts 1 to 1000000 of a thing", "",
                        {"write how many of it the window asks for."});
      good = false;
      continue;
    }
    const auto* name = std::get_if<ast::Name>(&written.value);
    const Symbol* symbol = nullptr;
    if (name != nullptr) {
      symbol = named(m.work, m.where, *name, "a thing or a quantity",
                     [](const Symbol& s) { return s.kind == NameKind::thing || s.kind == NameKind::let; });
      if (symbol == nullptr) good = false;
    }
    if (symbol != nullptr && symbol->kind == NameKind::thing) {
      const Thing& thing = m.work.room.things[symbol->index];
      if (m.input.dimension != Dimension::mass) {
        m.work.report.say(Code::wrong_kind, name->span,
                          "a thing lies on a scale, and " + quoted(m.input.name) + " is a gauge", "",
                          {"write the value that the gauge shows, such as `90 deg ± 2 deg`."});
        good = false;
      } else if (!thing.mass_pg) {
        if (thing.tag) {
          m.work.report.say(Code::wrong_kind, name->span, quoted(name->text) + " has no mass",
                            "A window on a scale is a range of masses.",
                            {"give the thing a mass after its name."}, {{thing.span, "", true}});
        }
        good = false;
      } else {
        addend.thing = static_cast<ThingId>(symbol->index);
        addend.value = *thing.mass_pg;
      }
    } else if (name == nullptr || symbol != nullptr) {
      const auto value = amount(m.work, m.where, written.value, m.input.dimension, Sign::any);
      if (!value)
        good = false;
      else
        addend.value = *value;
    }
    total += static_cast<Wide>(addend.count) * addend.value;
    target.push_back(addend);
  }
  if (!good || !narrow(m, total)) return std::nullopt;
  return total;
}

bool finish(Making& m, Wide low, Wide high, bool over_seam) {
  const Wide circle = m.input.wraps ? (static_cast<Wide>(m.input.to) - m.input.from) / m.input.division : 0;
  m.window.is_empty = low > high && !over_seam;
  if (circle > 0 && !m.window.is_empty) {
    if (!over_seam && high - low + 1 >= circle) {
      low = 0;
      high = circle - 1;
    } else {
      low = modulo(low, circle);
      high = modulo(high, circle);
    }
  }
  m.window.low = narrow(m, low);
  m.window.high = narrow(m, high);
  return m.window.low && m.window.high;
}

bool report_crossed(Making& m) {
  m.work.report.say(Code::empty_range, m.written.range.span,
                    "the low end of the window lies above its high end", "",
                    {m.input.kind == InputKind::gauge
                         ? "write the lower end first; only a gauge that `wraps` has ranges through its zero."
                         : "write the lower end first."});
  return false;
}

bool make_between(Making& m) {
  const ast::Range& range = m.written.range;
  const auto low_end = read_edge(m, range.low);
  const auto high_end = read_edge(m, range.high);
  if (!low_end || !high_end) return false;
  const auto low = beside(m, *low_end, range.low, true);
  const auto high = beside(m, *high_end, range.high, false);
  if (!low || !high) return false;
  const bool crossed =
      low_end->quantity && high_end->quantity ? *low_end->quantity > *high_end->quantity : *low > *high + 1;
  if (crossed && !m.input.wraps) return report_crossed(m);
  return finish(m, *low, *high, crossed);
}

bool make_around(Making& m) {
  const ast::Range& range = m.written.range;
  std::vector<Addend> target;
  const auto sum = read_sum(m, range.sum, target);
  if (range.kind == ast::Range::Kind::to) {
    if (!range.quantity) return false;
    const auto end = amount(m.work, *range.quantity, m.input.dimension, Sign::any);
    if (!sum || !end) return false;
    const bool crossed = *sum > *end;
    if (crossed && !m.input.wraps) return report_crossed(m);
    return finish(m, m.ruler.first_from(*sum), m.ruler.last_to(*end), crossed);
  }
  std::optional<Wide> tolerance;
  if (range.kind == ast::Range::Kind::percent) {
    if (range.of_target && sum) tolerance = share_of(*sum, range.of_target->millionths);
  } else if (range.quantity) {
    if (const auto given = amount(m.work, *range.quantity, m.input.dimension, Sign::not_negative))
      tolerance = *given;
  }
  if (!sum || !tolerance) return false;
  const auto narrowed = narrow(m, *tolerance);
  if (!narrowed) return false;
  m.window.target = std::move(target);
  m.window.tolerance = *narrowed;
  return finish(m, m.ruler.first_from(*sum - *tolerance), m.ruler.last_to(*sum + *tolerance), false);
}

bool make(Making& m) {
  const ast::Range& range = m.written.range;
  switch (range.kind) {
    case ast::Range::Kind::above: {
      const auto end = read_edge(m, range.low);
      const auto low = end ? beside(m, *end, range.low, true) : std::nullopt;
      if (low) m.window.low = narrow(m, *low);
      return m.window.low.has_value();
    }
    case ast::Range::Kind::below: {
      const auto end = read_edge(m, range.high);
      const auto high = end ? beside(m, *end, range.high, false) : std::nullopt;
      if (high) m.window.high = narrow(m, *high);
      return m.window.high.has_value();
    }
    case ast::Range::Kind::between:
      return make_between(m);
    case ast::Range::Kind::tolerance:
    case ast::Range::Kind::percent:
    case ast::Range::Kind::to:
      return make_around(m);
  }
  return false;
}

bool work_out(Workspace& work, PropWork& prop, WindowWork& state, Window& window) {
  const ast::Window& written = *state.written;
  const Where where{&prop, state.body};
  const auto input =
      input_named(work, where, written.input, "a scale or a gauge", {InputKind::scale, InputKind::gauge});
  if (!input) return false;
  window.input = *input;
  const Input& row = work.room.inputs[index(*input)];
  if (row.division == 0) return false;
  Making m{work, prop, written, where, window, row, {row.from, row.division}};
  return make(m);
}

}  // namespace

bool window_done(Workspace& work, PropWork& prop, WindowId id) {
  WindowWork& state = prop.windows[index(id)];
  Window& window = work.room.props[index(prop.id)].windows[index(id)];
  if (state.stage == Stage::open) {
    const Ring ring = ring_to(work, window.span);
    work.report.say(
        Code::ring, window.span, "the window " + quoted(window.name) + " is bounded by itself",
        "Windows that take their ends from each other need one that has quantities: " + ring.way + ".",
        {"write one of them with quantities."}, ring.places);
    state.stage = Stage::failed;
  } else if (state.stage == Stage::fresh) {
    if (!may_go_deeper(work, window.span)) {
      state.stage = Stage::failed;
    } else {
      state.stage = Stage::open;
      ++work.depth;
      work.opened.push_back(window.span);
      const Reporter::Within within(work.report, prop.used_at);
      const bool good = work_out(work, prop, state, window);
      work.opened.pop_back();
      --work.depth;
      state.stage = good && state.stage == Stage::open ? Stage::done : Stage::failed;
    }
  }
  return state.stage == Stage::done;
}

}  // namespace lw::model
