#include "quayside.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "midi_bytes.hpp"
#include "notation.hpp"
#include "quayside_score.hpp"

namespace samples {
namespace {

constexpr int kTicksABeat = 480;
constexpr std::uint8_t kPercussion = 9;
constexpr std::array<const char*, kVoices> kNames = {"Melody", "Inner voice, upper", "Inner voice, lower",
                                                     "Bass"};
constexpr std::array<int, kVoices> kSofter = {0, -26, -28, -14};  // than the melody, in velocity

std::uint32_t ticks(double beats) {
  return static_cast<std::uint32_t>(std::lround(beats * kTicksABeat));
}

double beats_of(const Section& section) {
  const auto bars = read_bars(section.voices[3], kBeatsABar);  // the bass has no rests
  return bars.back().beat + bars.back().beats;
}

// Louder or softer along the section, with a lean on each bar's first beat.
std::uint8_t velocity(const Section& section, std::size_t voice, double beat) {
  const double along = beat / beats_of(section);
  const double lean = std::fmod(beat, kBeatsABar) < 0.01 ? 6 : 0;
  const double value = section.from_velocity + (section.to_velocity - section.from_velocity) * along + lean;
  return static_cast<std::uint8_t>(std::clamp(std::lround(value) + kSofter[voice], 1L, 127L));
}

double sounding(const Section& section, std::size_t voice) {
  const bool inner = voice == 1 || voice == 2;
  return inner ? section.inner_length : 0.94;
}

void add_notes(MidiTrackBytes& track, const Section& section, double first_beat, std::size_t voice) {
  const auto channel = static_cast<std::uint8_t>(voice);
  for (const Written& note : read_bars(section.voices[voice], kBeatsABar)) {
    const auto key = static_cast<std::uint8_t>(note.key);
    const double start = first_beat + note.beat;
    track.note(ticks(start), ticks(start + note.beats * sounding(section, voice)), channel, key,
               velocity(section, voice, note.beat));
  }
}

// Down a little after the bar's first note, so that the bar before is let go; up just before the next.
void add_pedal(MidiTrackBytes& track, const Section& section, double first_beat, std::uint8_t channel) {
  for (double bar = 0; bar < beats_of(section); bar += kBeatsABar) {
    track.control(ticks(first_beat + bar + 0.1), channel, 64, 127);
    track.control(ticks(first_beat + bar + kBeatsABar - 0.05), channel, 64, 0);
  }
}

void add_knocks(MidiTrackBytes& track, const Section& section, double first_beat) {
  for (double bar = 0; bar < beats_of(section); bar += 2 * kBeatsABar)
    track.note(ticks(first_beat + bar), ticks(first_beat + bar + 0.25), kPercussion, 76, 70);  // a wood block
}

MidiTrackBytes conductor() {
  MidiTrackBytes track("Quayside Lanterns");
  track.meta(0, 0x58, {3, 2, 24, 8});  // three quarters
  track.meta(0, 0x59, {0xFF, 1});      // one flat, minor
  double first_beat = 0;
  for (const Section& section : quayside_sections()) {
    const auto us = static_cast<std::uint32_t>(std::lround(60e6 / section.beats_a_minute));
    track.meta(ticks(first_beat), 0x51,
               {static_cast<std::uint8_t>(us >> 16), static_cast<std::uint8_t>(us >> 8),
                static_cast<std::uint8_t>(us)});
    first_beat += beats_of(section);
  }
  return track;
}

MidiTrackBytes voice_track(std::size_t voice) {
  MidiTrackBytes track(kNames[voice]);
  double first_beat = 0;
  for (const Section& section : quayside_sections()) {
    add_notes(track, section, first_beat, voice);
    if (section.pedal && voice == 1) add_pedal(track, section, first_beat, static_cast<std::uint8_t>(voice));
    first_beat += beats_of(section);
  }
  return track;
}

MidiTrackBytes percussion() {
  MidiTrackBytes track("Knocks on the hull");
  double first_beat = 0;
  for (const Section& section : quayside_sections()) {
    if (section.knocks) add_knocks(track, section, first_beat);
    first_beat += beats_of(section);
  }
  return track;
}

}  // namespace

void write_quayside_lanterns(const std::string& path) {
  std::vector<MidiTrackBytes> tracks = {conductor()};
  for (std::size_t voice = 0; voice < kVoices; ++voice) tracks.push_back(voice_track(voice));
  tracks.push_back(percussion());
  write_midi(path, kTicksABeat, tracks);
}

}  // namespace samples
