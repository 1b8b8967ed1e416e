// Fourier transforms of four frames at once, one in each lane of the processor's vectors: frames are many and
// alike, and four in step take little longer than one. What comes out depends on no processor's extensions.
#pragma once

#include <cstddef>
#include <cstring>
#include <memory>
#include <span>
#include <vector>

namespace burstloom {

inline constexpr std::size_t kLanes = 4;
/// A number of each of four frames.
using Four = float __attribute__((vector_size(kLanes * sizeof(float))));

[[nodiscard]] inline Four four_at(const float* from) {
  Four four;
  std::memcpy(&four, from, sizeof four);
  return four;
}

struct FourComplex {
  Four re, im;
};

/// From an even number of real samples to lines, by KissFFT's template.
class Transforms {
 public:
  explicit Transforms(std::size_t size);
  ~Transforms();
  /// size / 2 + 1 lines; valid until the next call.
  [[nodiscard]] std::span<const FourComplex> operator()(std::span<const Four> samples);

  /// The next size that is fast: its half has no factors but 2, 3 and 5.
  [[nodiscard]] static std::size_t fast_size(std::size_t least);

 private:
  struct State;
  std::unique_ptr<State> state_;
  std::vector<FourComplex> lines_;
};

}  // namespace burstloom
