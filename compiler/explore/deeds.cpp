// See deeds.hpp.
#include "explore/deeds.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>
#include <numeric>

#include "explore/hand.hpp"
#include "play/words.hpp"
#include "play/world.hpp"

namespace lw {

using model::Deed;
using model::DeedKind;
using model::index;
using model::InputId;

namespace {

using Kind = Happening::Kind;

constexpr std::int64_t kUsualPress_ms = 200;  // docs/language.md, "Defaults"

/// What becomes of one input.
struct Change {
  enum class What : std::uint8_t { value, keys, lost, stir };
  What what{};
  InputId input{};
  std::int64_t raw_ms = 0;  // from when on it must be seen
  bool found = false;       // its device answers again with it
  std::uint8_t value = 0;
  std::string keys;
  std::int64_t hold_ms = 0;  // of a button: how long it is down
};

/// An input as its controller conditions it.
struct Device {
  InputId input{};
  const rows::Input* row = nullptr;
  std::int64_t scan_ms = 0;
  std::int64_t steady_ms = 0;   // N scans
  std::int64_t silence_ms = 0;  // from its first silent scan to the one in which it is lost
  std::vector<const Happening*> happenings;

  bool is(rows::InputKind kind) const { return row->kind == kind; }
  /// From the first key's press to the last one's, a key being down and up for as long as it takes (10.5).
  std::int64_t typing_ms(const std::string& keys) const {
    return 2 * (steady_ms + scan_ms) * static_cast<std::int64_t>(keys.size() - 1);
  }
};

/// The keys that a happening of a keypad says were typed; empty when it says no more than that none is down.
std::string typed(const Happening& happening) {
  if (!happening.keys.empty() || happening.value == 0) return happening.keys;
  return std::string(1, static_cast<char>(happening.value));
}

bool same_kind(const Happening& a, const Happening& b) {
  return a.at_ms == b.at_ms && a.kind == b.kind && a.value == b.value && a.keys == b.keys;
}

class Scripting {
 public:
  Scripting(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
            Messages messages)
      : room_(room), tables_(tables), playthrough_(playthrough), messages_(messages) {}

  Scripted done();
  std::int64_t hurry_ms(std::int64_t start_ms);

 private:
  std::vector<Device> devices();
  std::int64_t grid_ms() const;
  std::int64_t known_ms(const Device& device) const;
  std::int64_t needed_ms(const Device& device) const;
  std::int64_t delay_ms(model::LinkId link, std::int64_t at_ms) const;
  std::int64_t delay_ms(const Device& device, std::int64_t at_ms) const;
  bool changes(const Device& device);
  bool is_due(const Device& device, std::int64_t raw_ms, std::int64_t free_ms, std::int64_t at_ms);
  void of_room(const Happening& happening);
  std::vector<model::LinkId> between(std::size_t controller, std::size_t peer_row) const;
  void deed(DeedKind kind, std::int64_t at_ms, const std::function<void(Deed&)>& fill);
  bool realise();

