// Makes the samples' sounds from nothing: make_sounds FOLDER [NAME...] writes NAME.wav, 16-bit mono PCM at 16
// kHz.
//
// Each sound is a short list of layers, tones and noises. Whole numbers only, the sine included, so that the
// same bytes come out on every machine and the committed files can be compared with a fresh run
// (tests/unit/sound/samples_test.cpp). Rejected: recordings, since they cannot be made again from the
// repository.
#include <sndfile.h>

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <iterator>
#include <string>
#include <vector>

namespace {

constexpr std::int64_t kRateHz = 16000;
constexpr std::int64_t kLoudest = 29000;  // peak of every file, of 32767
constexpr std::int64_t kFadeMs = 5;       // at the very end, so that no file ends in a click

enum class Make : std::uint8_t {
  tone,  // a sine that glides from from_hz to to_hz
  reed,  // the same with its third and fifth harmonic: a buzzer
  hiss,  // noise; from_hz and to_hz are the edges of the band it keeps, roughly
};

struct Layer {
  Make make{};
  std::int64_t start_ms = 0;
  std::int64_t length_ms = 0;
  std::int64_t from_hz = 0, to_hz = 0;
  std::int64_t level = 0;  // against the other layers
  std::int64_t attack_ms = 1;
  std::int64_t half_ms =
      0;  // loses half its strength in each such time; 0 stays, and fades out as it came in
  std::int64_t wobble_hz = 0;  // how often pitch wavers by one percent
};

struct Sound {
  const char* name;
  std::int64_t length_ms;
  std::vector<Layer> layers;
};

std::int64_t samples(std::int64_t ms) { return ms * kRateHz / 1000; }

/// Sine of a whole turn of 2^32, as -32768 to 32768: a parabola, bent once more towards the sine (within 0.2
/// %).
std::int64_t sine(std::uint32_t turn) {
  const std::int64_t x = static_cast<std::int32_t>(turn) >> 16;
  const std::int64_t size = x < 0 ? -x : x;
  const std::int64_t arc = 4 * x * (32768 - size) / 32768;
  const std::int64_t arc_size = arc < 0 ? -arc : arc;
  return (arc * 7373 + arc * arc_size / 32768 * 2142) / 9515;
}

std::uint32_t turn_per_sample(std::int64_t millihertz) {
  return static_cast<std::uint32_t>((millihertz << 32) / (kRateHz * 1000));
}

/// Strength of a layer `at` samples after its start, of 65536.
std::int64_t strength(const Layer& layer, std::int64_t at) {
  const std::int64_t attack = std::max<std::int64_t>(samples(layer.attack_ms), 1);
  if (at < attack) return 65536 * at / attack;
  if (layer.half_ms == 0) {
    const std::int64_t left = samples(layer.length_ms) - at;
    return left < attack ? 65536 * left / attack : 65536;
  }
  const std::int64_t half = samples(layer.half_ms);
  const std::int64_t halvings = (at - attack) / half;
  if (halvings > 16) return 0;
  const std::int64_t now = 65536 >> halvings;
  return now - now * ((at - attack) % half) / (2 * half);
}

class Noise {
 public:
  explicit Noise(std::uint32_t seed) : state_(seed) {}
  std::int64_t next() {  // -32768 to 32767, by xorshift
    state_ ^= state_ << 13;
    state_ ^= state_ >> 17;
    state_ ^= state_ << 5;
    return static_cast<std::int64_t>(state_ >> 16) - 32768;
  }

