// Loudness by ITU-R BS.1770-4 and EBU Tech 3341.
#pragma once

#include <memory>
#include <optional>
#include <span>

namespace burstloom {

/// Measures as samples come in: K-weighted, gated loudness (LUFS) and true peak (dBTP, four times oversampled
/// below 96 kHz). One channel counts as one loudspeaker: a mono file that plays on two is 3 LU louder than it
/// reads.
class LoudnessMeter {
 public:
  /// 1 to 5 channels (five: L, R, C, Ls, Rs), 8 to 192 kHz; else throws Error (usage). The true peak takes
  /// twice as long as all else: without it none is told.
  LoudnessMeter(int channels, int rate_hz, bool with_true_peak = true);
  LoudnessMeter(LoudnessMeter&&) noexcept;
  LoudnessMeter& operator=(LoudnessMeter&&) noexcept;
  ~LoudnessMeter();

  /// Whole frames, channels side by side; a rest of a frame is an Error (usage).
  void add(std::span<const float> interleaved);

  /// Of everything so far, gated; nothing when no block of 400 ms was above -70 LUFS.
  [[nodiscard]] std::optional<double> integrated_lufs() const;
  /// The highest of all channels; nothing for silence, or when it was not asked for.
  [[nodiscard]] std::optional<double> true_peak_dbtp() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace burstloom
