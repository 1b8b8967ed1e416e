// Standard MIDI Files 1.0 (RP-001), read by a small bounds-checked reader of our own;
// docs/reference/dependencies.md says why.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "burstloom/score/midi_message.hpp"
#include "burstloom/score/score.hpp"

namespace burstloom {

/// An event of a track: a channel message (status 0x80 to 0xEF), a meta event (0xFF, `type` set) or a system
/// exclusive packet (0xF0, 0xF7). `data` points into the file's bytes.
struct MidiEvent {
  std::uint64_t tick = 0;  ///< since the start of the track, in the file's own division
  std::uint8_t status = 0;
  std::uint8_t type = 0;  ///< meta events only
  std::span<const std::uint8_t> data;
};

struct MidiTrack {
  std::string name;
  std::vector<MidiEvent> events;
  std::uint64_t end_tick = 0;
};

struct MidiFile {
  std::string file;            ///< the name it is called by in messages
  int format = 0;              ///< 0, 1 or 2
  std::uint16_t division = 0;  ///< as in the header: ticks a quarter note, or SMPTE frames and ticks a frame
  std::vector<MidiTrack> tracks;
  std::vector<std::string> remarks;
};

struct MidiOptions {
  bool salvage = false;  ///< keep what stands before damage, and say so in the remarks
};

/// Larger files are refused: the largest songs in circulation have a few megabytes.
inline constexpr std::size_t kLargestMidiFile = std::size_t{64} << 20;

/// The file's chunks and events. `bytes` must outlive the result. Throws Error (bad_input with byte offset).
[[nodiscard]] MidiFile parse_midi(std::span<const std::uint8_t> bytes, const std::string& file,
                                  const MidiOptions& options = {});

/// The notes: tempo map, running notes, sustain pedal. Format 2's patterns follow one another. The title is
/// the first track's name, or `title` where that is none or a placeholder ("Track 1"). A note held for more
/// than ten minutes ends then: its end was lost. Throws Error (bad_input) for songs longer than a day.
[[nodiscard]] Score score_of(const MidiFile& midi, const std::string& title);

/// A channel message of a file and its moment.
struct TimedMessage {
  double at_s = 0;
  MidiMessage message;
};
/// All channel messages in order of time, as a port would hear them; format 2's patterns follow one another.
/// Throws Error (bad_input) for songs longer than a day.
[[nodiscard]] std::vector<TimedMessage> messages_of(const MidiFile& midi);

/// Both steps, from a file on disk; the file's own name without its ending is the title of a song without
/// one.
[[nodiscard]] Score read_midi_score(const std::string& path, const MidiOptions& options = {});

}  // namespace burstloom
