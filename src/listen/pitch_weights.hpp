// How strongly each pitch sounds in a spectrum: non-negative factorisation on fixed harmonic templates,
// several narrow bands of harmonics a pitch, so that any timbre fits (E. Vincent, N. Bertin and R. Badeau,
// IEEE TASLP 18(3), 2010), by multiplicative updates (D. Lee and H. Seung, NIPS 2000; the beta-divergence's
// form: C. Fevotte and J. Idier, Neural Computation 23(9), 2011). A penalty on the logarithm of a pitch's
// bands together keeps pitches few (group sparsity: A. Lefevre, F. Bach and C. Fevotte, ICASSP 2011). Spectra
// are evened out in part first (whitening: A. Klapuri, ISMIR 2006).
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "spectra.hpp"

namespace burstloom {

inline constexpr int kLowestKey = 28, kHighestKey = 98;  // E1 to D7
inline constexpr std::size_t kPitches = kHighestKey - kLowestKey + 1;

class PitchWeights {
 public:
  /// For spectra of `axis` whose lines lie `line_hz` apart under a Hann window.
  PitchWeights(const PitchAxis& axis, double line_hz, double highest_hz);

  /// Weight of each pitch, kPitches of them, for one spectrum on the axis: about the root of its amplitude.
  /// All 0 where nothing stands out as a pitch. Valid until the next call.
  std::span<const float> of(std::span<const float> steps);

 private:
  // Harmonics stand apart: of a template's steps only the fours that are not silent are kept.
  struct Block {
    std::size_t step;
    Four shape;
  };
  struct Template {
    std::size_t source;          // a pitch, from kPitches on a noise
    std::size_t first, past;     // blocks
    float sum;                   // of its shape
    float a_sum = 0, share = 0;  // one over the sum; of its weight in its source's total
  };
  void add(std::size_t source, const std::vector<float>& steps);
  float see(std::span<const float> steps);
  void begin();
  void add_up();
  void model();
  void fit();
  void leave_out_the_silent();

  std::size_t steps_;
  std::vector<Block> blocks_;
  std::vector<Template> templates_;  // bands of pitches, then noises
  std::vector<std::size_t> active_;
  std::vector<float> weights_;          // of templates
  std::vector<float> totals_, spared_;  // of pitches and noises
  std::vector<Four> first_model_, model_, ratio_;
  std::vector<float> seen_, around_;
};

}  // namespace burstloom
