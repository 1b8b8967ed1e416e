#include "burstloom/score/write_midi.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "midi_writing.hpp"

namespace burstloom {
namespace {

using namespace midi_detail;

constexpr int kTicksAQuarter = 960, kPercussion = 9;
constexpr double kTicksASecond = kTicksAQuarter * 1e6 / kTempo_us, kLongest_s = 86'400;

struct Event {
  std::uint32_t tick;
  bool begins;
  std::uint8_t key, velocity;
};

int channel_of(const Note& note) {
  if (note.part == Part::drums) return kPercussion;
  return note.channel == kPercussion ? kPercussion + 1 : note.channel;
}

std::uint32_t tick_of(double seconds) {
  return static_cast<std::uint32_t>(std::llround(std::clamp(seconds, 0.0, kLongest_s) * kTicksASecond));
}

Bytes notes_of(int channel, std::vector<Event> events, std::uint32_t& now) {
  // At one tick, what ends comes before what begins.
  std::stable_sort(events.begin(), events.end(), [](const Event& a, const Event& b) {
    return a.tick != b.tick ? a.tick < b.tick : a.begins < b.begins;
  });
  Bytes out;
  for (const Event& event : events) {
    append_variable(out, event.tick - now);
    now = event.tick;
    out.push_back(static_cast<std::uint8_t>((event.begins ? 0x90 : 0x80) | channel));
    out.push_back(event.key);
    out.push_back(event.velocity);
  }
  return out;
}

}  // namespace

Bytes to_midi(const Score& score) {
  if (!(score.length_s <= kLongest_s))
    throw Error(Fault::usage, "the score is longer than a day", printable(score.title), "cut it into songs");
  std::array<std::vector<Event>, 16> channels;
  for (const Note& note : score.notes) {
    const auto key = static_cast<std::uint8_t>(std::lround(std::clamp(note.key, 0.0, 127.0)));
    const auto velocity = static_cast<std::uint8_t>(std::clamp(std::lround(note.velocity * 127), 1l, 127l));
    auto& events = channels[static_cast<std::size_t>(channel_of(note))];
    const std::uint32_t start = tick_of(note.start_s);
    events.push_back({start, true, key, velocity});
    events.push_back({std::max(tick_of(note.end_s), start + 1), false, key, 64});
  }
  Bytes tracks;
  const std::uint32_t length = tick_of(score.length_s);
  append_track(tracks, opening(score.title), length);
  std::uint32_t count = 1;
  for (std::size_t c = 0; c < channels.size(); ++c) {
    if (channels[c].empty()) continue;
    std::uint32_t now = 0;
    const Bytes events = notes_of(static_cast<int>(c), std::move(channels[c]), now);
    append_track(tracks, events, length > now ? length - now : 0);
    ++count;
  }
  Bytes out;
  append_header(out, 1, count, kTicksAQuarter);
  out.insert(out.end(), tracks.begin(), tracks.end());
  return out;
}

}  // namespace burstloom
