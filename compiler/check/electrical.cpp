// Electrical: what can be said of currents and wires from the text alone. A figure that is not given is "not
// decided", never 0. What a supply must give at worst is the explorer's to decide
// (judge_supplies.cpp).
//
// Source of the copper figure: 1/58 ohm mm2/m at 20 °C (IACS, IEC 60028, via reference pages). That a drop of
// over a tenth is too much is common practice, no source. Tests: tests/cases/electrical.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "check/check.hpp"
#include "text/quantity.hpp"

namespace lw {
namespace {

constexpr double kCopperOhmMm2PerM = 1.0 / 58.0;
constexpr double kMostDrop = 0.1;  // of the supply; common practice, no source

std::string current(std::int64_t ua) { return format_quantity({ua, Dimension::current}); }

/// Volts lost on the way there and back.
double drop_v(const model::WireRun& run, std::int64_t ua) {
  const double metres = static_cast<double>(run.length_um) * 1e-6;
  const double mm2 = static_cast<double>(run.area) * 1e-6;  // from square micrometres
  return 2.0 * metres * kCopperOhmMm2PerM / mm2 * static_cast<double>(ua) * 1e-6;
}

void drop(const model::WireRun& run, std::int64_t ua, std::int64_t supply_uv, const std::string& where,
          Findings& findings) {
  const double supply_v = static_cast<double>(supply_uv) * 1e-6;
  const double lost_v = drop_v(run, ua);
  if (lost_v <= kMostDrop * supply_v) return;
  Finding finding =
      finding_of(Code::voltage_drop, run.span, fmt::format("the wire to {} loses too much voltage", where));
  finding.note = fmt::format("{:.1f} V of {:.1f} V", lost_v, supply_v);
  finding.reason = fmt::format(
      "At {} this run of copper loses {:.2f} V there and back, {:.0f} % of the supply (1/58 Ω mm²/m at 20 "
      "°C; over 10 % is "
      "too much by common practice).",
      current(ua), lost_v, 100 * lost_v / supply_v);
  finding.remedies.push_back(fmt::format(
      "use a thicker wire, {:.2f} mm2 or more, or a shorter run.",
      std::ceil(static_cast<double>(run.area) * 1e-6 * lost_v / (kMostDrop * supply_v) * 100) / 100));
  findings.push_back(std::move(finding));
}

const model::TerminalGroup* group_of(const model::Board& board, const model::Output& output) {
  for (const model::TerminalGroup& group : board.terminals)
    if (group.kind == model::TerminalKind::output)
      for (const std::string& name : group.names)
        if (name == output.terminal) return &group;
  return nullptr;
}

}  // namespace

void check_electrical(const Subject& subject, Findings& findings) {
  const model::Room& room = subject.room;
  for (const model::Output& output : room.outputs) {
    if (output.kind == model::OutputKind::voice) continue;
    const model::Controller& controller = room.controllers[model::index(output.controller)];
    const model::Board& board = room.boards[model::index(controller.board)];
    if (!output.draws_ua) {
      Finding finding = finding_of(Code::load_undecided, output.span,
                                   fmt::format("how much `{}` draws is not given", output.name));
      finding.reason = fmt::format("Whether terminal {} and the supply of `{}` can carry it is not decided.",
                                   output.terminal, controller.name);
      finding.remedies.push_back("write `draws`, from the device's label or a measurement.");
      findings.push_back(std::move(finding));
      continue;
    }
    // What needs power to let go is seldom built to be powered for good. An `exit` lock of that kind is
    // refused anyway.
    if (output.kind == model::OutputKind::lock && !output.fail_safe && !output.exit && !output.longest_ms) {
      Finding finding = finding_of(Code::load_undecided, output.span,
                                   fmt::format("how long `{}` may be powered is not given", output.name));
      finding.reason =
          "A fail-secure lock is powered as long as it is released; whether its coil bears that is "
          "not decided.";
      finding.remedies.push_back("write `longest`, from the device's label or its data sheet.");
      findings.push_back(std::move(finding));
    }
    const model::TerminalGroup* const group = group_of(board, output);
    if (group && group->limit_ua && *output.draws_ua > *group->limit_ua) {
      Finding finding = finding_of(Code::over_contact, output.span,
                                   fmt::format("`{}` draws more than its terminal may carry", output.name));
      finding.note = current(*output.draws_ua);
      finding.places.push_back(lw::Place{group->span, "up to " + current(*group->limit_ua), false});
      finding.reason = fmt::format("Terminal {} of board `{}` carries up to {}.", output.terminal, board.name,
                                   current(*group->limit_ua));
      finding.remedies.push_back("switch it through a relay of its own that the terminal drives.");
      findings.push_back(std::move(finding));
    }
    if (output.run && controller.supply_uv)
      drop(*output.run, *output.draws_ua, *controller.supply_uv, fmt::format("`{}`", output.name), findings);
  }
  for (const model::Controller& controller : room.controllers) {
    const bool drives =
        std::any_of(room.outputs.begin(), room.outputs.end(), [&](const model::Output& output) {
          return output.kind != model::OutputKind::voice &&
                 &room.controllers[model::index(output.controller)] == &controller;
        });
    if (drives && (!controller.supply_uv || !controller.supply_ua)) {
      Finding finding = finding_of(Code::load_undecided, controller.span,
                                   fmt::format("the supply of `{}` is not given", controller.name));
      finding.reason = "Whether it can carry what the controller drives is not decided.";
      finding.remedies.push_back("write `supply`, its voltage and `up to` its current.");
      findings.push_back(std::move(finding));
    }
    if (controller.run && controller.supply_uv && controller.supply_ua)
      drop(*controller.run, *controller.supply_ua, *controller.supply_uv,
           fmt::format("board `{}`", controller.name), findings);
  }
}

}  // namespace lw
