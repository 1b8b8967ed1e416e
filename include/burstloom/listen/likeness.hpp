// How much of a sound's harmony is left in another.
#pragma once

#include "burstloom/listen/sound_source.hpp"

namespace burstloom {

/// 0 to 1: the mean over time of the cosine between the two sounds' weights of the twelve pitch classes
/// (chroma, after M. Mueller, Fundamentals of Music Processing, 2015, ch. 3; from memory), each moment
/// weighing as loud as `source` is there. It tells harmony and when it sounds; nothing of octave, timbre or
/// loudness. Sounds without a pitch are unlike anything. Both of 1 kHz or more.
[[nodiscard]] double chroma_likeness(const SoundSource& source, const SoundSource& other);
[[nodiscard]] inline double chroma_likeness(const Sound& source, const Sound& other) {
  return chroma_likeness(HeldSound(source), HeldSound(other));
}

}  // namespace burstloom
