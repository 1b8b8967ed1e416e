// A live session with a player: bursts go out as they become known, the player plays each when it is due and
// waits where there are none.
#pragma once

#include <deque>

#include "burstloom/link/player_clock.hpp"
#include "burstloom/link/session.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Bursts that were not sent, and why.
struct LiveDropped {
  std::int64_t line_full = 0;    ///< due while they waited for the line, or for room at the player
  std::int64_t late = 0;         ///< due when they could have gone out: they came late, or nobody asked
  std::int64_t unfit = 0;        ///< out of order, or outside the player's limits
  std::int64_t not_playing = 0;  ///< the player was not armed

  [[nodiscard]] std::int64_t total() const { return line_full + late + unfit + not_playing; }
};

class LiveSender : public LinkSession {
 public:
  /// `session`, 1 to 255, tells this session from the one before. `baud` is the line's.
  LiveSender(const SongOffer& offer, std::int64_t tick_hz, std::string device, std::uint8_t session,
             double baud);

  /// Bursts to play, final and in order, in ticks from the moment on at which the player began to play. To be
  /// given when they are known: a burst wants some 3 ms on the way (at 115 200 baud), and what the computer
  /// takes. What cannot arrive in time any more is dropped and counted; it is never played late. At most
  /// `kMostPending` wait to be sent; the oldest give way.
  void append(std::span<const Burst> bursts);
  static constexpr std::size_t kMostPending = 4096;

  /// The moment that the player plays (see PlayerClock for how exact). Nothing before it is armed.
  [[nodiscard]] std::optional<Tick> player_now(double now_s);

  [[nodiscard]] const LiveDropped& dropped() const { return dropped_; }
  /// Bursts wait now for the line, or for room at the player: the music needs more than it carries.
  [[nodiscard]] bool line_is_full() const { return waited_ != 0; }
  /// Bursts that wait to be sent, and bytes that the player has not acknowledged yet.
  [[nodiscard]] std::size_t pending() const { return pending_.size(); }
  [[nodiscard]] std::size_t unacknowledged_bytes() const { return bytes_ - bytes_before(first_frame_); }

 protected:
  void meet(const PlayerInfo& player) const override;
  [[nodiscard]] std::size_t frames() const override { return first_frame_ + frames_.size(); }
  [[nodiscard]] std::span<const std::uint8_t> payload(std::size_t number) const override;
  [[nodiscard]] std::size_t bytes_before(std::size_t number) const override;
  void hear_more(double now_s) override;
  void add_frame(double now_s, bool may_go) override;

 private:
  struct Frame {
    std::size_t begin = 0;  ///< bytes of all frames before
    Bytes entries;
  };
  [[nodiscard]] bool is_playing() const { return plays_ && phase() == Phase::playing; }
  void drop_first(std::int64_t LiveDropped::*why);
  void drop_late(double now_s);
  [[nodiscard]] bool is_fit(const Burst& burst) const;
  void append_rest(double now_s, Bytes& entries);
  void append_bursts(Bytes& entries);
  [[nodiscard]] bool append_entry(Bytes& entries, const Burst& entry);

  SongOffer offer_;
  std::int64_t tick_hz_;
  PlayerClock clock_;
  bool plays_ = false;
  std::deque<Burst> pending_;
  std::size_t waited_ = 0;  ///< so many of the oldest pending ones have waited for the line
  std::deque<Frame> frames_;
  std::size_t first_frame_ = 0, bytes_ = 0;
  Burst told_;           ///< the last entry: a burst, or the end of a rest
  Tick last_fall_ = -1;  ///< of the last burst; below 0: none yet
  double margin_s_ = 0;
  std::int64_t missed_ = 0;  ///< by the player
  LiveDropped dropped_;
};

}  // namespace burstloom
