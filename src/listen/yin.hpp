// YIN: A. de Cheveigne and H. Kawahara, "YIN, a fundamental frequency estimator for speech and music",
// Journal of the Acoustical Society of America 111(4), 2002. What is used of it here, by the paper's step
// numbers:
//
//   2  difference function, by FFT (d = energy + shifted energy - 2 correlation)     yin.cpp
//   3  cumulative mean normalised difference                                         yin.cpp
//   4  absolute threshold                                                            yin.cpp
//   5  parabolic interpolation                                                       yin.cpp, fine_period.cpp
//   6  best local estimate: replaced by the cheapest path through the candidates     pitch_path.cpp
//
// Own additions: lags at half samples (the correlation is interpolated by zero padding its spectrum), because
// at 2 kHz a period is only five samples; candidates besides the paper's choice, for the path to choose from.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "thinned.hpp"
#include "transforms.hpp"

namespace burstloom {

inline constexpr double lowest_pitch_hz = 50.0;
inline constexpr double highest_pitch_hz = 2200.0;

/// A period that a frame may have. `aperiodicity` is the normalised difference there: 0 for a perfectly
/// repeating sound, about 1 for noise.
struct Candidate {
  float period_s = 0;
  float aperiodicity = 1;
  bool chosen_by_threshold = false;  ///< what YIN's step 4 alone would take
};

/// Looks at four frames at once, one in each lane; holds the buffers and the transforms' tables.
class Yin {
 public:
  explicit Yin(Thinned& sound);

  /// Root of the mean square about its mean of the frame around `centre_s`.
  double take_frame(std::size_t lane, double centre_s);
  /// Once all frames are taken, before their candidates are asked for.
  void correlate();
  /// Candidates of a frame, at most five; the one chosen by threshold is first. Empty when no lag comes near
  /// repeating.
  void candidates(std::size_t lane, std::vector<Candidate>& out);

 private:
  void difference(std::size_t lane);
  void normalise();

  Thinned& sound_;
  double rate_hz_;
  std::size_t window_, longest_lag_, size_;
  Transforms forward_, backward_;
  std::vector<Four> frames_, heads_, product_, correlations_;
  std::vector<float> difference_;
  std::array<std::vector<double>, kLanes> energy_to_;  // sums of squares of a frame's first n samples
};

}  // namespace burstloom