  const model::Room& room_;
  const RoomTables& tables_;
  const Playthrough& playthrough_;
  Messages messages_;
  std::int64_t later_ms_ = 0;
  std::map<std::size_t, std::int64_t> takes_ms_;  // by link, where the playthrough said so
  std::vector<Change> changes_;
  std::vector<Deed> deeds_;
  std::string why_not_;
};

std::vector<Device> Scripting::devices() {
  std::vector<Device> devices;
  for (std::size_t n = 0; n < room_.inputs.size(); ++n) {
    Device device;
    device.input = InputId(n);
    // A signal may be read by several: what one hears the others hear too.
    for (const Seat seat : tables_.inputs[n]) {
      const rows::Table& table = tables_.controllers[seat.controller].rows;
      if (!device.row) {
        device.row = &table.inputs[seat.row];
        device.scan_ms = table.scan_ms;
      }
      for (const Happening& happening : playthrough_.happenings) {
        if (!is_of_device(happening)) continue;
        if (happening.controller != seat.controller || happening.input != seat.row) continue;
        const bool heard = std::any_of(device.happenings.begin(), device.happenings.end(),
                                       [&](const Happening* other) { return same_kind(*other, happening); });
        if (!heard) device.happenings.push_back(&happening);
      }
    }
    if (!device.row) continue;
    std::stable_sort(device.happenings.begin(), device.happenings.end(),
                     [](const Happening* a, const Happening* b) { return a->at_ms < b->at_ms; });
    device.steady_ms = device.row->steady * device.scan_ms;
    device.silence_ms = std::max<std::int64_t>(std::int64_t{device.row->lost_after} - 1, 0) * device.scan_ms;
    devices.push_back(std::move(device));
  }
  return devices;
}

/// When the device is known first, or lost first, as it stands when power comes.
std::int64_t Scripting::known_ms(const Device& device) const {
  if (device.is(rows::InputKind::operator_button)) return 0;
  if (device.happenings.empty() || device.happenings.front()->at_ms > 0) return device.steady_ms;
  const Happening& first = *device.happenings.front();
  if (first.kind == Kind::lost) return device.silence_ms;
  const bool comes = device.is(rows::InputKind::signal) && first.value != 0;
  return device.steady_ms + (comes ? delay_ms(device, 0) : 0);
}

/// How much later than the playthrough says everything must come for this device's sake.
std::int64_t Scripting::needed_ms(const Device& device) const {
  if (device.is(rows::InputKind::operator_button)) return 0;
  if (device.happenings.empty() || device.happenings.front()->at_ms == 0)
    return known_ms(device) - playthrough_.known_ms;
  const Happening& first = *device.happenings.front();
  if (first.kind == Kind::lost) return device.silence_ms - first.at_ms;
  if (first.kind == Kind::moves) return device.steady_ms + device.scan_ms - first.at_ms;
  const std::string keys = device.is(rows::InputKind::keypad) ? typed(first) : "";
  const std::int64_t before_ms =
      keys.empty() ? 0 : device.steady_ms + device.scan_ms + device.typing_ms(keys);  // none is down first
  return device.steady_ms + before_ms - first.at_ms;
}

std::int64_t Scripting::delay_ms(model::LinkId link, std::int64_t at_ms) const {
  std::int64_t delay_ms = messages_ == Messages::late ? room_.links[index(link)].delay_ms : 0;
  for (const Happening& happening : playthrough_.happenings) {
    if (happening.kind != Kind::says || happening.at_ms + later_ms_ > at_ms) continue;
    const auto links = between(happening.controller, happening.peer);
    if (std::find(links.begin(), links.end(), link) != links.end()) delay_ms = happening.takes_ms;
  }
  return delay_ms;
}

std::int64_t Scripting::delay_ms(const Device& device, std::int64_t at_ms) const {
  const auto link = room_.inputs[index(device.input)].link;
  return link ? delay_ms(*link, at_ms) : 0;
}

bool Scripting::is_due(const Device& device, std::int64_t raw_ms, std::int64_t free_ms, std::int64_t at_ms) {
  if (raw_ms >= free_ms) return true;
  why_not_ = fmt::format("`{}` cannot change again by {}: what is read there is taken in no faster",
                         room_.inputs[index(device.input)].name, clock_words(at_ms - later_ms_));
  return false;
}

/// The changes of one device, each as late as its conditioning allows.
bool Scripting::changes(const Device& device) {
  using What = Change::What;
  const auto change = [&](What what, std::int64_t raw_ms, bool found, std::uint8_t value, std::string keys) {
    changes_.push_back({what, device.input, raw_ms, found, value, std::move(keys), 0});
  };
  if (device.is(rows::InputKind::operator_button)) {
    for (const Happening* const happening : device.happenings)
      if (happening->kind == Kind::input && happening->value != 0)
        change(What::value, happening->at_ms + later_ms_, false, happening->value, {});
    return true;
  }
  if (device.happenings.empty()) return true;
  const bool keypad = device.is(rows::InputKind::keypad);
  const bool signal = device.is(rows::InputKind::signal);
  std::int64_t free_ms = 0;  // from when on its raw value may be another one
  std::optional<std::uint8_t> value;
  bool lost = false, stirred = false;
  if (keypad) value = 0;  // no key is down when power comes
  const Happening& first = *device.happenings.front();
  if (first.at_ms > 0) {
    // It rests until then, or where that is too soon for it to be known at rest, stands so from the start.
    free_ms = device.steady_ms + device.scan_ms;
  } else if (signal && first.kind == Kind::input && first.value != 0) {
    change(What::lost, 0, false, 0, {});  // not heard before it is heard to be on
    lost = true;
  }
  for (const Happening* const happening : device.happenings) {
    const bool at_power = happening->at_ms == 0;
    const std::int64_t at_ms = happening->at_ms + (at_power ? known_ms(device) : later_ms_);
    if (happening->kind == Kind::lost) {
      if (happening == &first) free_ms = 0;  // it may never have been heard
      const std::int64_t raw_ms = at_power ? 0 : at_ms - device.silence_ms;
      if (!is_due(device, raw_ms, free_ms, at_ms)) return false;
      change(What::lost, raw_ms, false, 0, {});
      lost = true;
      free_ms = at_ms + device.scan_ms;
      continue;
    }
    if (happening->kind == Kind::moves) {
      // One that has not settled within its settle time would.
      std::int64_t raw_ms = at_ms;
      if (!is_due(device, raw_ms, free_ms, at_ms)) return false;
      for (; raw_ms < at_ms + happening->takes_ms; raw_ms += device.steady_ms) {
        change(What::stir, raw_ms, false, 0, {});
        free_ms = raw_ms + device.scan_ms;
      }
      stirred = true;
      continue;
    }
    const std::string keys = keypad ? typed(*happening) : "";
    const bool brief = happening->brief && device.is(rows::InputKind::button) && happening->value != 0;
    std::int64_t raw_ms = at_power && keys.empty() ? 0 : at_ms - device.steady_ms;
    if (!keys.empty()) {
      raw_ms -= device.typing_ms(keys);
    } else if (!lost && !stirred && value == happening->value) {
      continue;  // of a keypad: a key comes up by itself
    } else if (signal && !at_power) {
      raw_ms -= delay_ms(device, at_ms);
    }
    if (happening == &first && !at_power && keys.empty() && raw_ms < free_ms) raw_ms = free_ms = 0;
    if (!is_due(device, raw_ms, free_ms, at_ms)) return false;
    change(keys.empty() ? What::value : What::keys, raw_ms, lost, happening->value, keys);
    lost = stirred = false;
    value = keypad ? std::uint8_t{0} : happening->value;
    free_ms = (signal ? raw_ms : at_ms) + device.scan_ms;
    if (brief) {
      change(What::value, free_ms, false, 0, {});
      value = std::uint8_t{0};
    }
    // A key or a button that comes up must be seen to be up.
    if (brief || !keys.empty()) free_ms += device.steady_ms + device.scan_ms;
  }
  return true;
}

std::vector<model::LinkId> Scripting::between(std::size_t c, std::size_t peer_row) const {
  const std::vector<rows::Peer>& peers = tables_.controllers[c].rows.link.peers;
  std::vector<model::LinkId> links;
  if (peer_row >= peers.size()) return links;
  const auto joins = [&](const model::Link& link, std::size_t controller) {
    return std::find(link.joins.begin(), link.joins.end(), model::ControllerId(controller)) !=
           link.joins.end();
  };
  for (std::size_t l = 0; l < room_.links.size(); ++l)
    if (joins(room_.links[l], c) && joins(room_.links[l], peers[peer_row].controller))
      links.push_back(model::LinkId(l));
  return links;
}

void Scripting::deed(DeedKind kind, std::int64_t at_ms, const std::function<void(Deed&)>& fill) {
  Deed deed;
  deed.when = model::When::at;
  deed.kind = kind;
  deed.time_ms = std::max<std::int64_t>(at_ms, 0);
  fill(deed);
  deeds_.push_back(std::move(deed));
}

/// What concerns no input.
void Scripting::of_room(const Happening& happening) {
  const std::int64_t at_ms = happening.at_ms + later_ms_;
  const auto at_controller = [&](Deed& deed) {
    if (happening.controller != 0) deed.controller = model::ControllerId(happening.controller);
  };
  switch (happening.kind) {
    case Kind::input:
    case Kind::lost:
    case Kind::moves:
      break;
    case Kind::start:
      return deed(DeedKind::operator_start, at_ms, at_controller);
    case Kind::end:
      return deed(DeedKind::operator_end, at_ms, at_controller);
    case Kind::reset:
      return deed(DeedKind::operator_reset, at_ms, at_controller);
    case Kind::override_:
      return deed(DeedKind::operator_override, at_ms, [&](Deed& deed) {
        deed.prop = tables_.controllers[happening.controller].props[happening.prop];
      });
    case Kind::restart:
      return deed(DeedKind::restart, at_ms,
                  [&](Deed& deed) { deed.controller = model::ControllerId(happening.controller); });
    case Kind::silent:
    case Kind::heard: {
      const rows::Table& table = tables_.controllers[happening.controller].rows;
      for (const model::LinkId link : between(happening.controller, happening.peer)) {
        // The last message that comes is taken in `lost after` before; one that goes on takes its delay.
        const std::int64_t before_ms =
            happening.kind == Kind::silent
                ? (std::int64_t{table.link.peers[happening.peer].lost_after} - 1) * table.scan_ms
                : delay_ms(link, at_ms);
        deed(happening.kind == Kind::silent ? DeedKind::lose : DeedKind::restore, at_ms - before_ms,
             [&](Deed& deed) { deed.link = link; });
      }
      return;
    }
    case Kind::says:
      for (const model::LinkId link : between(happening.controller, happening.peer)) {
        const auto takes = takes_ms_.find(index(link));
        const std::int64_t now_ms = takes != takes_ms_.end()      ? takes->second
                                    : messages_ == Messages::late ? room_.links[index(link)].delay_ms
                                                                  : 0;
        if (now_ms == happening.takes_ms) continue;
        takes_ms_[index(link)] = happening.takes_ms;
        deed(DeedKind::delay, at_ms, [&](Deed& deed) {
          deed.link = link;
          deed.value = happening.takes_ms;
        });
      }
      return;
  }
}

/// What is done at each device for its changes, in the order in which it is done.
bool Scripting::realise() {
  // A button is down from one change to the next.
  std::int64_t last_ms = playthrough_.until_ms + later_ms_;
  for (const Change& change : changes_) last_ms = std::max(last_ms, change.raw_ms);
  for (std::size_t n = 0; n < changes_.size(); ++n) {
    Change& down = changes_[n];
    if (down.what != Change::What::value) continue;
    const std::int64_t left_ms = last_ms - down.raw_ms;
    down.hold_ms = left_ms <= kUsualPress_ms / 2 ? kUsualPress_ms : left_ms / 1000 * 1000 + 2000;
    for (std::size_t k = n + 1; k < changes_.size() && changes_[k].input == down.input; ++k)
      if (changes_[k].what == Change::What::value && changes_[k].value == 0) {
        down.hold_ms = changes_[k].raw_ms - down.raw_ms;
        break;
      }
  }
  // What is put down somewhere has been taken off elsewhere first.
  std::stable_sort(changes_.begin(), changes_.end(), [](const Change& a, const Change& b) {
    return a.raw_ms != b.raw_ms ? a.raw_ms < b.raw_ms : (a.value == 0) > (b.value == 0);
  });
  Hand hand(room_, tables_);
  const bool at_once = messages_ == Messages::at_once && !room_.links.empty();
  if (at_once)
    for (std::size_t l = 0; l < room_.links.size(); ++l)
      deed(DeedKind::delay, 0, [&](Deed& deed) { deed.link = model::LinkId(l); });
  for (const Change& change : changes_) {
    const std::int64_t at_ms = change.raw_ms;
    const auto of_input = [&](Deed& deed) { deed.input = change.input; };
    std::vector<Deed> done;
    switch (change.what) {
      case Change::What::lost:
        deed(DeedKind::lose, at_ms, of_input);
        continue;
      case Change::What::keys:
        deed(DeedKind::type, at_ms, [&](Deed& deed) {
          deed.input = change.input;
          deed.text = change.keys;
        });
        break;
      case Change::What::stir:
        hand.stir(change.input, at_ms, done);
        break;
      case Change::What::value:
        if (!hand.bring(change.input, change.value, change.hold_ms, at_ms, change.found, done, why_not_))
          return false;
        break;
    }
    for (Deed& one : done) {
      one.when = model::When::at;
      one.time_ms = at_ms;
      deeds_.push_back(std::move(one));
    }
    if (change.found) deed(DeedKind::restore, at_ms, of_input);
  }
  return true;
}

/// Instants so far apart are scans of every controller.
std::int64_t Scripting::grid_ms() const {
  std::int64_t grid_ms = 1;
  for (const ControllerTable& controller : tables_.controllers)
    grid_ms = std::lcm(grid_ms, std::int64_t{controller.rows.scan_ms});
  return grid_ms;
}

/// By how much what follows `start_ms` is begun before it.
std::int64_t Scripting::hurry_ms(std::int64_t start_ms) {
  std::int64_t hurry_ms = -1;
  for (const Device& device : devices()) {
    if (device.is(rows::InputKind::operator_button)) continue;
    for (const Happening* const happening : device.happenings) {
      if (happening->at_ms <= start_ms) continue;
      std::int64_t before_ms = happening->kind == Kind::lost    ? device.silence_ms
                               : happening->kind == Kind::moves ? 0
                                                                : device.steady_ms;
      if (const std::string keys = device.is(rows::InputKind::keypad) ? typed(*happening) : ""; !keys.empty())
        before_ms += device.typing_ms(keys);
      before_ms += delay_ms(device, happening->at_ms);
      hurry_ms = std::max(hurry_ms, before_ms - (happening->at_ms - start_ms));
    }
  }
  // What is done at the instant of the start is done before that scan; a rehearsal's deeds come after it.
  return hurry_ms < 0 ? 0 : (hurry_ms + grid_ms()) / grid_ms() * grid_ms();
}

Scripted Scripting::done() {
  const std::vector<Device> all = devices();
  for (const Device& device : all) later_ms_ = std::max(later_ms_, needed_ms(device));
  later_ms_ = (later_ms_ + grid_ms() - 1) / grid_ms() * grid_ms();

  Scripted scripted;
  bool made = true;
  for (const Device& device : all) made = made && changes(device);
  if (made && realise()) {
    for (const Happening& happening : playthrough_.happenings) of_room(happening);
    std::stable_sort(deeds_.begin(), deeds_.end(),
                     [](const Deed& a, const Deed& b) { return a.time_ms < b.time_ms; });
    scripted.script = Script{std::move(deeds_), later_ms_, playthrough_.until_ms + later_ms_};
  } else {
    scripted.why_not = why_not_;
  }
  return scripted;
}

}  // namespace

Scripted script_of(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
                   Messages messages) {
  return Scripting(room, tables, playthrough, messages).done();
}

Playthrough unhurried(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
                      std::int64_t start_ms, Messages messages) {
  const std::int64_t by_ms = Scripting(room, tables, playthrough, messages).hurry_ms(start_ms);
  Playthrough later = playthrough;
  std::int64_t lost_ms = 0;  // what is lost from the start falls silent after it
  for (Happening& happening : later.happenings)
    if (happening.kind == Kind::lost && happening.at_ms == 0) {
      const rows::Table& table = tables.controllers[happening.controller].rows;
      happening.at_ms = start_ms + std::int64_t{table.inputs[happening.input].lost_after} * table.scan_ms;
      lost_ms = std::max(lost_ms, happening.at_ms - start_ms);
    } else if (happening.at_ms > start_ms) {
      happening.at_ms += by_ms;
    }
  if (later.until_ms >= start_ms) later.until_ms += std::max(by_ms, lost_ms);
  return later;
}

}  // namespace lw
