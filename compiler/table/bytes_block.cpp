// How large a table's state block is, by the arithmetic of docs/table.md "State block"; lw_load works out the
// same for itself. Tests: tests/unit/table/differential_test.cpp holds the two equal.
#include "table/bytes.hpp"

namespace lw {
namespace {

constexpr std::uint32_t kFixed = 15;
constexpr std::uint32_t kBinaryDetails = 5, kKeypadDetails = 7, kScaleDetails = 15;
constexpr std::uint32_t kVoice = 7, kDrive = 6, kPeer = 3, kAsk = 3;

std::uint32_t rows_of(std::size_t count, std::uint32_t bytes = 1) {
  return static_cast<std::uint32_t>(count) * bytes;
}
std::uint32_t bits(std::size_t count) { return static_cast<std::uint32_t>((count + 7) / 8); }

}  // namespace

std::vector<BlockPart> block_parts(const rows::Table& table) {
  std::uint32_t details = 0;
  for (const rows::Input& input : table.inputs) {
    const bool scale = input.kind == rows::InputKind::scale || input.kind == rows::InputKind::gauge;
    const bool keypad = input.kind == rows::InputKind::keypad;
    details += scale ? kScaleDetails : keypad ? kKeypadDetails + input.longest : kBinaryDetails;
  }
  std::size_t voices = 0;
  for (const rows::Output& output : table.outputs) voices += output.voice;
  std::uint32_t peers = 0;
  for (const rows::Peer& peer : table.link.peers)
    peers += kPeer + bits(std::size_t{peer.input_bits} + peer.state_bits + peer.solved_bits);
  std::size_t facts = 1 + table.facts.size() + table.derived.size();
  for (const rows::Sequence& sequence : table.sequences) facts += sequence.facts.size();
  const rows::Link& link = table.link;
  return {{"session, epoch and clock", kFixed, false},
          {"input values", rows_of(table.inputs.size()), false},
          {"input status", rows_of(table.inputs.size()), false},
          {"input conditioning", details, false},
          {"output levels", rows_of(table.outputs.size()), false},
          {"blink phases", rows_of(table.outputs.size(), 2), false},
          {"voices", rows_of(voices, kVoice), false},
          {"drives", rows_of(table.drives.size(), kDrive), false},
          {"tails", rows_of(table.tails.size()), false},
          {"states of props", rows_of(table.props.size()), false},
          {"solved props", rows_of(table.props.size()), false},
          {"other controllers", peers, false},
          {"own bits", bits(std::size_t{link.input_bits} + link.state_bits + link.solved_bits), false},
          {"arena", table.arena, false},
          {"facts", bits(facts), true},
          {"flags of inputs", rows_of(table.inputs.size()), true},
          {"flags of other controllers", rows_of(link.peers.size()), true},
          {"what outputs are asked for", rows_of(table.outputs.size(), kAsk), true},
          {"flags of voices", rows_of(voices), true},
          {"cues", bits(link.cues), true}};
}

std::uint32_t block_size(const std::vector<BlockPart>& parts) {
  std::uint32_t size = 0;
  for (const BlockPart& part : parts) size += part.bytes;
  return size;
}

}  // namespace lw
