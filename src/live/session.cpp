#include "burstloom/live/session.hpp"

#include <array>
#include <limits>

#include "burstloom/live/clock.hpp"
#include "real_time.hpp"

namespace burstloom {
namespace {

// Below JACK's own threads, which bring the messages.
constexpr int kRealTimePriority = 40, kLinkPriority = 38;
constexpr double kTurnEvery_s = 0.001, kRecordEvery_s = 0.01;
// Some seconds of the densest music, for while a long recording is being written.
constexpr std::size_t kRecordingRoom = std::size_t{1} << 17;
constexpr std::size_t kBurstsAtOnce = 256;
constexpr Tick kNotPlaying = std::numeric_limits<Tick>::min();

}  // namespace

LiveSession::LiveSession(const Profile& profile, const LiveOptions& live, std::unique_ptr<Outlet> outlet,
                         const std::vector<Inlet*>& inlets, Bell& bell, const LiveSessionOptions& options)
    : to_link_(options.link_room),
      to_recording_(kRecordingRoom),
      performance_(LiveEngine(profile, live), inlets, options.latency_s, controls_, to_link_, to_recording_),
      outlet_(std::move(outlet)),
      recording_(profile, live.weave.tick_hz),
      options_(options),
      port_bell_(bell),
      tick_hz_(static_cast<double>(live.weave.tick_hz)),
      player_ahead_(kNotPlaying) {
  recording_.write(options_.record);  // what cannot be written is known before anybody has played
  if (!hold_memory()) remarks_.emplace_back("memory is not held in place: the system does not allow it");
  try {
    link_ = std::thread([this] { serve_link(); });
    recorder_ = std::thread([this] { keep_recording(); });
    real_time_ = std::thread([this] { run_in_real_time(); });
  } catch (...) {
    end_threads();
    throw;
  }
}

LiveSession::~LiveSession() {
  end_threads();
}

std::vector<std::string> LiveSession::remarks() {
  const std::lock_guard lock(remarks_lock_);
  return remarks_;
}

void LiveSession::run_in_real_time() {
  if (!run_in_real_time_at(kRealTimePriority)) {
    const std::lock_guard lock(remarks_lock_);
    remarks_.emplace_back("no real-time thread: the system does not allow it (see docs/reference/live.md)");
  }
  while (!stop_all_.load()) {
    port_bell_.wait(kTurnEvery_s);
    const double now_s = live_now_s();
    const Tick ahead = player_ahead_.load();
    std::optional<Tick> player;
    if (ahead != kNotPlaying) player = static_cast<Tick>(now_s * tick_hz_) + ahead;
    performance_.turn(now_s, player);
    link_bell_.ring();
  }
}

void LiveSession::serve_link() {
  (void)run_in_real_time_at(kLinkPriority);
  std::array<Burst, kBurstsAtOnce> bursts;
  bool stopped = false;
  try {
    for (LinkFigures now; !now.over;) {
      link_bell_.wait(kTurnEvery_s);
      std::size_t count = 0;
      while (count < bursts.size() && to_link_.pop(bursts[count])) ++count;
      if (stop_link_.load() && !stopped) {
        outlet_->stop();
        stopped = true;
      }
      const double now_s = live_now_s();
      outlet_->serve(now_s, std::span(bursts).first(count));
      const std::optional<Tick> player = outlet_->player_now(now_s);
      player_ahead_.store(player ? *player - static_cast<Tick>(now_s * tick_hz_) : kNotPlaying);
      now = outlet_->figures();
      link_figures_.write(now);
    }
    outlet_->require_good_end();
  } catch (const Error& error) {
    link_error_ = error;
  }
  player_ahead_.store(kNotPlaying);
  link_over_.store(true);
}

void LiveSession::drain() {
  for (Recorded entry; to_recording_.pop(entry);) recording_.add(entry);
}

void LiveSession::keep_recording() {
  double written_s = live_now_s();
  while (!stop_all_.load()) {
    recorder_bell_.wait(kRecordEvery_s);
    drain();
    if (live_now_s() - written_s < options_.write_every_s) continue;
    try {
      recording_.write(options_.record);
    } catch (const Error& error) {
      // It is all kept; the last attempt, in `finish`, is the one that counts.
      const std::lock_guard lock(remarks_lock_);
      remarks_.push_back(std::string("the recording could not be written yet: ") + error.what());
    }
    written_s = live_now_s();
  }
}

bool LiveSession::is_over() {
  trouble_ = figures().trouble;
  return link_over_.load() || trouble_ != LiveTrouble::none;
}

// What was made before the notes ended is still to be played; then the player hears the stop.
void LiveSession::wait_for_silence() {
  controls_.ending.store(true);
  const double until_s = live_now_s() + 0.1;
  while (live_now_s() < until_s && !figures().silent)
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  std::this_thread::sleep_for(std::chrono::duration<double>(std::min(options_.latency_s, 0.1)));
}

void LiveSession::end_threads() {
  stop_link_.store(true);
  if (link_.joinable()) link_.join();
  stop_all_.store(true);
  if (real_time_.joinable()) real_time_.join();
  if (recorder_.joinable()) recorder_.join();
}

void LiveSession::finish() {
  const bool by_itself = is_over();
  if (!by_itself) wait_for_silence();
  controls_.ending.store(true);
  end_threads();
  drain();
  recording_.reach(figures().now);
  write_recording();
  if (link_error_) throw *link_error_;
  throw_what_ended_it();
}

// Where something else ended it that is thrown, and this is told beside it.
void LiveSession::write_recording() try {
  recording_.write(options_.record);
  is_recorded_ = true;
} catch (const Error& error) {
  if (!link_error_ && trouble_ == LiveTrouble::none) throw;
  const std::lock_guard lock(remarks_lock_);
  remarks_.push_back(std::string("the recording could not be written: ") + error.what());
}

void LiveSession::throw_what_ended_it() {
  const std::string kept =
      (is_recorded_ ? std::string("the recording is whole; ") : std::string()) + "play fewer notes at once";
  if (trouble_ == LiveTrouble::link_full)
    throw Error(Fault::machine, "more bursts were made than the link takes", "",
                kept + " or use a faster line");
  if (trouble_ == LiveTrouble::engine_full)
    throw Error(Fault::machine, "more messages came than can be acted on", "", kept);
  if (trouble_ == LiveTrouble::recording_full)
    throw Error(Fault::machine, "more was played than the recording could take", "", kept);
}

}  // namespace burstloom
