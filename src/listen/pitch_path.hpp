// Which candidate of each frame belongs to the melody, and which frames have none.
#pragma once

#include <cstddef>
#include <deque>
#include <vector>

#include "yin.hpp"

namespace burstloom {

/// Candidates of all frames, one after the other: those of frame n are at [begin[n], begin[n + 1]).
struct FrameCandidates {
  std::deque<Candidate> all;  // of hours: it grows without being copied
  std::deque<std::size_t> begin = {0};

  void add(const std::vector<Candidate>& frame) {
    all.insert(all.end(), frame.begin(), frame.end());
    begin.push_back(all.size());
  }
  [[nodiscard]] std::size_t frames() const { return begin.size() - 1; }
};

/// The cheapest way through the frames (Viterbi 1967). A candidate costs its aperiodicity, and a little more
/// if YIN's threshold did not choose it; a frame without pitch costs the voicing threshold; leaps cost by
/// their width, up to an octave; starting and ending to sound costs as well. So a slip of an octave for a few
/// frames is repaired, and a leap that lasts is followed. Returns periods in seconds, 0 where there is no
/// pitch; what sounds for fewer than `shortest_frames` is taken out.
[[nodiscard]] std::vector<float> pitch_path(const FrameCandidates& candidates, std::size_t shortest_frames);

}  // namespace burstloom
