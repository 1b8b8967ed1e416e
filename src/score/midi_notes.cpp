// A MIDI file's events played through: notes with their beginning and end in seconds.
#include <algorithm>
#include <array>
#include <filesystem>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/score/keys.hpp"
#include "burstloom/score/midi.hpp"
#include "channel.hpp"
#include "tempo.hpp"
#include "titles.hpp"

namespace burstloom {
namespace {

using midi_detail::Channel;
using midi_detail::TempoMap;

constexpr std::uint8_t kTempo = 0x51;
constexpr double kLongestSong_s = 24 * 3600;
// No music holds a note for so long, and no coil should: its end was lost.
constexpr double kLongestNote_s = 600;

// The tracks of a song as one line of events: in order of time, then of track.
class Merged {
 public:
  explicit Merged(std::span<const MidiTrack> tracks) : tracks_(tracks) {
    for (std::size_t i = 0; i < tracks.size(); ++i) push(i, 0);
  }
  [[nodiscard]] bool empty() const { return heads_.empty(); }
  struct Next {
    std::size_t track;
    const MidiEvent& event;
  };
  Next pop() {
    std::pop_heap(heads_.begin(), heads_.end(), later);
    const Head head = heads_.back();
    heads_.pop_back();
    push(head.track, head.index + 1);
    return {head.track, tracks_[head.track].events[head.index]};
  }

 private:
  struct Head {
    std::uint64_t tick;
    std::size_t track, index;
  };
  static bool later(const Head& a, const Head& b) {
    return a.tick != b.tick ? a.tick > b.tick : a.track > b.track;
  }
  void push(std::size_t track, std::size_t index) {
    if (index == tracks_[track].events.size()) return;
    heads_.push_back({tracks_[track].events[index].tick, track, index});
    std::push_heap(heads_.begin(), heads_.end(), later);
  }

  std::span<const MidiTrack> tracks_;
  std::vector<Head> heads_;
};

// Tracks that belong together, played through in time.
class Walk {
 public:
  Walk(const MidiFile& midi, double offset_s) : midi_(midi), tempo_(midi.division), offset_s_(offset_s) {}

  /// Calls `hear(at_s, track, event)` for each channel message; returns the second at which the last of the
  /// tracks ends.
  template <class Hear>
  double through(std::span<const MidiTrack> tracks, Hear hear) {
    for (Merged events(tracks); !events.empty();) {
      const auto [track, event] = events.pop();
      const double at_s = seconds(event.tick);
      event.status < 0xF0 ? hear(at_s, static_cast<int>(track), event) : change_tempo(event);
    }
    std::uint64_t last = 0;
    for (const MidiTrack& track : tracks) last = std::max(last, track.end_tick);
    return seconds(last);
  }
  [[nodiscard]] std::int64_t bad_tempos() const { return bad_tempos_; }

 private:
  [[nodiscard]] double seconds(std::uint64_t tick) const {
    const double at = offset_s_ + tempo_.seconds_at(tick);
    if (at <= kLongestSong_s) return at;
    throw bad_input("the song is longer than a day, by its tempo and its times", midi_.file,
                    "cut it, or mend its tempo");
  }

  void change_tempo(const MidiEvent& event) {
    if (event.status != 0xFF || event.type != kTempo) return;
    const auto& d = event.data;
    const std::uint32_t us = d.size() == 3 ? std::uint32_t{d[0]} << 16 | std::uint32_t{d[1]} << 8 | d[2] : 0;
    if (us > 0)
      tempo_.set_tempo(event.tick, us);
    else
      ++bad_tempos_;
  }

  const MidiFile& midi_;
  TempoMap tempo_;
  double offset_s_;
  std::int64_t bad_tempos_ = 0;
};

// One after the other the tracks that belong together: all, or of format 2 each by itself. Calls
// `play(tracks, first track, where they begin)`, which returns where they end; returns the end of the last.
template <class Play>
double each_pattern(const MidiFile& midi, Play play) {
  const std::span<const MidiTrack> tracks(midi.tracks);
  if (midi.format != 2) return play(tracks, 0, 0.0);
  double end_s = 0;
  for (std::size_t i = 0; i < tracks.size(); ++i)
    end_s = play(tracks.subspan(i, 1), static_cast<int>(i), end_s);
  return end_s;
}

// The instrument that hears the messages.
using Channels = std::array<Channel, kMidiChannels>;

class Player {
 public:
  Player(Score& score, Channels& channels) : score_(score), channels_(channels), keys_(*this) {}

  /// Plays tracks that belong together; returns the second at which the last of them ends.
  double play(const MidiFile& midi, std::span<const MidiTrack> tracks, int first_track, double offset_s) {
    Walk walk(midi, offset_s);
    at_s_ = walk.through(tracks, [&](double at_s, int track, const MidiEvent& event) {
      at_s_ = at_s;
      track_ = first_track + track;
      hear(event);
    });
    end_all(walk.bad_tempos());
    return at_s_;
  }

