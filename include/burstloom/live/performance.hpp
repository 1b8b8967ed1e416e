// One turn after another of playing live: what the ports have heard goes to the engine, what the engine makes
// goes to the link and to the recording.
//
// It has no clock and no thread of its own. A turn never allocates, locks, throws or waits, and its work is
// bounded, so that it may run on a real-time thread.
#pragma once

#include <array>
#include <atomic>
#include <optional>
#include <span>

#include "burstloom/live/engine.hpp"
#include "burstloom/live/inlet.hpp"
#include "burstloom/live/port_watch.hpp"
#include "burstloom/live/ring.hpp"

namespace burstloom {

inline constexpr std::size_t kMostPorts = 8;
/// Of one port in one turn; what is over waits for the next.
inline constexpr std::size_t kMostMessagesATurn = 64;

/// What the person at the keyboard wants. Set on any thread.
struct LiveControls {
  std::atomic<bool> silent{false};  ///< all notes end, none begins until it is false again
  std::atomic<bool> ending{false};  ///< all notes end, for good
  std::atomic<Tick> longest_on{0};  ///< soft start: by default the shortest that the coil allows
};

/// Why it fell silent by itself, for good.
enum class LiveTrouble : std::uint8_t {
  none,
  link_full,      ///< bursts were made faster than the link takes them
  engine_full,    ///< messages came faster than they can be acted on
  recording_full  ///< bursts were made faster than the recording takes them
};

struct PortFigures {
  std::int64_t messages = 0, dropped = 0;
  std::int64_t gaps = 0;    ///< how often messages were dropped in a row, and all keys let go for it
  std::int64_t losses = 0;  ///< how often the device was lost, and all keys let go for it
  std::size_t keys_down = 0;
};

/// How things stand, for a view.
struct LiveFigures {
  LiveState engine;  ///< late bursts are dropped ones
  Tick now = 0;      ///< the player's clock
  std::array<PortFigures, kMostPorts> ports{};
  std::int64_t late = 0;  ///< of the dropped bursts: their moment had passed when they were made
  bool playing = false, silent = false;
  LiveTrouble trouble = LiveTrouble::none;
};

/// The cause of a burst that was dropped because its moment had passed: a bit that no limit has (a profile
/// has at most 28).
inline constexpr Causes kTooLate = Causes{1} << 31;

/// For the recording, in the order in which it happened.
struct Recorded {
  enum class What : std::uint8_t { message, burst };
  What what = What::message;
  MidiMessage message;  ///< as the engine heard it
  Tick at = 0;          ///< the moment at which it counted
  LiveBurst burst;      ///< as it was sent: late bursts are dropped ones
};

class Performance {
 public:
  /// `inlets` (at most kMostPorts) and the rest have to live on. `latency_s`: from a message to its moment.
  Performance(LiveEngine engine, std::span<Inlet* const> inlets, double latency_s, LiveControls& controls,
              Ring<Burst>& to_link, Ring<Recorded>& to_recording);

  /// `now_s` is the clock of the ports, `player` the player's at the same moment, in ticks; nothing while it
  /// does not play: notes that begin then are forgotten; what else is heard before it first plays counts at
  /// 0.
  void turn(double now_s, std::optional<Tick> player) noexcept;

  /// On the thread of whoever looks.
  [[nodiscard]] const LiveFigures& figures() noexcept { return shown_.read(); }
  [[nodiscard]] std::int64_t tick_hz() const noexcept { return engine_.tick_hz(); }

 private:
  struct Port {
    Inlet* inlet;
    PortWatch watch;
    PortFigures figures;
  };

  void obey(Tick now) noexcept;
  void listen(Port& port, double now_s) noexcept;
  void hear(Tick at, const MidiMessage& message) noexcept;
  void let_go(Port& port, Tick at) noexcept;
  void end_all() noexcept;
  void make(Tick until) noexcept;
  [[nodiscard]] bool pass_on(LiveBurst burst) noexcept;
  void fail(LiveTrouble trouble) noexcept;
  void show(double now_s) noexcept;
  [[nodiscard]] Tick moment_of(double at_s, double now_s) const noexcept;

  LiveEngine engine_;
  std::array<Port, kMostPorts> ports_{};
  std::size_t port_count_;
  Tick latency_;
  LiveControls& controls_;
  Ring<Burst>& to_link_;
  Ring<Recorded>& to_recording_;
  Tick now_ = 0, heard_ = 0;
  Tick longest_on_ = -1;  ///< as the engine knows it; below 0: it was not told yet
  bool begun_ = false, playing_ = false, silent_ = false, ended_ = false;
  LiveTrouble trouble_ = LiveTrouble::none;
  std::array<std::int64_t, kFates> late_{};  ///< by what the engine had made of them
  double shown_s_ = -1;
  Latest<LiveFigures> shown_;
};

}  // namespace burstloom
