// The nearest known name, and words for kinds: see names.hpp.
#include "model/names.hpp"

#include "text/nearest.hpp"

namespace lw::model {

std::string nearest_name(std::string_view word, const std::vector<std::string>& known) {
  return std::string(nearest(word, {known.begin(), known.end()}));
}

std::string quoted(std::string_view word) {
  std::string text = "`";
  text += word;
  text += '`';
  return text;
}

std::string list_of(const std::vector<std::string>& words, const char* last_joint) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? std::string(" ") + last_joint + " " : std::string(", ");
    text += quoted(words[i]);
  }
  return text;
}

const char* kind_phrase(InputKind kind) {
  switch (kind) {
    case InputKind::scale:
      return "a scale";
    case InputKind::gauge:
      return "a gauge";
    case InputKind::contact:
      return "a contact";
    case InputKind::button:
      return "a button";
    case InputKind::operator_button:
      return "an operator's button";
    case InputKind::reader:
      return "a reader";
    case InputKind::keypad:
      return "a keypad";
    case InputKind::signal:
      return "a signal";
  }
  return "";
}

const char* kind_phrase(OutputKind kind) {
  switch (kind) {
    case OutputKind::lamp:
      return "a lamp";
    case OutputKind::relay:
      return "a relay";
    case OutputKind::motor:
      return "a motor";
    case OutputKind::lock:
      return "a lock";
    case OutputKind::voice:
      return "a voice";
  }
  return "";
}

}  // namespace lw::model
