// Which line of the music each note belongs to: the arrangement's word, or a guess.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "burstloom/score/score.hpp"
#include "voices.hpp"

namespace burstloom::weave_detail {

/// A line of the music that rests no longer than this is still going on: nobody else takes the lead
/// meanwhile.
inline constexpr double kLineRest_s = 0.25;

/// For each note lead, bass, inner or drums, as it stands at its onset. What a note's `part` says holds.
/// Else, unless a stated lead is going on, the lead is the highest note of the most melodic line (a track's
/// channel) going on; and the lowest note is the bass, unless it leads or a stated bass sounds. A line is the
/// more melodic the more often its notes are the highest at their onset, the louder they are and the fewer of
/// its own sound with them (common practice).
[[nodiscard]] std::vector<Part> parts_of(const Score& score);

/// The same, told note by note of what is known so far: of channels instead of lines, among the notes that
/// have a voice. Never allocates.
class PartsSoFar {
 public:
  /// The part of a note that is about to begin; `stated` is what somebody said of it.
  Part part_of(const Sounding& newcomer, Part stated, std::span<const Sounding> on_stage);
  /// A note of the channel has ended.
  void end(int channel, bool stated_lead, double at_s);

 private:
  [[nodiscard]] bool goes_on(int channel, double now_s, std::span<const Sounding> on_stage) const;
  [[nodiscard]] int leading_channel(const Sounding& newcomer, std::span<const Sounding> on_stage) const;

  struct Channel {
    double melodic = 0, ended_s = -1e9;
  };
  std::array<Channel, 16> channels_;
  double stated_lead_ended_s_ = -1e9;
};

}  // namespace burstloom::weave_detail
