// The order of resolving: see resolve.hpp and workspace.hpp.
#include "model/resolve.hpp"

#include <algorithm>

#include "model/workspace.hpp"

namespace lw {

std::optional<model::Room> resolve(const SourceSet& sources, const ast::Program& program, Findings& findings,
                                   std::vector<model::Accept>* accepts) {
  using namespace model;
  if (program.files.empty()) return std::nullopt;
  Workspace work(sources, program, findings);

  declare_room(work);
  resolve_hardware(work);
  resolve_devices(work);
  resolve_session(work);
  const std::size_t props = work.props.size();
  declare_props(work);
  for (PropWork& prop : work.props) {
    if (prop.parts != nullptr) resolve_values(work, prop);
  }
  for (const ast::File& file : program.files) {
    for (const ast::Statement& statement : file.statements) {
      take_accepts(work, statement.accepts, statement.span);
    }
  }
  for (std::size_t i = 0; i < work.lets.size(); ++i) {
    let_done(work, {NameKind::let, static_cast<std::uint16_t>(i), work.lets[i].span, false, {}});
  }
  for (PropWork& prop : work.props) {
    if (prop.parts == nullptr) continue;
    resolve_sequences(work, prop);
    resolve_bodies(work, prop);
  }
  resolve_start_and_finish(work);
  resolve_chains(work);
  for (const ast::File& file : program.files) {
    for (const ast::Statement& statement : file.statements) {
      if (const auto* promise = std::get_if<ast::Promise>(&statement.form)) {
        resolve_promise(work, *promise, statement.span);
      } else if (const auto* rehearsal = std::get_if<ast::Rehearsal>(&statement.form)) {
        resolve_rehearsal(work, *rehearsal, statement.span);
      }
    }
  }
  work.room.props.resize(props);  // designs without a use were checked, and are no part of the room

  const bool whole = std::all_of(program.files.begin(), program.files.end(),
                                 [](const ast::File& file) { return file.whole; });
  if (accepts != nullptr) *accepts = work.room.accepts;
  if (work.report.failed() || !whole || !program.complete) return std::nullopt;
  list_unused(work);
  return std::move(work.room);
}

}  // namespace lw
