// Chunks and events of a Standard MIDI File.
#include <algorithm>
#include <array>
#include <optional>

#include "burstloom/common/file_kind.hpp"
#include "burstloom/common/words.hpp"
#include "burstloom/score/midi.hpp"
#include "midi_bytes.hpp"

namespace burstloom {
namespace midi_detail {

Error error_of(const Damage& damage, const std::string& file) {
  return bad_input(damage.what, file + ", byte " + std::to_string(damage.byte),
                   "get a whole copy of the file, or play what stands before the damage with --salvage");
}

}  // namespace midi_detail

namespace {

using namespace midi_detail;

constexpr std::size_t kLongestName = 300;
constexpr std::string_view kSoundEndings[] = {".wav", ".aif", ".aiff", ".flac", ".ogg", ".opus", ".mp3"};
constexpr std::uint8_t kMeta = 0xFF, kTrackName = 0x03, kEndOfTrack = 0x2F;

bool has_text(std::span<const std::uint8_t> bytes, std::size_t at, const char (&four)[5]) {
  return at + 4 <= bytes.size() &&
         std::equal(four, four + 4, bytes.begin() + static_cast<std::ptrdiff_t>(at));
}

bool is_named_as_sound(const std::string& file) {
  const std::string small = in_small_letters(file);
  return std::any_of(std::begin(kSoundEndings), std::end(kSoundEndings),
                     [&](std::string_view ending) { return small.ends_with(ending); });
}

std::string hex(std::uint8_t value) {
  constexpr const char* digits = "0123456789ABCDEF";
  return {digits[value >> 4], digits[value & 15]};
}

// One track's events, in the file's order. What was read before damage stays in `track`.
class TrackReader {
 public:
  TrackReader(MidiBytes bytes, MidiTrack& track) : bytes_(bytes), track_(track) {}

  /// Up to the end-of-track event; returns how many bytes stand after it.
  std::size_t run() {
    track_.events.reserve(bytes_.left() / 4);
    while (!read_event()) {
    }
    return bytes_.left();
  }

 private:
  // True when it was the end of the track.
  bool read_event() {
    if (bytes_.left() == 0) throw Damage{"a track ends without its end-of-track event", bytes_.at()};
    const std::uint64_t tick = track_.end_tick + bytes_.variable_length();
    const std::size_t start = bytes_.at();
    MidiEvent event{.tick = tick, .status = bytes_.peek(), .type = 0, .data = {}};
    if (event.status < 0x80)
      event.status = running_status(start);
    else
      bytes_.byte();
    if (event.status < 0xF0)
      event.data = channel_data(event.status, start);
    else if (event.status == kMeta) {
      event.type = bytes_.byte();
      event.data = bytes_.take(bytes_.variable_length());
    } else if (event.status == 0xF0 || event.status == 0xF7)
      event.data = bytes_.take(bytes_.variable_length());
    else
      throw Damage{"a track holds the status byte " + hex(event.status) + ", which no MIDI file may hold",
                   start};
    running_ = event.status < 0xF0 ? event.status : 0;  // meta events and sysex cancel it
    keep(event);
    return event.status == kMeta && event.type == kEndOfTrack;
  }

  void keep(const MidiEvent& event) {
    track_.end_tick = event.tick;
    if (event.status == kMeta && event.type == kTrackName && track_.name.empty())
      track_.name = printable({event.data.begin(), event.data.end()}, kLongestName);
    track_.events.push_back(event);
  }

  [[nodiscard]] std::uint8_t running_status(std::size_t at) const {
    if (running_ == 0) throw Damage{"a data byte stands where an event's status byte belongs", at};
    return running_;
  }

  std::span<const std::uint8_t> channel_data(std::uint8_t status, std::size_t start) {
    const bool has_one = (status & 0xE0) == 0xC0;  // program change, channel pressure
    const auto data = bytes_.take(has_one ? 1 : 2);
    for (const std::uint8_t it : data)
      if (it >= 0x80) throw Damage{"a channel message has " + hex(it) + " for a data byte", start};
    return data;
  }

  MidiBytes bytes_;
  MidiTrack& track_;
  std::uint8_t running_ = 0;
};

class FileReader {
 public:
  FileReader(std::span<const std::uint8_t> bytes, MidiFile& midi) : bytes_(bytes), midi_(midi) {}

  void run() {
    std::size_t at = read_header(start_of_header());
    while (bytes_.size() - at >= 8) at = read_chunk(at);
    if (midi_.tracks.size() < tracks_promised_)
      throw Damage{"the header promises " + std::to_string(tracks_promised_) + " tracks, the file has " +
                       std::to_string(midi_.tracks.size()),
                   bytes_.size()};
    if (midi_.tracks.size() > tracks_promised_)
      midi_.remarks.push_back("the header promises " + std::to_string(tracks_promised_) + " tracks; all " +
                              std::to_string(midi_.tracks.size()) + " were read");
    if (at < bytes_.size())
      midi_.remarks.push_back(std::to_string(bytes_.size() - at) +
                              " bytes after the last chunk were ignored");
  }

