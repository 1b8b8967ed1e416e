// A long song for many channels, made by rule: to measure time and growth on, not to be listened to.
#pragma once

#include <algorithm>
#include <cmath>

#include "burstloom/score/score.hpp"

namespace burstloom::testing {

/// `channels` (1 to 16) channels for `length_s` seconds, 28 notes a second on 16 of them; channel 10 drums.
/// Each repeats a figure of its own over a harmony that changes every two seconds; four minutes of 16
/// channels have some 13 500 events.
inline Score long_song(double length_s, int channels) {
  constexpr int roots[] = {45, 41, 48, 43, 50, 46, 40, 47}, steps[] = {0, 3, 7, 10, 12, 7, 15, 3};
  constexpr double kNote_s = 0.57;
  Score song;
  song.title = "Long haul";
  song.length_s = length_s;
  for (int channel = 0; channel < channels; ++channel)
    for (int i = 0; (i + 1) * kNote_s <= length_s; ++i) {
      const double start = i * kNote_s + channel % 4 * 0.05;
      Note note;
      note.start_s = start;
      note.end_s = std::min(length_s, start + kNote_s * (0.5 + 0.1 * ((i + channel) % 5)));
      note.velocity = (50 + (i * 7 + channel * 13) % 70) / 127.0;
      note.channel = note.track = channel;
      const int root = roots[static_cast<int>(start / 2) % 8];
      note.key = root + channel % 3 * 12 + steps[(i * (channel % 2 == 0 ? 1 : 3) + channel) % 8];
      if (channel == 9) {
        note.part = Part::drums;
        note.key = i % 2 == 0 ? 36 : 38;  // bass drum and snare of the General MIDI percussion map
      }
      song.notes.push_back(note);
    }
  std::stable_sort(song.notes.begin(), song.notes.end(), [](const Note& a, const Note& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : a.key < b.key;
  });
  return song;
}

}  // namespace burstloom::testing
