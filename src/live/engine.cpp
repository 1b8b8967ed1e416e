#include "burstloom/live/engine.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/guard/causal_guard.hpp"
#include "burstloom/score/channel_state.hpp"
#include "burstloom/score/keys.hpp"
#include "burstloom/weave/live_weave.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kMostWaiting = 4096;
constexpr std::int64_t kLowestLiveTickHz = 100'000;

void require_playable(const LiveOptions& options) {
  if (options.weave.tick_hz < kLowestLiveTickHz)
    throw Error(Fault::usage, std::to_string(options.weave.tick_hz) + " ticks a second", "",
                "live playing wants at least 100000");
  const Arrangement& arrangement = options.arrangement;
  const bool knows_the_song = !arrangement.tracks.empty() || arrangement.tempo_factor != 1 ||
                              arrangement.start_s != 0 || arrangement.end_s || arrangement.fade_in_s != 0 ||
                              arrangement.fade_out_s != 0 ||
                              std::any_of(arrangement.channels.begin(), arrangement.channels.end(),
                                          [](const Line& line) { return line.voices.has_value(); });
  if (knows_the_song)
    throw Error(Fault::usage, "the arrangement needs a song that is known ahead", "the arrangement",
                "for live playing leave out its tracks, times, fades and voices");
}

// A message that waits for its moment; none of its bytes: everything ends.
struct Waiting {
  Tick at = 0;
  MidiMessage message;
};

}  // namespace

class LiveEngine::Inside {
 public:
  Inside(const Profile& profile, const LiveOptions& options)
      : options_(options),
        tick_hz_(static_cast<double>(options.weave.tick_hz)),
        weave_(profile, options.weave, kLongestLiveNote_s),
        guard_(profile, options.weave.tick_hz),
        keys_(*this),
        waiting_(kMostWaiting) {}

  bool hear(Tick at, std::span<const std::uint8_t> message) {
    const bool resets = message.size() == 1 && message[0] == kSystemReset;
    if (!resets && !is_channel_message(message)) return true;
    Waiting waiting;
    if (!resets) {
      waiting.message.size = static_cast<std::uint8_t>(message.size());
      std::copy(message.begin(), message.end(), waiting.message.bytes.begin());
    }
    return push(at, waiting);
  }

  void end_all(Tick at) {
    if (push(at, {})) return;
    waiting_count_ = 0;
    push(at, {});
  }

  [[nodiscard]] Tick counts_at(Tick at) const {
    const double ticks_a_step = kLiveStep_s * tick_hz_;
    // Half a tick less: a moment that was rounded up to its tick is not a step later.
    const double step = std::ceil((static_cast<double>(std::max(at, heard_until_)) - 0.5) / ticks_a_step);
    return nearest_tick(step * kLiveStep_s, options_.weave.tick_hz);
  }

  std::size_t make(Tick until, std::span<LiveBurst> out) {
    std::size_t made = 0;
    while (made < out.size()) {
      const Tick due = weave_.next();
      const Tick heard = waiting_count_ > 0 ? waiting_[first_waiting_].at : kEndOfTime;
      if (std::min(due, heard) >= until) {
        heard_until_ = std::max(heard_until_, until);
        break;
      }
      if (heard <= due)
        act_on_next();
      else if (step(due, out[made]))
        ++made;
    }
    return made;
  }

  void set_longest_on(Tick on) { guard_.set_longest_on(on); }

  [[nodiscard]] LiveState state() const {
    LiveState state = counts_;
    const LimitUsage usage = guard_.usage(heard_until_);
    state.longest_on_allowed = guard_.longest_on();
    state.gain = usage.gain;
    state.duty = usage.duty;
    state.break_rate = usage.break_rate;
    state.supply = usage.supply;
    state.tank_current = usage.tank_current;
    state.junction_c = usage.junction_c;
    state.sink_c = usage.sink_c;
    state.knows_heat = usage.knows_heat;
    for (const LiveNote& note : of_voice_)
      if (note.velocity > 0 && weave_.sounds(note.note)) state.sounding[state.sounding_count++] = note;
    return state;
  }

  [[nodiscard]] std::int64_t tick_hz() const { return options_.weave.tick_hz; }

  // What Keys tells.
  void begin(int channel, std::uint8_t key, std::uint8_t velocity) {
    const std::uint32_t number = notes_++;
    ++counts_.notes;
    note_of_[static_cast<std::size_t>(channel)][key] = number;
    const bool drums = channel == kPercussionChannel;
    const std::optional<Note> note = arranged_note(
        {.key = static_cast<double>(key),
         .velocity = velocity / 127.0,
         .channel = channel,
         .envelope = drums ? Envelope::plucked : channels_[static_cast<std::size_t>(channel)].envelope(),
         .part = drums ? Part::drums : Part::any},
        options_.arrangement);
    if (!note) {
      ++counts_.skipped;
      return;
    }
    const Begun begun = weave_.begin({.note = number,
                                      .at = now_,
                                      .key = note->key,
                                      .velocity = note->velocity,
                                      .channel = channel,
                                      .envelope = note->envelope,
                                      .part = note->part});
    counts_.skipped += begun.what == NoteFateKind::skipped ? 1 : 0;
    counts_.stolen += (begun.what == NoteFateKind::stolen ? 1 : 0) + (begun.ended ? 1 : 0);
    if (begun.what == NoteFateKind::played || begun.what == NoteFateKind::folded)
      of_voice_[begun.voice] = {.note = number,
                                .start = now_,
                                .channel = static_cast<std::uint8_t>(channel),
                                .key = key,
                                .velocity = velocity,
                                .voice = begun.voice,
                                .drums = drums};
  }
  void end(int channel, int key) {
    weave_.end(note_of_[static_cast<std::size_t>(channel)][static_cast<std::size_t>(key)], now_);
  }

