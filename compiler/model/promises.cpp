// Promises: what must hold in every playthrough, as conditions of the whole room.
//
// They are judged in visible states of all controllers at once, so nothing here asks which controller works
// them out. Tests: tests/unit/model/room_test.cpp.
#include "model/workspace.hpp"

namespace lw::model {

void resolve_promise(Workspace& work, const ast::Promise& written, Span span) {
  Promise promise;
  promise.span = span;
  promise.title = written.title.value();
  const auto take = [&work](const ast::Cond& cond, Cond& into, EdgesHere edges) {
    if (auto reading = read_for(work, {}, cond, std::nullopt, edges)) into = std::move(reading->cond);
  };
  if (const auto* never = std::get_if<ast::Never>(&written.form)) {
    promise.kind = PromiseKind::never;
    take(never->cond, promise.condition, {false, "under `never`"});
  } else if (const auto* reach = std::get_if<ast::CanReach>(&written.form)) {
    promise.kind = PromiseKind::can_always_reach;
    take(reach->cond, promise.condition, {false, "in `can always reach`"});
  } else if (const auto* before = std::get_if<ast::NotBefore>(&written.form)) {
    promise.kind = PromiseKind::finish_not_before;
    if (const auto time = duration(work, {}, before->time)) promise.time_ms = *time;
  } else if (const auto* then = std::get_if<ast::ThenWithin>(&written.form)) {
    promise.kind = PromiseKind::then_within;
    take(then->first, promise.condition, {true, ""});
    take(then->then, promise.answer, {true, ""});
    if (const auto time = duration(work, {}, then->time)) promise.time_ms = *time;
  } else {
    return;
  }
  work.room.promises.push_back(std::move(promise));
}

}  // namespace lw::model
