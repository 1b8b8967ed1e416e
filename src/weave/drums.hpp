// Percussion: each stroke is a short gesture of bursts, told apart by rate, sweep, density and length.
//
// | gesture    | GM sounds                 | from Hz | to Hz | for ms | gaps      | what one hears |
// |------------|---------------------------|---------|-------|--------|-----------|-----------------------------------|
// | kick       | 35 36                     | 220     | 50    | 90     | even      | a thump that falls | |
// snare      | 38 40 39 (clap)           | 900     | 600   | 120    | irregular | a short burst of noise | |
// closed hat | 42 44 54 69 70            | 1800    | 1800  | 35     | irregular | a tick of dense noise | |
// open hat   | 46                        | 1800    | 1400  | 220    | irregular | the same, dying away | |
// low tom    | 41 43 45 61 64 66         | 150     | 85    | 150    | even      | a falling tone | | high tom
// | 47 48 50 60 62 63 65 78 79| 270     | 160   | 130    | even      | the same, higher                  | |
// cymbal     | 49 51 52 55 57 59         | 1300    | 500   | 500    | irregular | noise that thins out | |
// bell       | 53 56 67 68 71 72 80 81   | 1050    | 1050  | 110    | even      | a short steady tone | |
// click      | 37 58 73 74 75 76 77      | 700     | 700   | 22     | even      | a knock | The gestures are
// our own design; the sounds' numbers are the percussion key map of General MIDI 1 (35 to 81).
#pragma once

#include "burstloom/score/score.hpp"
#include "burstloom/weave/weave.hpp"
#include "ensemble.hpp"
#include "loudness.hpp"

namespace burstloom::weave_detail {

struct Drummed {
  std::vector<WantedBurst> bursts;  ///< in order of start
  std::vector<NoteFate> fates;      ///< of percussion, in order of note, then time
};

/// All percussion of the score in voice `voice`. One gesture at a time: a stroke ends the one before, but
/// gives way to one of higher standing (kick and snare, toms, cymbal, bell, click, open hat, closed hat) that
/// began less than half its length or 15 ms ago; within 15 ms of each other only one of them plays. Irregular
/// gaps are a fixed sequence for each note's index, 0.4 to 1.6 of the mean.
[[nodiscard]] Drummed drum_gestures(const Score& score, const Loudness& loudness, const TrainLimits& limits,
                                    const WeaveOptions& options, std::uint16_t voice);

}  // namespace burstloom::weave_detail
