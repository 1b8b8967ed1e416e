// A sound gone through in blocks, as often as is needed, without being held in memory.
#pragma once

#include <cstdint>
#include <memory>
#include <span>

#include "burstloom/listen/sound.hpp"

namespace burstloom {

/// What is known of a sound once it was gone through.
struct SoundFigures {
  std::int64_t samples = 0;
  double offset = 0;  ///< mean of the samples
  double rms = 0;     ///< root of their mean square
  double peak = 0;    ///< the largest, whatever its sign
};

/// Goes through a sound once, from its start.
class SoundReader {
 public:
  SoundReader() = default;
  SoundReader(const SoundReader&) = delete;
  SoundReader& operator=(const SoundReader&) = delete;
  virtual ~SoundReader() = default;
  /// The next samples, in blocks of any size; none at the end. Valid until the next call.
  virtual std::span<const float> next() = 0;
};

/// One channel, about -1 to 1. What is heard in it never depends on the size of its blocks.
class SoundSource {
 public:
  SoundSource() = default;
  SoundSource(const SoundSource&) = delete;
  SoundSource& operator=(const SoundSource&) = delete;
  virtual ~SoundSource() = default;
  [[nodiscard]] virtual int rate_hz() const = 0;
  [[nodiscard]] virtual const SoundFigures& figures() const = 0;
  /// Readers do not know of each other; the source must outlive them.
  [[nodiscard]] virtual std::unique_ptr<SoundReader> reader() const = 0;

  [[nodiscard]] double length_s() const {
    return rate_hz() > 0 ? static_cast<double>(figures().samples) / rate_hz() : 0.0;
  }
};

/// A sound in memory, in blocks of `block` samples; 0: all at once. `sound` must outlive this.
class HeldSound : public SoundSource {
 public:
  explicit HeldSound(const Sound& sound, std::size_t block = 0);
  [[nodiscard]] int rate_hz() const override { return sound_.rate_hz; }
  [[nodiscard]] const SoundFigures& figures() const override { return figures_; }
  [[nodiscard]] std::unique_ptr<SoundReader> reader() const override;

 private:
  const Sound& sound_;
  std::size_t block_;
  SoundFigures figures_;
};

/// All samples of a source, for what needs them at once. Throws Error (machine) when memory runs out.
[[nodiscard]] std::vector<float> samples_of(const SoundSource& source);

}  // namespace burstloom
