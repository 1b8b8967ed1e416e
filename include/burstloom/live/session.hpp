// Playing live, on threads: one in real time from the ports to bursts, one that serves the link, one that
// keeps the recording. Whoever made the session watches it and ends it.
#pragma once

#include <atomic>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/live/bell.hpp"
#include "burstloom/live/midi_inputs.hpp"
#include "burstloom/live/outlet.hpp"
#include "burstloom/live/performance.hpp"
#include "burstloom/live/recording.hpp"

namespace burstloom {

struct LiveSessionOptions {
  double latency_s = 0.01;       ///< from a message to the moment at which it counts, 0 to 1
  std::string record{};          ///< NAME of NAME.burst and NAME.mid
  double write_every_s = 60;     ///< what was recorded so far
  std::size_t link_room = 4096;  ///< bursts that may wait for the link
};

class LiveSession {
 public:
  /// `bell` is what the inlets ring; it and they have to outlive the session. Writes the recording, still
  /// empty, and throws Error (machine) where that cannot be done.
  LiveSession(const Profile& profile, const LiveOptions& live, std::unique_ptr<Outlet> outlet,
              const std::vector<Inlet*>& inlets, Bell& bell, const LiveSessionOptions& options);
  LiveSession(const LiveSession&) = delete;
  LiveSession& operator=(const LiveSession&) = delete;
  ~LiveSession();

  [[nodiscard]] LiveControls& controls() { return controls_; }
  [[nodiscard]] const LiveFigures& figures() { return performance_.figures(); }
  [[nodiscard]] const LinkFigures& link() { return link_figures_.read(); }
  /// Whether it has come to an end by itself: `finish` says why.
  [[nodiscard]] bool is_over();
  /// What the machine does not allow, in words: real time, memory held in place.
  [[nodiscard]] std::vector<std::string> remarks();

  /// Ends all notes, then the link, then the threads, and writes the recording whole. Throws Error (machine)
  /// for what made it end by itself, after all that; for a recording that could not be written, where
  /// nothing else ended it (else that is a remark).
  void finish();
  /// After `finish`, also one that threw: whether the recording is written whole.
  [[nodiscard]] bool is_recorded() const { return is_recorded_; }
  /// After `finish`.
  [[nodiscard]] const LiveRecording& recording() const { return recording_; }

 private:
  void run_in_real_time();
  void serve_link();
  void keep_recording();
  void drain();
  void wait_for_silence();
  void end_threads();
  void write_recording();
  void throw_what_ended_it();

  LiveControls controls_;
  Ring<Burst> to_link_;
  Ring<Recorded> to_recording_;
  Performance performance_;
  std::unique_ptr<Outlet> outlet_;
  Latest<LinkFigures> link_figures_;
  LiveRecording recording_;
  LiveSessionOptions options_;
  Bell& port_bell_;
  Bell link_bell_, recorder_bell_;
  double tick_hz_;
  std::atomic<Tick> player_ahead_;  ///< of this machine's clock in ticks; kNotPlaying
  std::atomic<bool> stop_link_{false}, link_over_{false}, stop_all_{false};
  std::optional<Error> link_error_;  ///< read after its thread has ended
  std::mutex remarks_lock_;
  std::vector<std::string> remarks_;
  bool is_recorded_ = false;
  LiveTrouble trouble_ = LiveTrouble::none;
  std::thread real_time_, link_, recorder_;
};

}  // namespace burstloom
