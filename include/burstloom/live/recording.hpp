// All that was played live, as a stream with its account and as a MIDI file.
#pragma once

#include <string>

#include "burstloom/coil/profile.hpp"
#include "burstloom/live/performance.hpp"
#include "burstloom/score/midi_recording.hpp"
#include "burstloom/stream/files.hpp"

namespace burstloom {

class LiveRecording {
 public:
  LiveRecording(const Profile& profile, std::int64_t tick_hz);

  void add(const Recorded& entry);
  /// The player's clock has come so far.
  void reach(Tick now) { stream_.length = std::max(stream_.length, now); }

  /// The stream with every note and every change; a note ends with its last burst.
  [[nodiscard]] BurstFile stream(const std::string& title) const;
  [[nodiscard]] Bytes midi(const std::string& title) const;
  [[nodiscard]] const std::vector<Burst>& bursts() const { return stream_.bursts; }
  [[nodiscard]] std::size_t notes() const { return account_.notes.size(); }

  /// Writes NAME.burst and NAME.mid. Throws Error (machine).
  void write(const std::string& name) const;

 private:
  void add(const MidiMessage& message, Tick at);
  void add(const LiveBurst& burst);
  [[nodiscard]] Causes causes_of(Causes causes) const;

  std::string profile_text_;
  BurstStream stream_;
  Account account_;
  MidiRecording midi_;
};

}  // namespace burstloom
