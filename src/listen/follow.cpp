#include <algorithm>
#include <array>
#include <cmath>

#include "burstloom/listen/listen.hpp"
#include "fine_period.hpp"
#include "pitch_path.hpp"
#include "run_ends.hpp"
#include "thinned.hpp"
#include "usable.hpp"
#include "yin.hpp"

namespace burstloom {
namespace {

constexpr double hop_s = 0.005;
constexpr std::size_t shortest_frames = 8;  // 40 ms
constexpr double gate_opens = 0.0050119;    // -46 dBFS, root mean square
constexpr double gate_closes = 0.0025119;   // -52 dBFS

std::size_t frame_count(const SoundSource& sound) {
  return sound.figures().samples == 0 ? 0 : static_cast<std::size_t>(sound.length_s() / hop_s) + 1;
}

double frame_time(std::size_t frame) {
  return static_cast<double>(frame) * hop_s;
}

/// Every frame's level, and its candidates where the level gate is open.
FrameCandidates look(Thinned& sound, std::size_t frames, std::vector<float>& levels) {
  Yin yin(sound);
  FrameCandidates found;
  std::vector<Candidate> here;
  bool open = false;
  for (std::size_t n = 0; n < frames; n += kLanes) {
    std::array<bool, kLanes> opens{};
    for (std::size_t lane = 0; lane < kLanes && n + lane < frames; ++lane) {
      const double level = yin.take_frame(lane, frame_time(n + lane));
      levels.push_back(static_cast<float>(level));
      opens[lane] = open = level >= (open ? gate_closes : gate_opens);
    }
    if (std::find(opens.begin(), opens.end(), true) != opens.end()) yin.correlate();
    for (std::size_t lane = 0; lane < kLanes && n + lane < frames; ++lane) {
      here.clear();
      if (opens[lane]) yin.candidates(lane, here);
      found.add(here);
    }
  }
  return found;
}

std::vector<FinePitch> look_closer(FinePeriod& fine, const std::vector<float>& periods) {
  std::vector<FinePitch> pitches(periods.size());
  for (std::size_t n = 0; n < periods.size(); ++n)
    if (periods[n] > 0) pitches[n] = fine(frame_time(n), static_cast<double>(periods[n]));
  return pitches;
}

/// One point a voiced frame, one at the start of each silence, and one at the end.
PitchTrack points(const std::vector<FinePitch>& pitches, const std::vector<float>& levels, double length_s) {
  PitchTrack track;
  const float loudest = levels.empty() ? 0.0F : *std::max_element(levels.begin(), levels.end());
  bool sounding = true;
  for (std::size_t n = 0; n < pitches.size() && frame_time(n) < length_s; ++n) {
    const bool voiced = pitches[n].period_s > 0;
    if (!voiced && sounding) track.points.push_back({frame_time(n), 0, 0});
    sounding = voiced;
    if (!voiced) continue;
    const double hz = 1.0 / static_cast<double>(pitches[n].period_s);
    track.points.push_back(
        {frame_time(n), hz, strength_of(static_cast<double>(levels[n]), static_cast<double>(loudest))});
  }
  track.points.push_back({length_s, 0, 0});
  return track;
}

}  // namespace

Heard listen_follow(const SoundSource& sound) {
  require_usable_rate(sound.rate_hz());
  Thinned thinned(sound);
  std::vector<float> levels;
  const std::vector<float> periods = pitch_path(look(thinned, frame_count(sound), levels), shortest_frames);
  FinePeriod fine(thinned);
  std::vector<FinePitch> pitches = look_closer(fine, periods);
  trim_ends(pitches);
  extend_ends(pitches, [&](std::size_t n, float rough_s) {
    return fine(frame_time(n), static_cast<double>(rough_s));
  });
  return points(pitches, levels, sound.length_s());
}

}  // namespace burstloom
