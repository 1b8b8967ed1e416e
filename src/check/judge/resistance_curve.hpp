// How a MOSFET's resistance rises with its junction, and where the two settle: the judge's own sums.
#pragma once

namespace burstloom::judge_detail {

inline constexpr double kLowest_c = -100, kLost_c = 300;  ///< past this a junction is lost

/// e^(rate (c - 25)) of the resistance at 25 C.
class ResistanceCurve {
 public:
  /// `rate`: per K, not negative.
  explicit ResistanceCurve(double rate) : rate_(rate) {}
  /// At a junction (C) from `kLowest_c` to `kLost_c`, and past that as there.
  [[nodiscard]] double at(double junction_c) const;
  /// The factor on which junction and resistance agree, the lowest: `at(fixed_c + resistive_k * factor)`.
  [[nodiscard]] double settled(double fixed_c, double resistive_k) const;

 private:
  double rate_;
};

}  // namespace burstloom::judge_detail
