// What is told of playing live: a page for a terminal, a line for a log, an object for programs.
#pragma once

#include "burstloom/live/session.hpp"
#include "command_line.hpp"

namespace burstloom::command {

/// Soft start: the longest burst begins at the coil's shortest and is raised by hand, in equal ratios.
class SoftStart {
 public:
  static constexpr int kSteps = 10;
  /// `low` and `high` in ticks; `full`: at once at `high`.
  SoftStart(Tick low, Tick high, bool full) : low_(low), high_(high), step_(full ? kSteps : 0) {}
  void raise() { step_ = std::min(step_ + 1, kSteps); }
  void lower() { step_ = std::max(step_ - 1, 0); }
  [[nodiscard]] int step() const { return step_; }
  [[nodiscard]] Tick longest_on() const;

 private:
  Tick low_, high_;
  int step_;
};

/// All that a view may tell.
struct LiveView {
  const Profile& profile;
  const LiveFigures& now;
  const LinkFigures& link;
  std::vector<MidiInputs::Port> ports;
  SoftStart soft_start;
  double tick_hz = kDefaultTickHz, latency_ms = 0, passed_s = 0;
  std::string to, record;
  std::vector<std::string> remarks;
};

/// At most 24 lines of at most 79 letters.
[[nodiscard]] std::string live_page(const LiveView& view);
/// One line.
[[nodiscard]] std::string live_line(const LiveView& view);
/// Which bursts were made and never came to the pin, and why; empty where there are none.
[[nodiscard]] std::string not_played(const LiveView& view);
[[nodiscard]] Json live_json(const LiveView& view);

}  // namespace burstloom::command
