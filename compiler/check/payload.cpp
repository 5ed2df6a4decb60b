// Payload: clips that are not there, cannot be read as sound, or are of a kind that a board cannot play.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "check/check.hpp"

namespace lw {
namespace {

/// Boards that some voice plays the clip on, each once, in the order of the file.
std::set<std::size_t> boards_playing(const model::Room& room, model::ClipId clip) {
  std::set<std::size_t> boards;
  const auto add = [&](model::OutputId output) {
    const auto controller = room.outputs[model::index(output)].controller;
    boards.insert(model::index(room.controllers[model::index(controller)].board));
  };
  const auto actions = [&](const std::vector<model::Action>& list) {
    for (const model::Action& action : list) {
      if (action.kind == model::ActionKind::play && action.clip == clip) add(action.output);
      if (action.kind == model::ActionKind::keep && action.level.kind == model::LevelKind::playing &&
          action.level.clip == clip)
        add(action.output);
    }
  };
  for (const model::Prop& prop : room.props)
    for (const model::Body& body : prop.bodies) {
      for (const model::Rule& rule : body.rules) actions(rule.actions);
      actions(body.enter);
      actions(body.leave);
      for (const model::Keep& keep : body.keeps)
        if (keep.level.kind == model::LevelKind::playing && keep.level.clip == clip) add(keep.output);
    }
  return boards;
}

std::string kinds_of(const model::Board& board) {
  if (board.sounds.empty()) return "wav";
  std::string all;
  for (const std::string& kind : board.sounds) all += (all.empty() ? "" : ", ") + kind;
  return all;
}

}  // namespace

void check_payload(const Subject& subject, Findings& findings) {
  const model::Room& room = subject.room;
  for (std::size_t n = 0; n < room.clips.size(); ++n) {
    const model::Clip& clip = room.clips[n];
    const ClipFile& file = subject.clips[n];
    if (!file.info) {
      const bool missing = file.error.fault == sound::ClipFault::missing;
      Finding finding = finding_of(missing ? Code::clip_missing : Code::clip_unreadable, clip.path_span, "");
      finding.message = missing
                            ? fmt::format("the sound file of clip `{}` is not there", clip.name)
                            : fmt::format("the sound file of clip `{}` cannot be read as sound", clip.name);
      finding.reason = missing ? fmt::format("`{}` is looked for from the folder of `{}`.", clip.path,
                                             subject.sources.name(clip.span.file))
                               : fmt::format("`{}` {}.", clip.path, file.error.reason);
      finding.remedies.push_back(
          missing ? std::string(
                        "put the file there, or write the path as it is; capital and small letters count.")
                  : std::string("save it again as a sound file, such as 16-bit PCM in a .wav."));
      findings.push_back(std::move(finding));
      continue;
    }
    for (const std::size_t b : boards_playing(room, static_cast<model::ClipId>(n))) {
      const model::Board& board = room.boards[b];
      const auto plays = [&](const std::string& kind) { return kind == file.info->kind; };
      const bool can =
          board.sounds.empty() ? plays("wav") : std::any_of(board.sounds.begin(), board.sounds.end(), plays);
      if (can) continue;
      Finding unplayable = finding_of(Code::clip_kind, clip.path_span, "");
      unplayable.message = fmt::format("board `{}` cannot play clip `{}`", board.name, clip.name);
      unplayable.note = fmt::format("of kind {}", file.info->kind);
      unplayable.reason =
          fmt::format("The file is of kind {}; the board plays {}.", file.info->kind, kinds_of(board));
      unplayable.remedies.push_back(
          fmt::format("convert the file to {}, or add `sounds \"{}\"` to the board if it can.",
                      board.sounds.empty() ? "wav" : board.sounds.front(), file.info->kind));
      unplayable.places.push_back(Place{board.span, "", false});
      findings.push_back(std::move(unplayable));
    }
  }
}

}  // namespace lw