 private:
  friend class Keys<Player>;

  void hear(const MidiEvent& event) {
    const int channel = event.status & 0x0F;
    const std::uint8_t first = event.data[0];
    const std::uint8_t second = event.data.size() > 1 ? event.data[1] : 0;
    Channel& sound = channels_[static_cast<std::size_t>(channel)];
    switch (event.status & 0xF0) {
      case 0x90:
        return keys_.note_on(channel, first, second);
      case 0x80:
        return keys_.note_off(channel, first);
      case 0xB0:
        sound.controller(at_s_, first, second);
        return keys_.controller(channel, first, second);
      case 0xC0:
        return sound.program(first);
      case 0xD0:
        return sound.pressure(at_s_, first);
      case 0xE0:
        return sound.bend(at_s_, static_cast<std::uint16_t>(second << 7 | first));
      default:
        return;
    }
  }

  void begin(int channel, std::uint8_t key, std::uint8_t velocity) {
    const bool drums = channel == kPercussionChannel;
    note_of_[static_cast<std::size_t>(channel)][key] = score_.notes.size();
    score_.notes.push_back(
        {.start_s = at_s_,
         .end_s = at_s_,
         .key = static_cast<double>(key),
         .velocity = velocity / 127.0,
         .channel = channel,
         .track = track_,
         .envelope = drums ? Envelope::plucked : channels_[static_cast<std::size_t>(channel)].envelope(),
         .part = drums ? Part::drums : Part::any});
  }

  void end(int channel, int key) {
    Note& note = score_.notes[note_of_[static_cast<std::size_t>(channel)][static_cast<std::size_t>(key)]];
    if (at_s_ - note.start_s > kLongestNote_s) ++cut_notes_;
    note.end_s = std::min(at_s_, note.start_s + kLongestNote_s);
  }

  void end_all(std::int64_t bad_tempos) {
    const std::int64_t unended = keys_.end_all();
    if (unended > 0)
      score_.remarks.push_back(std::to_string(unended) + " notes were never let go; they end with the song");
    if (cut_notes_ > 0)
      score_.remarks.push_back(
          std::to_string(cut_notes_) +
          " notes are held for more than ten minutes, as if their end were lost; they end then");
    if (bad_tempos > 0)
      score_.remarks.push_back(std::to_string(bad_tempos) + " tempo events without a tempo were ignored");
  }

  Score& score_;
  Channels& channels_;
  double at_s_ = 0;
  int track_ = 0;
  std::int64_t cut_notes_ = 0;
  std::array<std::array<std::size_t, kMidiKeys>, kMidiChannels> note_of_{};  // what sounds
  Keys<Player> keys_;
};

void sort_notes(std::vector<Note>& notes) {
  std::stable_sort(notes.begin(), notes.end(), [](const Note& a, const Note& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : a.key < b.key;
  });
}

// A channel at full volume is louder than one that never heard of volume: the loudest of all is 1.
void take_curves(Score& score, const Channels& channels) {
  double loudest = 1;
  for (const Channel& channel : channels)
    for (const Step& step : channel.curves().gain) loudest = std::max(loudest, step.value);
  for (std::size_t i = 0; i < channels.size(); ++i) {
    ChannelCurves& curves = score.channels[i];
    curves = channels[i].curves();
    if (loudest <= 1) continue;
    if (curves.gain.empty() || curves.gain.front().at_s > 0) curves.gain.insert(curves.gain.begin(), {0, 1});
    for (Step& step : curves.gain) step.value /= loudest;
  }
}

}  // namespace

Score score_of(const MidiFile& midi, const std::string& title) {
  Score score;
  const std::string first = midi.tracks.empty() ? "" : midi.tracks.front().name;
  score.title = is_placeholder(first) ? title : first;
  score.remarks = midi.remarks;
  Channels channels;
  score.length_s = each_pattern(midi, [&](auto tracks, int first_track, double offset_s) {
    return Player(score, channels).play(midi, tracks, first_track, offset_s);
  });
  take_curves(score, channels);
  sort_notes(score.notes);
  return score;
}

std::vector<TimedMessage> messages_of(const MidiFile& midi) {
  std::vector<TimedMessage> messages;
  each_pattern(midi, [&](auto tracks, int /*first_track*/, double offset_s) {
    return Walk(midi, offset_s).through(tracks, [&](double at_s, int /*track*/, const MidiEvent& event) {
      TimedMessage message{at_s, {{event.status}, static_cast<std::uint8_t>(1 + event.data.size())}};
      std::copy(event.data.begin(), event.data.end(), message.message.bytes.begin() + 1);
      messages.push_back(message);
    });
  });
  return messages;
}

Score read_midi_score(const std::string& path, const MidiOptions& options) {
  const Bytes bytes = read_file(path, kLargestMidiFile);
  return score_of(parse_midi(bytes, printable(path, 200), options),
                  printable(std::filesystem::path(path).stem().string()));
}

}  // namespace burstloom