 private:
  // Some programs wrap the file into a RIFF container of type RMID, whose chunk "data" holds it.
  std::size_t start_of_header() const {
    if (!has_text(bytes_, 0, "RIFF") || !has_text(bytes_, 8, "RMID")) return 0;
    for (std::size_t at = 12; at + 8 <= bytes_.size();) {
      if (has_text(bytes_, at, "data")) return at + 8;
      const auto b = bytes_.subspan(at + 4, 4);
      const std::size_t length =
          b[0] | std::size_t{b[1]} << 8 | std::size_t{b[2]} << 16 | std::size_t{b[3]} << 24;
      at += 8 + length + length % 2;
    }
    return 0;
  }

  [[noreturn]] void refuse_other_kind() const {
    require_kind(FileKind::midi, {reinterpret_cast<const char*>(bytes_.data()), bytes_.size()}, midi_.file);
    if (is_named_as_sound(midi_.file))
      throw bad_input("no sound can be read from this file: it is damaged from its first byte on", midi_.file,
                      "copy or export it again");
    throw bad_input("this is no MIDI file: it does not begin with \"MThd\"", midi_.file,
                    "name a MIDI file (.mid), or a sound file (WAV, AIFF, FLAC, OGG, Opus, MP3)");
  }

  std::size_t read_header(std::size_t at) {
    if (!has_text(bytes_, at, "MThd")) refuse_other_kind();
    MidiBytes header(bytes_, at + 4, bytes_.size());
    const std::uint32_t length = header.number(4);
    if (length < 6)
      throw Damage{"the header chunk has " + std::to_string(length) + " bytes instead of 6", at + 4};
    set_format(header.number(2));
    tracks_promised_ = header.number(2);
    const std::size_t division_at = header.at();
    midi_.division = static_cast<std::uint16_t>(header.number(2));
    require_division(division_at);
    header.take(length - 6);  // a longer header is allowed; its surplus is skipped
    return header.at();
  }

  void set_format(std::uint32_t format) {
    midi_.format = static_cast<int>(format);
    if (format <= 2) return;
    midi_.format = 1;  // as the standard allows for formats to come
    midi_.remarks.push_back("the file has the unknown format " + std::to_string(format) +
                            "; it was read as format 1");
  }

  void require_division(std::size_t at) const {
    const int frames = -static_cast<std::int8_t>(midi_.division >> 8);
    const bool is_smpte = midi_.division >= 0x8000;
    const bool known_frames = frames == 24 || frames == 25 || frames == 29 || frames == 30;
    if (is_smpte ? known_frames && (midi_.division & 0xFF) != 0 : midi_.division != 0) return;
    throw Damage{"the header has the division " + hex(static_cast<std::uint8_t>(midi_.division >> 8)) +
                     hex(static_cast<std::uint8_t>(midi_.division & 0xFF)) + ", which gives no unit of time",
                 at};
  }

  std::size_t read_chunk(std::size_t at) {
    MidiBytes chunk(bytes_, at + 4, bytes_.size());
    const std::uint32_t length = chunk.number(4);
    const std::size_t begin = chunk.at(), end = begin + std::min<std::size_t>(length, chunk.left());
    const bool is_cut = length > chunk.left();
    if (has_text(bytes_, at, "MTrk")) {
      read_track(MidiBytes(bytes_, begin, end));
    } else if (all_tracks_read()) {
      midi_.remarks.push_back(std::to_string(bytes_.size() - at) +
                              " bytes after the last track were ignored");
      return bytes_.size();
    }
    if (is_cut)
      throw Damage{"the file ends within a chunk of " + std::to_string(length) + " bytes", bytes_.size()};
    return end;
  }
  [[nodiscard]] bool all_tracks_read() const { return midi_.tracks.size() >= tracks_promised_; }

  void read_track(MidiBytes bytes) {
    midi_.tracks.emplace_back();
    const std::size_t number = midi_.tracks.size();
    if (const std::size_t rest = TrackReader(bytes, midi_.tracks.back()).run(); rest > 0)
      midi_.remarks.push_back(std::to_string(rest) + " bytes after the end of track " +
                              std::to_string(number) + " were ignored");
  }

  std::span<const std::uint8_t> bytes_;
  MidiFile& midi_;
  std::size_t tracks_promised_ = 0;
};

}  // namespace

MidiFile parse_midi(std::span<const std::uint8_t> bytes, const std::string& file,
                    const MidiOptions& options) {
  MidiFile midi;
  midi.file = file;
  try {
    FileReader(bytes, midi).run();
  } catch (const Damage& damage) {
    if (!options.salvage || midi.tracks.empty()) throw error_of(damage, file);
    midi.remarks.push_back("salvaged what stands before the damage at byte " + std::to_string(damage.byte) +
                           ": " + damage.what);
  }
  return midi;
}

}  // namespace burstloom
