// An invented song that is as large as songs get: every channel plays all along.
#pragma once

#include <algorithm>
#include <string>

#include "burstloom/score/write_midi.hpp"

namespace burstloom::testing {

/// Channels 1 to `channels` (at most 16; the tenth is percussion) at 120 a minute: quarter notes, half notes
/// on every fourth channel, over four chords of two seconds. 240 s of 16 channels: 13 500 events, 60 kB.
inline Score sixteen_channel_score(double seconds, int channels) {
  constexpr int kChords[] = {0, 5, 9, 7}, kTriad[] = {0, 4, 7}, kStrokes[] = {36, 42, 38, 46};
  constexpr int kPercussion = 9;
  Score score;
  score.title = "Sixteen ferries";
  score.length_s = seconds;
  for (int channel = 0; channel < std::min(channels, 16); ++channel) {
    const bool drums = channel == kPercussion;
    const double step_s = channel % 4 == 3 ? 1.0 : 0.5;
    for (int step = 0; step_s * (step + 1) <= seconds; ++step) {
      const double start_s = step_s * step;
      const int chord = kChords[static_cast<int>(start_s / 2) % 4];
      score.notes.push_back({.start_s = start_s,
                             .end_s = start_s + 0.9 * step_s,
                             .key = static_cast<double>(drums ? kStrokes[step % 4]
                                                              : 36 + 12 * (channel % 4) + chord +
                                                                    kTriad[(step * 7 + channel * 5) % 3]),
                             .velocity = 0.5 + 0.05 * ((step * 3 + channel) % 10),
                             .channel = channel,
                             .part = drums ? Part::drums : Part::any});
    }
  }
  std::stable_sort(score.notes.begin(), score.notes.end(), [](const Note& a, const Note& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : a.key < b.key;
  });
  return score;
}

/// The same as the bytes of a MIDI file.
inline std::string sixteen_channel_song(double seconds, int channels) {
  const Bytes bytes = to_midi(sixteen_channel_score(seconds, channels));
  return {bytes.begin(), bytes.end()};
}

}  // namespace burstloom::testing