 private:
  std::uint32_t state_;
};

/// What one sample takes of the way to its input in a low-pass of that edge, of 65536 (2 pi f / rate, at most
/// all).
std::int64_t pass(std::int64_t edge_hz) { return std::min<std::int64_t>(411775 * edge_hz / kRateHz, 65536); }

void add_layer(const Layer& layer, std::uint32_t seed, std::vector<std::int64_t>& mix) {
  const std::int64_t start = samples(layer.start_ms);
  const std::int64_t count = samples(layer.length_ms);
  Noise noise(seed);
  std::int64_t low = 0, lower = 0;  // of the noise: below to_hz, below from_hz
  std::uint32_t turn = 0, wobble = 0;
  for (std::int64_t i = 0; i < count; ++i) {
    std::int64_t wave = 0;
    if (layer.make == Make::hiss) {
      low += (noise.next() - low) * pass(layer.to_hz) / 65536;
      lower += (low - lower) * pass(layer.from_hz) / 65536;
      wave = low - lower;
    } else {
      const std::int64_t millihertz = layer.from_hz * 1000 + (layer.to_hz - layer.from_hz) * 1000 * i / count;
      turn += turn_per_sample(millihertz + millihertz / 100 * sine(wobble) / 32768);
      wobble += turn_per_sample(layer.wobble_hz * 1000);
      wave = sine(turn);
      if (layer.make == Make::reed) wave += sine(turn * 3) / 3 + sine(turn * 5) / 5;
    }
    const std::int64_t at = start + i;
    if (at < static_cast<std::int64_t>(mix.size())) {
      mix[static_cast<std::size_t>(at)] += wave * layer.level / 100 * strength(layer, i) / 65536;
    }
  }
}

std::vector<std::int16_t> make(const Sound& sound) {
  std::vector<std::int64_t> mix(static_cast<std::size_t>(samples(sound.length_ms)), 0);
  std::uint32_t seed = 2463534242u;
  for (const Layer& layer : sound.layers) add_layer(layer, seed++, mix);
  std::int64_t peak = 1;
  for (const std::int64_t value : mix) peak = std::max(peak, value < 0 ? -value : value);
  const std::int64_t fade = samples(kFadeMs);
  std::vector<std::int16_t> pcm;
  pcm.reserve(mix.size());
  for (std::size_t i = 0; i < mix.size(); ++i) {
    const std::int64_t left = std::min(static_cast<std::int64_t>(mix.size() - i), fade);
    pcm.push_back(static_cast<std::int16_t>(mix[i] * kLoudest / peak * left / fade));
  }
  return pcm;
}

/// The same layer again and again, its times and pitches moved on.
void repeat(std::vector<Layer>& layers, Layer layer, int times, std::int64_t every_ms, std::int64_t rise_hz) {
  for (int i = 0; i < times; ++i) {
    layers.push_back(layer);
    layer.start_ms += every_ms;
    layer.from_hz += rise_hz;
    layer.to_hz += rise_hz;
  }
}

Sound alarm() {
  Sound sound{"alarm", 2000, {}};
  repeat(sound.layers, {Make::reed, 0, 250, 880, 880, 80, 8, 0, 0}, 4, 500, 0);
  repeat(sound.layers, {Make::reed, 250, 250, 660, 660, 80, 8, 0, 0}, 4, 500, 0);
  return sound;
}

Sound creak() {
  Sound sound{"creak", 1000, {}};
  // Wood that sticks and slips, faster as it gives way.
  std::int64_t at_ms = 0, step_ms = 70;
  for (std::int64_t hz = 380; at_ms < 880; hz += 12) {
    sound.layers.push_back({Make::reed, at_ms, 90, hz, hz + 60, 70, 1, 14, 0});
    sound.layers.push_back({Make::hiss, at_ms, 40, 900, 3200, 60, 1, 6, 0});
    at_ms += step_ms;
    step_ms = std::max<std::int64_t>(step_ms - 3, 24);
  }
  return sound;
}

Sound cheer() {
  Sound sound{"cheer", 2600, {{Make::hiss, 0, 2600, 500, 2600, 90, 400, 0, 0}}};
  repeat(sound.layers, {Make::reed, 40, 900, 330, 520, 7, 120, 380, 6}, 6, 310, 37);
  repeat(sound.layers, {Make::hiss, 60, 60, 1200, 5200, 90, 1, 9, 0}, 34, 73, 11);
  return sound;
}

Sound choir() {
  Sound sound{"choir", 3000, {}};
  for (const std::int64_t hz : {220, 277, 330, 440}) {
    sound.layers.push_back({Make::tone, 0, 3000, hz, hz, 60, 500, 0, 5});
    sound.layers.push_back({Make::tone, 0, 3000, hz + 2, hz + 2, 45, 650, 0, 4});
    sound.layers.push_back({Make::tone, 0, 3000, 2 * hz + 1, 2 * hz + 1, 22, 500, 0, 5});
    sound.layers.push_back({Make::tone, 0, 3000, 3 * hz, 3 * hz, 9, 600, 0, 6});
  }
  return sound;
}

std::vector<Sound> all_sounds() {
  using M = Make;
  return {
      // make, start, length, from Hz, to Hz, level, attack, half, wobble
      alarm(),
      {"blast",
       1400,
       {{M::hiss, 0, 1400, 40, 1800, 100, 2, 170, 0}, {M::tone, 0, 1400, 95, 34, 90, 3, 220, 0}}},
      cheer(),
      choir(),
      {"clank",
       600,
       {{M::tone, 0, 600, 523, 521, 60, 1, 70, 0},
        {M::tone, 0, 600, 1187, 1187, 70, 1, 60, 0},
        {M::tone, 0, 600, 1979, 1979, 60, 1, 45, 0},
        {M::tone, 0, 600, 3011, 3011, 40, 1, 30, 0},
        {M::hiss, 0, 60, 1500, 6000, 70, 1, 6, 0}}},
      {"clunk",
       300,
       {{M::tone, 0, 200, 210, 150, 90, 1, 35, 0},
        {M::hiss, 0, 60, 300, 1500, 90, 1, 9, 0},
        {M::tone, 90, 200, 160, 120, 70, 1, 30, 0},
        {M::hiss, 90, 60, 200, 1000, 80, 1, 9, 0}}},
      creak(),
      {"dull",
       600,
       {{M::tone, 0, 600, 118, 62, 100, 2, 80, 0},
        {M::tone, 0, 300, 176, 121, 45, 2, 40, 0},
        {M::hiss, 0, 120, 60, 500, 90, 1, 20, 0}}},
      {"hint",
       800,
       {{M::tone, 0, 500, 659, 659, 70, 3, 110, 0},
        {M::tone, 0, 400, 1318, 1318, 20, 3, 70, 0},
        {M::tone, 200, 600, 988, 988, 70, 3, 140, 0},
        {M::tone, 200, 500, 1976, 1976, 20, 3, 80, 0}}},
      // A small hand bell: hum, prime, tierce, quint, nominal and two above it.
      {"ring",
       1500,
       {{M::tone, 0, 1500, 523, 523, 35, 2, 420, 0},
        {M::tone, 0, 1500, 1047, 1047, 80, 1, 300, 0},
        {M::tone, 0, 1500, 1245, 1245, 45, 1, 260, 0},
        {M::tone, 0, 1500, 1568, 1568, 30, 1, 200, 0},
        {M::tone, 0, 1500, 2093, 2093, 60, 1, 190, 0},
        {M::tone, 0, 1500, 2630, 2630, 25, 1, 110, 0},
        {M::tone, 0, 1500, 4186, 4186, 20, 1, 60, 0},
        {M::hiss, 0, 40, 2500, 7000, 40, 1, 5, 0}}},
      {"rumble",
       3000,
       {{M::hiss, 0, 3000, 20, 130, 400, 700, 0, 0}, {M::tone, 0, 3000, 44, 51, 70, 900, 0, 3}}},
      {"thud", 400, {{M::tone, 0, 400, 92, 55, 100, 2, 60, 0}, {M::hiss, 0, 80, 40, 350, 110, 1, 15, 0}}},
      {"tick", 200, {{M::tone, 0, 60, 2400, 2300, 60, 1, 6, 0}, {M::hiss, 0, 40, 2000, 6500, 80, 1, 3, 0}}},
      {"whistle",
       900,
       {{M::tone, 0, 380, 1100, 1900, 80, 40, 0, 0},
        {M::tone, 400, 500, 1900, 1250, 80, 40, 0, 7},
        {M::hiss, 0, 900, 1200, 3600, 14, 60, 0, 0}}},
  };
}

bool write_wav(const std::string& path, const std::vector<std::int16_t>& pcm) {
  SF_INFO info{};
  info.samplerate = static_cast<int>(kRateHz);
  info.channels = 1;
  info.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
  SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
  if (file == nullptr) return false;
  const auto count = static_cast<sf_count_t>(pcm.size());
  const bool written = sf_writef_short(file, pcm.data(), count) == count;
  return sf_close(file) == 0 && written;
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<Sound> sounds = all_sounds();
  if (argc < 2 || std::string(argv[1]) == "--help") {
    std::fprintf(stderr, "make_sounds FOLDER [NAME...]\nThe names:");
    for (const Sound& sound : sounds) std::fprintf(stderr, " %s", sound.name);
    std::fprintf(stderr, "\n");
    return 2;
  }
  std::vector<std::string> wanted(argv + 2, argv + argc);
  if (wanted.empty()) {
    for (const Sound& sound : sounds) wanted.emplace_back(sound.name);
  }
  for (const std::string& name : wanted) {
    const auto sound =
        std::find_if(sounds.begin(), sounds.end(), [&](const Sound& each) { return each.name == name; });
    if (sound == sounds.end()) {
      std::fprintf(stderr, "make_sounds: there is no sound named %s\n", name.c_str());
      return 2;
    }
    const std::string path = std::string(argv[1]) + "/" + name + ".wav";
    if (!write_wav(path, make(*sound))) {
      std::fprintf(stderr, "make_sounds: %s cannot be written\n", path.c_str());
      return 2;
    }
  }
  return 0;
}