 private:
  bool push(Tick at, Waiting waiting) {
    if (waiting_count_ == waiting_.size()) return false;
    waiting.at = counts_at(std::max(at, last_heard_));
    last_heard_ = waiting.at;
    waiting_[(first_waiting_ + waiting_count_++) % waiting_.size()] = waiting;
    return true;
  }

  void act_on_next() {
    const Waiting waiting = waiting_[first_waiting_];
    first_waiting_ = (first_waiting_ + 1) % waiting_.size();
    --waiting_count_;
    now_ = waiting.at;
    heard_until_ = std::max(heard_until_, now_);
    if (waiting.message.size == 0) return silence();
    act_on(waiting.message.bytes);
  }

  void silence() {
    for (int channel = 0; channel < kMidiChannels; ++channel) {
      control(channel, kAllSoundOff, 0);
      control(channel, kResetControllers, 0);
    }
  }

  void act_on(const std::array<std::uint8_t, 3>& bytes) {
    const int channel = bytes[0] & 0x0F;
    ChannelState& state = channels_[static_cast<std::size_t>(channel)];
    switch (bytes[0] & 0xF0) {
      case 0x90:
        return keys_.note_on(channel, bytes[1], bytes[2]);
      case 0x80:
        return keys_.note_off(channel, bytes[1]);
      case 0xB0:
        return control(channel, bytes[1], bytes[2]);
      case 0xC0:
        return state.program(bytes[1]);
      case 0xD0:
        state.pressure(bytes[1]);
        return express(channel);
      case 0xE0:
        state.bend(static_cast<std::uint16_t>(bytes[2] << 7 | bytes[1]));
        return express(channel);
      default:
        return;
    }
  }

  void control(int channel, std::uint8_t number, std::uint8_t value) {
    if (channels_[static_cast<std::size_t>(channel)].controller(number, value)) express(channel);
    keys_.controller(channel, number, value);
    if (number == kAllSoundOff && channel == kPercussionChannel) weave_.end_drums(now_);
  }

  void express(int channel) {
    const ChannelState& state = channels_[static_cast<std::size_t>(channel)];
    weave_.express(channel, now_, state.bend_semitones(), state.vibrato_semitones(),
                   std::min(1.0, state.gain()));
  }

  // Whether a burst was wanted.
  bool step(Tick due, LiveBurst& out) {
    heard_until_ = std::max(heard_until_, due);
    const std::span<const VoiceRequest> requests = weave_.requests();
    const std::optional<WantedBurst> wanted = weave_.step();
    if (!wanted) return false;
    const PlacementResult settled = guard_.settle(*wanted, requests);
    out = {.wanted_start = wanted->start,
           .wanted_on = wanted->on,
           .start = settled.start,
           .on = settled.on,
           .note = wanted->note,
           .voice = wanted->voice,
           .fate = settled.fate,
           .causes = settled.causes};
    count(out);
    return true;
  }

  void count(const LiveBurst& burst) {
    ++counts_.bursts[static_cast<std::size_t>(burst.fate)];
    for (std::size_t i = 0; i < counts_.because.size(); ++i) counts_.because[i] += burst.causes >> i & 1;
    if (burst.fate != Fate::dropped) counts_.last_on = burst.on;
  }

  LiveOptions options_;
  double tick_hz_;
  LiveWeave weave_;
  CausalGuard guard_;
  Keys<Inside> keys_;
  std::array<ChannelState, kMidiChannels> channels_;
  std::array<std::array<std::uint32_t, kMidiKeys>, kMidiChannels> note_of_{};
  std::array<LiveNote, kMostLiveVoices + 1> of_voice_{};
  std::vector<Waiting> waiting_;
  std::size_t first_waiting_ = 0, waiting_count_ = 0;
  Tick last_heard_ = 0;   // of the last message heard
  Tick heard_until_ = 0;  // up to here all was acted on, and bursts were made
  Tick now_ = 0;          // of the message acted on
  std::uint32_t notes_ = 0;
  LiveState counts_;
};

LiveEngine::LiveEngine(const Profile& profile, const LiveOptions& options)
    : inside_((require_playable(options), std::make_unique<Inside>(profile, options))) {}
LiveEngine::LiveEngine(LiveEngine&&) noexcept = default;
LiveEngine& LiveEngine::operator=(LiveEngine&&) noexcept = default;
LiveEngine::~LiveEngine() = default;

bool LiveEngine::hear(Tick at, std::span<const std::uint8_t> message) noexcept {
  return inside_->hear(at, message);
}
Tick LiveEngine::counts_at(Tick at) const noexcept {
  return inside_->counts_at(at);
}
void LiveEngine::end_all(Tick at) noexcept {
  inside_->end_all(at);
}
void LiveEngine::set_longest_on(Tick on) noexcept {
  inside_->set_longest_on(on);
}
std::size_t LiveEngine::make(Tick until, std::span<LiveBurst> out) noexcept {
  return inside_->make(until, out);
}
LiveState LiveEngine::state() const noexcept {
  return inside_->state();
}
std::int64_t LiveEngine::tick_hz() const noexcept {
  return inside_->tick_hz();
}

}  // namespace burstloom
