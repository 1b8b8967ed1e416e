#include "burstloom/live/recording.hpp"

#include <cmath>
#include <filesystem>

namespace burstloom {

LiveRecording::LiveRecording(const Profile& profile, std::int64_t tick_hz) : profile_text_(profile.text) {
  stream_.tick_hz = tick_hz;
  account_.limits = limit_names(profile.limits);
  account_.limits.emplace_back("made too late");
}

void LiveRecording::add(const Recorded& entry) {
  if (entry.what == Recorded::What::message)
    add(entry.message, entry.at);
  else
    add(entry.burst);
}

// Notes are counted as the engine counts them: every note-on.
void LiveRecording::add(const MidiMessage& message, Tick at) {
  midi_.add(std::llround(stream_.seconds(at) / kMidiRecordingStep_s), message.span());
  if (message.kind() != 0x90 || message.bytes[2] == 0) return;
  account_.notes.push_back({.start = at,
                            .end = at,
                            .key = static_cast<double>(message.bytes[1]),
                            .velocity = message.bytes[2] / 127.0,
                            .channel = static_cast<int>(message.channel())});
}

Causes LiveRecording::causes_of(Causes causes) const {
  const Causes too_late = Causes{1} << (account_.limits.size() - 1);
  return (causes & kTooLate) != 0 ? (causes & ~kTooLate) | too_late : causes;
}

void LiveRecording::add(const LiveBurst& burst) {
  if (burst.note >= account_.notes.size())
    account_.notes.resize(burst.note + 1, {.start = burst.wanted_start, .end = burst.wanted_start});
  AccountedNote& note = account_.notes[burst.note];
  note.voice = burst.voice;
  note.end = std::max({note.end, burst.wanted_start + burst.wanted_on, burst.start + burst.on});
  std::optional<std::uint32_t> index;
  if (burst.on > 0) {
    index = static_cast<std::uint32_t>(stream_.bursts.size());
    stream_.bursts.push_back({burst.start, burst.on});
    account_.note_of_burst.push_back(burst.note);
    reach(burst.start + burst.on);
  }
  if (burst.fate != Fate::kept)
    account_.changes.push_back({.note = burst.note,
                                .wanted_start = burst.wanted_start,
                                .wanted_on = burst.wanted_on,
                                .burst = index,
                                .fate = burst.fate,
                                .causes = causes_of(burst.causes)});
}

BurstFile LiveRecording::stream(const std::string& title) const {
  BurstFile file{stream_, title, profile_text_, account_};
  for (const AccountedNote& note : account_.notes)
    file.stream.length = std::max(file.stream.length, note.end);
  return file;
}

Bytes LiveRecording::midi(const std::string& title) const {
  return midi_.file(title, std::llround(stream_.seconds(stream_.length) / kMidiRecordingStep_s));
}

void LiveRecording::write(const std::string& name) const {
  const std::string title = std::filesystem::path(name).filename().string();
  FilesTogether both;
  both.add(name + ".burst", to_burst_file(stream(title)));
  both.add(name + ".mid", midi(title));
  both.place();
}

}  // namespace burstloom
