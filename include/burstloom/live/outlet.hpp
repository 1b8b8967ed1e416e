// Where the bursts go: a player on a serial line, or nothing but the recording. Served by a thread of its
// own.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>

#include "burstloom/link/live_sender.hpp"
#include "burstloom/link/serial_port.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// How the link stands, for a view. Without a link only `playing` means something.
struct LinkFigures {
  bool has_link = false, playing = false, over = false;
  std::optional<PlayerStatus> status;  ///< once the player has answered
  LiveDropped dropped;
  std::int64_t sent_again = 0;
};

class Outlet {
 public:
  virtual ~Outlet() = default;
  /// To be called every few milliseconds, at times by `live_now_s`: takes `bursts` and does what is due.
  /// Throws Error when the link is lost or the player does not fit.
  virtual void serve(double now_s, std::span<const Burst> bursts) = 0;
  /// The moment that is played; nothing while nothing is.
  [[nodiscard]] virtual std::optional<Tick> player_now(double now_s) = 0;
  /// Ends it in order; `serve` goes on until `figures().over`.
  virtual void stop() = 0;
  [[nodiscard]] virtual LinkFigures figures() const = 0;
  /// Once it is over: throws Error (machine) unless that was by `stop`.
  virtual void require_good_end() const {}
};

/// No player: the clock of this machine, from the first `serve` on.
[[nodiscard]] std::unique_ptr<Outlet> outlet_to_nothing(std::int64_t tick_hz);

struct SerialOutletOptions {
  std::string device{};
  std::int64_t baud = 115'200, tick_hz = kDefaultTickHz;
  SongOffer offer{};
  std::uint8_t session = 1;
};
/// A player on a serial line. A line that takes nothing for a tenth of a second is lost: by then the player
/// has fallen silent by itself. Throws Error where the device cannot be opened.
[[nodiscard]] std::unique_ptr<Outlet> outlet_to_player(const SerialOutletOptions& options);

}  // namespace burstloom
