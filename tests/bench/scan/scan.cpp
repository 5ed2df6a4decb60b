// What a scan costs: the Assay Office from its tables by the runtime, by hand as a switch in C++, and in
// Lua 5.4.
//
//   lw_bench_scan FRONT.LWT VAULT.LWT assay.lua [--check]
//
// All three take the same random room in: loads that come, dither and go, a cable that is lost, a ledger that
// is lifted and put back, a game that is started. First what they show is compared in every scan; a
// difference is the end. Then each plays the same games, turn by turn and several times over, and the ratios
// of the medians are printed. Rejected: timing them in separate runs, which on a shared machine compares the
// machine with itself.
#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <iterator>
#include <lua.hpp>
#include <memory>
#include <random>
#include <vector>

#include "assay.hpp"
#include "runtime/runtime.h"

namespace lw::bench {
namespace {

class ByTable final : public Contender {
 public:
  ByTable(const char* front, const char* vault) : front_(front), vault_(vault) {}

  void power_up() override {
    for (Controller* c : {&front_, &vault_}) {
      lw_power_up(&c->table, c->block.data());
      c->said = 0;
    }
  }
  void scan(const Inputs& in) override {
    const lw_raw balance{in.balance, in.balance_good};
    const lw_commands asked{in.start, 0, 0, nullptr};
    one(front_, vault_, balance, in.start ? &asked : nullptr);
    const lw_raw ledger{in.ledger_shut, in.ledger_good};
    one(vault_, front_, ledger, nullptr);
  }
  std::size_t bytes() const { return front_.bytes.size() + vault_.bytes.size(); }
  Shown shown() override {
    Shown s;
    const lw_table* t = &front_.table;
    const std::uint8_t* b = front_.block.data();
    s.blue = lw_output(t, b, 1);
    s.red = lw_output(t, b, 2);
    s.drawer = lw_output(t, b, 3);
    const lw_sound sound = lw_voice(t, b, 0);
    s.sounds = sound.sounds;
    s.clip = sound.sounds ? sound.clip : std::uint8_t{0};
    s.begins = sound.begins;
    s.pan_empty = lw_ready(t, b, 0);
    s.cable_lost = lw_tell(t, b, 0);
    s.way_out = lw_output(&vault_.table, vault_.block.data(), 0);
    s.ledger_shut = lw_ready(&vault_.table, vault_.block.data(), 0);
    return s;
  }

 private:
  struct Controller {
    std::vector<std::uint8_t> bytes;
    lw_table table{};
    std::vector<std::uint8_t> block;
    std::array<std::uint8_t, LW_MESSAGE_MAX> message{};
    std::uint16_t said = 0;

    explicit Controller(const char* path) {
      std::ifstream file(path, std::ios::binary);
      bytes.assign(std::istreambuf_iterator<char>(file), {});
      if (lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size())) != LW_OK) {
        std::fprintf(stderr, "%s is no table\n", path);
        std::exit(2);
      }
      block.resize(lw_block_size(&table));
    }
  };
  static void one(Controller& own, Controller& other, const lw_raw& raw, const lw_commands* asked) {
    if (other.said != 0) lw_take(&own.table, own.block.data(), other.message.data(), other.said);
    other.said = 0;
    lw_condition(&own.table, own.block.data(), &raw, 1);
    lw_step(&own.table, own.block.data(), asked);
    own.said = lw_say(&own.table, own.block.data(), own.message.data());
  }

  Controller front_, vault_;
};

class InLua final : public Contender {
 public:
  explicit InLua(const char* path) : lua_(luaL_newstate()) {
    luaL_openlibs(lua_);
    if (luaL_loadfile(lua_, path) != LUA_OK || lua_pcall(lua_, 0, 3, 0) != LUA_OK) fail();
  }
  ~InLua() override { lua_close(lua_); }
  InLua(const InLua&) = delete;

  /// Bytes of the whole program compiled and stripped.
  std::size_t bytecode(const char* path) {
    std::size_t bytes = 0;
    if (luaL_loadfile(lua_, path) != LUA_OK) fail();
    const auto count = [](lua_State*, const void*, std::size_t size, void* to) {
      *static_cast<std::size_t*>(to) += size;
      return 0;
    };
    lua_dump(lua_, count, &bytes, 1);
    lua_pop(lua_, 1);
    return bytes;
  }
  void power_up() override { call(1, 0, 0); }
  void scan(const Inputs& in) override {
    lua_pushvalue(lua_, 2);
    lua_pushinteger(lua_, in.balance);
    lua_pushboolean(lua_, in.balance_good);
    lua_pushboolean(lua_, in.ledger_shut);
    lua_pushboolean(lua_, in.ledger_good);
    lua_pushboolean(lua_, in.start);
    if (lua_pcall(lua_, 5, 0, 0) != LUA_OK) fail();
  }
  Shown shown() override {
    call(3, 0, 10);
    Shown s;
    std::uint8_t* const to[] = {&s.blue, &s.red,    &s.drawer,    &s.way_out,     &s.sounds,
                                &s.clip, &s.begins, &s.pan_empty, &s.ledger_shut, &s.cable_lost};
    for (int n = 0; n < 10; ++n) *to[n] = static_cast<std::uint8_t>(lua_tointeger(lua_, n - 10));
    lua_pop(lua_, 10);
    return s;
  }

