#include "burstloom/live/performance.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom {
namespace {

constexpr std::size_t kBurstsAtOnce = 64, kMostRounds = 8;
constexpr double kShowEvery_s = 0.02;
// A port's clock is taken at its word only so far: a message counts at most this long before it is dealt
// with.
constexpr double kOldest_s = 0.1;

bool is_reset(const MidiMessage& message) {
  return message.bytes[0] == kSystemReset;
}
// Clock, active sensing and the like: no more than a sign of life.
bool says_only_that_it_is_there(const MidiMessage& message) {
  return message.bytes[0] >= 0xF8 && !is_reset(message);
}
bool begins_note(const MidiMessage& message) {
  return message.kind() == 0x90 && message.bytes[2] != 0;
}

}  // namespace

Performance::Performance(LiveEngine engine, std::span<Inlet* const> inlets, double latency_s,
                         LiveControls& controls, Ring<Burst>& to_link, Ring<Recorded>& to_recording)
    : engine_(std::move(engine)),
      port_count_(std::min(inlets.size(), kMostPorts)),
      latency_(static_cast<Tick>(std::lround(latency_s * static_cast<double>(engine_.tick_hz())))),
      controls_(controls),
      to_link_(to_link),
      to_recording_(to_recording) {
  for (std::size_t i = 0; i < port_count_; ++i) ports_[i].inlet = inlets[i];
}

void Performance::turn(double now_s, std::optional<Tick> player) noexcept {
  begun_ = begun_ || player.has_value();
  playing_ = player.has_value() && !ended_ && trouble_ == LiveTrouble::none;
  if (player) now_ = std::max(now_, *player);
  obey(now_);
  for (std::size_t i = 0; i < port_count_; ++i) listen(ports_[i], now_s);
  if (playing_) make(now_ + latency_);
  show(now_s);
}

void Performance::obey(Tick now) noexcept {
  if (const Tick longest_on = controls_.longest_on.load(); longest_on != longest_on_)
    engine_.set_longest_on(longest_on_ = longest_on);
  const bool ending = controls_.ending.load(), silent = ending || controls_.silent.load();
  if (silent && !silent_) {
    for (std::size_t i = 0; i < port_count_; ++i) let_go(ports_[i], now);
    end_all();
  }
  silent_ = silent;
  ended_ = ended_ || ending;
  playing_ = playing_ && !ended_;
}

void Performance::listen(Port& port, double now_s) noexcept {
  PortEvent event;
  for (std::size_t i = 0; i < kMostMessagesATurn && port.inlet->next(event); ++i) {
    const Tick at = moment_of(event.at_s, now_s);
    if (event.what != PortEvent::What::message) {
      if (event.what == PortEvent::What::gap) ++port.figures.gaps;
      // Programs come and go; that is a loss where they leave keys behind.
      if (event.what == PortEvent::What::gone ||
          (event.what == PortEvent::What::left && port.watch.keys_down() > 0))
        ++port.figures.losses;
      let_go(port, at);
      continue;
    }
    port.watch.follow(event.at_s, event.message);
    if (says_only_that_it_is_there(event.message)) continue;
    ++port.figures.messages;
    if (!silent_ || !begins_note(event.message)) hear(at, event.message);
  }
  if (!port.watch.fell_silent(now_s)) return;
  ++port.figures.losses;
  let_go(port, moment_of(now_s, now_s));
}

Tick Performance::moment_of(double at_s, double now_s) const noexcept {
  const double ago_s = std::clamp(now_s - at_s, 0.0, kOldest_s);
  return now_ + latency_ - static_cast<Tick>(ago_s * static_cast<double>(engine_.tick_hz()));
}

// Until the player plays no note begins, but a patch set meanwhile holds: it counts at the first moment.
// Making what is due by now gives the engine room again.
void Performance::hear(Tick at, const MidiMessage& message) noexcept {
  const bool sets_up = !begun_ && !ended_ && trouble_ == LiveTrouble::none && !begins_note(message);
  if (!playing_ && !sets_up) return;
  if (is_reset(message)) return end_all();
  at = sets_up ? heard_ : std::max(at, heard_);
  if (!engine_.hear(at, message.span())) {
    make(engine_.counts_at(at) + 1);
    if (trouble_ != LiveTrouble::none || !engine_.hear(at, message.span()))
      return fail(LiveTrouble::engine_full);
  }
  heard_ = at;
  Recorded entry;
  entry.message = message;
  entry.at = engine_.counts_at(at);
  if (!to_recording_.push(entry)) fail(LiveTrouble::recording_full);
}

void Performance::let_go(Port& port, Tick at) noexcept {
  port.watch.let_go([&](const MidiMessage& message) { hear(at, message); });
}

// The recording gets it as messages, all sound off and reset all controllers on every channel: a MIDI file
// has no other word for it.
void Performance::end_all() noexcept {
  const Tick at = heard_ = engine_.counts_at(std::max(now_, heard_));
  engine_.end_all(at);
  Recorded entry;
  entry.at = at;
  for (std::uint8_t channel = 0; channel < kMidiChannels; ++channel)
    for (const std::uint8_t controller : {kAllSoundOff, kResetControllers}) {
      entry.message = {{static_cast<std::uint8_t>(0xB0 | channel), controller, 0}, 3};
      (void)to_recording_.push(entry);
    }
}

void Performance::make(Tick until) noexcept {
  std::array<LiveBurst, kBurstsAtOnce> bursts;
  for (std::size_t round = 0; round < kMostRounds; ++round) {
    const std::size_t count = engine_.make(until, bursts);
    for (std::size_t i = 0; i < count; ++i)
      if (!pass_on(bursts[i])) return;
    if (count < bursts.size()) return;
  }
}

// Leaving a burst out breaks no limit; sending one after its moment would.
bool Performance::pass_on(LiveBurst burst) noexcept {
  if (burst.on > 0 && burst.start < now_) {
    ++late_[static_cast<std::size_t>(burst.fate)];
    burst.start = burst.on = 0;
    burst.fate = Fate::dropped;
    burst.causes |= kTooLate;
  }
  if (burst.on > 0 && to_link_.full()) {
    fail(LiveTrouble::link_full);
    return false;
  }
  Recorded entry;
  entry.what = Recorded::What::burst;
  entry.burst = burst;
  if (!to_recording_.push(entry)) {
    fail(LiveTrouble::recording_full);
    return false;
  }
  return burst.on == 0 || to_link_.push({burst.start, burst.on});
}

void Performance::fail(LiveTrouble trouble) noexcept {
  if (trouble_ == LiveTrouble::none) trouble_ = trouble;
  playing_ = false;
  end_all();
}

void Performance::show(double now_s) noexcept {
  const bool news = ended_ || trouble_ != LiveTrouble::none;
  if (!news && shown_s_ >= 0 && now_s - shown_s_ < kShowEvery_s) return;
  shown_s_ = now_s;
  LiveFigures figures;
  figures.engine = engine_.state();
  for (std::size_t i = 0; i < kFates; ++i) {
    figures.engine.bursts[i] -= late_[i];
    figures.late += late_[i];
  }
  figures.engine.bursts[static_cast<std::size_t>(Fate::dropped)] += figures.late;
  figures.now = now_;
  for (std::size_t i = 0; i < port_count_; ++i) {
    figures.ports[i] = ports_[i].figures;
    figures.ports[i].dropped = ports_[i].inlet->dropped();
    figures.ports[i].keys_down = ports_[i].watch.keys_down();
  }
  figures.playing = playing_;
  figures.silent = silent_;
  figures.trouble = trouble_;
  shown_.write(figures);
}

}  // namespace burstloom
