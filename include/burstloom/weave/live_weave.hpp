// Weaving note by note, with nothing known of what is still to come: the same voices, loudness, phases and
// percussion as wanted_from_score.
//
// What is different, for want of foresight: octaves are chosen note by note, not by phrases; parts that
// nobody stated go by what was heard so far; a note that gives way at once has sounded for a moment; of two
// strokes that strike together the lesser one may have begun.
#pragma once

#include <memory>
#include <optional>
#include <span>

#include "burstloom/weave/weave.hpp"

namespace burstloom {

/// A note that begins.
struct Onset {
  std::uint32_t note = 0;  ///< the caller's number for it
  Tick at = 0;
  double key = 69, velocity = 1;  ///< as in Note
  int channel = 0;                ///< 0 to 15
  Envelope envelope = Envelope::held;
  Part part = Part::any;
};

/// What became of it at once.
struct Begun {
  NoteFateKind what = NoteFateKind::played;
  std::optional<std::uint32_t> ended{};  ///< the note that gave way for it
  std::uint16_t voice = 0;
};

/// Moments must not fall: what is due before an onset, an end or a change has to be taken first. Allocates
/// nothing and throws nothing after construction.
class LiveWeave {
 public:
  /// Notes end by themselves after `longest_note_s`. Throws Error (usage) for options out of range.
  LiveWeave(const Profile& profile, const WeaveOptions& options, double longest_note_s);
  LiveWeave(LiveWeave&&) noexcept;
  LiveWeave& operator=(LiveWeave&&) noexcept;
  ~LiveWeave();

  Begun begin(const Onset& onset) noexcept;
  /// Nothing for a note that does not sound. Percussion plays to its own end.
  void end(std::uint32_t note, Tick at) noexcept;
  void end_drums(Tick at) noexcept;
  /// A channel from now on: semitones, semitones, factor (1: as loud as written).
  void express(int channel, Tick at, double bend, double vibrato, double gain) noexcept;

  /// When something is due; kEndOfTime while nothing sounds.
  [[nodiscard]] Tick next() const noexcept;
  /// What is due next: a burst, or nothing where a note has ended or is silent. Not while nothing sounds.
  std::optional<WantedBurst> step() noexcept;

  /// What each voice wants next, in order of voice, percussion last; valid until anything is called. At most
  /// `voices` + 1.
  [[nodiscard]] std::span<const VoiceRequest> requests() noexcept;
  /// Whether the note still has a burst to come, or an end that is not past; or is the stroke that plays.
  [[nodiscard]] bool sounds(std::uint32_t note) const noexcept;

 private:
  class Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace burstloom