 private:
  void call(int function, int arguments, int results) {
    lua_pushvalue(lua_, function);
    if (lua_pcall(lua_, arguments, results, 0) != LUA_OK) fail();
  }
  [[noreturn]] void fail() {
    std::fprintf(stderr, "%s\n", lua_tostring(lua_, -1));
    std::exit(2);
  }
  lua_State* lua_;
};

/// One game: what the ports read, scan by scan.
std::vector<Inputs> game(std::uint32_t seed, int scans) {
  std::mt19937 dice(seed);
  const auto below = [&](std::uint32_t n) { return static_cast<std::int32_t>(dice() % n); };
  constexpr std::int32_t loads[] = {0, 90, 187, 418, 569, 570, 605, 606, 640, 641, 792, 1500};
  std::vector<Inputs> all;
  Inputs now;
  std::int32_t load = 0, hold = 0, dither = 0;
  for (int n = 0; n < scans; ++n) {
    if (hold-- == 0) {
      hold = below(1200);
      load = loads[below(12)];
      dither = below(3);
      now.balance_good = below(12) != 0;
    }
    now.balance = load + (dither == 2 ? below(2) : dither == 1 && below(30) == 0 ? 2 : 0);
    if (below(300) == 0) now.ledger_shut = !now.ledger_shut;
    if (below(900) == 0) now.ledger_good = false;
    if (below(150) == 0) now.ledger_good = true;
    now.start = n == 150;
    all.push_back(now);
  }
  return all;
}

bool same(const Shown& a, const Shown& b) { return std::memcmp(&a, &b, sizeof a) == 0; }

double seconds(Contender& one, const std::vector<std::vector<Inputs>>& games) {
  const auto from = std::chrono::steady_clock::now();
  for (const std::vector<Inputs>& inputs : games) {
    one.power_up();
    for (const Inputs& in : inputs) one.scan(in);
  }
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - from).count();
}

}  // namespace
}  // namespace lw::bench

int main(int count, char** arguments) {
  using namespace lw::bench;
  if (count < 4) {
    std::fputs("usage: lw_bench_scan FRONT.LWT VAULT.LWT assay.lua [--check]\n", stderr);
    return 2;
  }
  const bool check_alone = count > 4 && std::strcmp(arguments[4], "--check") == 0;
  ByTable table(arguments[1], arguments[2]);
  ByHand hand;
  InLua lua(arguments[3]);
  std::vector<std::vector<Inputs>> games;
  for (std::uint32_t seed = 1; seed <= (check_alone ? 8u : 40u); ++seed) games.push_back(game(seed, 10000));
  std::size_t scans = 0, solved = 0;
  for (const std::vector<Inputs>& inputs : games) {
    for (Contender* one :
         {static_cast<Contender*>(&table), static_cast<Contender*>(&hand), static_cast<Contender*>(&lua)})
      one->power_up();
    bool opened = false;
    for (const Inputs& in : inputs) {
      table.scan(in);
      hand.scan(in);
      lua.scan(in);
      const Shown shown = table.shown();
      opened = opened || shown.drawer != 0;
      if (!same(shown, hand.shown()) || !same(shown, lua.shown())) {
        std::printf("scan %zu: the %s shows something else\n", scans,
                    same(shown, hand.shown()) ? "Lua program" : "program by hand");
        return 1;
      }
      ++scans;
    }
    solved += opened;
  }
  std::printf(
      "%zu scans of two controllers in %zu games, the drawer released in %zu: all three show the same\n",
      scans, games.size(), solved);
  std::printf("tables of %zu bytes; stripped Lua bytecode of %zu\n", table.bytes(),
              lua.bytecode(arguments[3]));
  if (solved == 0) return 1;
  if (check_alone) return 0;
  constexpr int kTurns = 15;
  std::vector<double> of_table, of_hand, of_lua;
  for (int turn = 0; turn < kTurns; ++turn) {
    of_table.push_back(seconds(table, games));
    of_hand.push_back(seconds(hand, games));
    of_lua.push_back(seconds(lua, games));
  }
  const auto median = [&](std::vector<double>& all) {
    std::sort(all.begin(), all.end());
    return all[all.size() / 2] / static_cast<double>(scans) * 1e9;
  };
  const double t = median(of_table), h = median(of_hand), l = median(of_lua);
  std::printf("medians of %d: runtime %.0f ns, by hand %.0f ns, Lua %.0f ns an instant of both controllers\n",
              kTurns, t, h, l);
  std::printf("the runtime takes %.2f times the program by hand; Lua takes %.2f times the runtime\n", t / h,
              l / t);
  return 0;
}
