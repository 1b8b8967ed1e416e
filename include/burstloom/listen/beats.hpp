// The beat of heard notes, and notes brought onto it.
#pragma once

#include <optional>

#include "burstloom/score/score.hpp"

namespace burstloom {

/// Beats at `first_s` plus whole multiples of `period_s`.
struct Beats {
  double first_s = 0, period_s = 0.5;
  double clarity = 0;  ///< 0 to 1: how close to beats and halves of them notes begin
  [[nodiscard]] double a_minute() const { return 60 / period_s; }
};

/// The steady beat, 60 to 200 a minute, that most notes begin on or half-way between: the phase in which
/// their beginnings agree best (a periodogram of onsets; circular mean, N. Fisher, Statistical Analysis of
/// Circular Data, 1993, from memory). Of a rate and its double, which fit alike, the one from 71 to 141 a
/// minute is taken. Nothing where they agree with none, as in music without a steady tempo, or where there
/// are fewer than eight notes.
[[nodiscard]] std::optional<Beats> beats_of(const Score& score);

/// Notes that begin at the nearest `parts`th (1 to 16) of a beat, where they begin within a third of that
/// from it; as long as before. Throws Error (usage) for parts out of range.
[[nodiscard]] Score snapped(Score score, const Beats& beats, int parts);

}  // namespace burstloom
