#include "drum_hits.hpp"

#include <algorithm>
#include <cmath>

#include "sound_window.hpp"
#include "spectra.hpp"

namespace burstloom {
namespace {

constexpr double kLowestRate_hz = 24'000, kWindow_s = 0.023, kHit_s = 0.05;
constexpr std::size_t kFewestBright = 8;  // fewer are no drums, and what is dull then is a bass

// What makes a hit, in a band: found on the pieces of tests/outside/listening that are not held out.
struct Kind {
  double from_hz, until_hz;
  float rise_db;       // over three frames
  float under_top_db;  // of the loudest in the song
  float fall_db;       // from its peak ...
  std::size_t fall;    // ... within so many frames
  std::size_t apart;   // frames from hit to hit
  double key;
};
constexpr Kind kBright{6000, 14'000, 10, 35, 8, 10, 5, 42}, kDull{35, 130, 10, 15, 12, 8, 8, 36};

struct Lines {
  std::size_t first, past;
};
Lines lines_of(const Spectra& spectra, const Kind& kind) {
  const auto line = [&](double hz) { return static_cast<std::size_t>(std::lround(hz / spectra.line_hz())); };
  return {std::max<std::size_t>(1, line(kind.from_hz)),
          std::min(spectra.size() / 2 + 1, line(kind.until_hz) + 1)};
}

struct Bands {
  std::vector<float> bright, dull;  // dB, a frame each kHop_s
};
Bands bands_of(const SoundSource& sound) {
  const auto size = static_cast<std::size_t>(std::exp2(std::round(std::log2(kWindow_s * sound.rate_hz()))));
  SoundWindow window([&sound] { return sound.reader(); }, 2 * size);
  Spectra spectra([&window](std::ptrdiff_t first, std::size_t count) { return window.at(first, count); },
                  sound.rate_hz(), size);
  const Lines bright = lines_of(spectra, kBright), dull = lines_of(spectra, kDull);
  const auto frames = static_cast<std::size_t>(sound.length_s() / kHop_s) + 1;
  Bands bands;
  for (std::size_t n = 0; n < frames; n += kLanes) {
    Moments4 at_s;
    for (std::size_t lane = 0; lane < kLanes; ++lane) at_s[lane] = static_cast<double>(n + lane) * kHop_s;
    const auto energies = spectra.around(at_s);
    const auto add_levels = [&](const Lines& lines, std::vector<float>& levels) {
      Four energy = Four{} + 1e-9f;
      for (std::size_t i = lines.first; i < lines.past; ++i) energy += energies[i];
      for (std::size_t lane = 0; lane < kLanes && n + lane < frames; ++lane)
        levels.push_back(10 * std::log10(energy[lane]));
    };
    add_levels(bright, bands.bright);
    add_levels(dull, bands.dull);
  }
  return bands;
}

void add_hits(const std::vector<float>& levels, const Kind& kind, std::vector<Note>& hits) {
  const float top = *std::max_element(levels.begin(), levels.end());
  const auto rise = [&](std::size_t n) { return levels[n + 1] - levels[n - 2]; };
  std::size_t next = 3;
  for (std::size_t n = 3; n + kind.fall + 2 < levels.size(); ++n) {
    const bool steepest = rise(n) > kind.rise_db && rise(n) >= rise(n - 1) && rise(n) > rise(n + 1);
    if (n < next || !steepest || levels[n + 1] < top - kind.under_top_db) continue;
    const float peak = *std::max_element(levels.begin() + static_cast<std::ptrdiff_t>(n),
                                         levels.begin() + static_cast<std::ptrdiff_t>(n) + 4);
    if (peak - levels[n + kind.fall] < kind.fall_db) continue;
    const double at_s = static_cast<double>(n) * kHop_s;
    // A velocity's square is an amplitude.
    const double velocity = std::clamp(std::pow(10.0, static_cast<double>(peak - top) / 40), 0.05, 1.0);
    hits.push_back({.start_s = at_s,
                    .end_s = at_s + kHit_s,
                    .key = kind.key,
                    .velocity = velocity,
                    .channel = 9,
                    .envelope = Envelope::plucked,
                    .part = Part::drums});
    next = n + kind.apart + 1;
  }
}

}  // namespace

std::vector<Note> drum_hits(const SoundSource& sound) {
  std::vector<Note> hits;
  if (sound.rate_hz() < kLowestRate_hz || sound.figures().samples == 0) return hits;
  const Bands bands = bands_of(sound);
  add_hits(bands.bright, kBright, hits);
  if (hits.size() < kFewestBright) return {};
  add_hits(bands.dull, kDull, hits);
  return hits;
}

}  // namespace burstloom
