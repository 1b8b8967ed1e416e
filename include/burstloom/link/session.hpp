// What a conversation with a player is, whatever it plays (docs/reference/serial-link.md): who is there, the
// offer, signs of life, credit, frames that were lost, the end. Fed with time and bytes, it says what to
// write.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "burstloom/link/frames.hpp"

namespace burstloom {

/// What a player has to know of a song before it plays it.
struct SongOffer {
  std::int64_t on_max = 0, gap_min = 0;  ///< the limits it was woven for, in ticks
  std::int64_t rest_ms = 0;              ///< before anything may start again after it
};

/// Throws Error unless `player` may play for that coil: usage (another version, another tick rate),
/// outside_limits (limits wider than the offer's), saying what differs.
void require_fitting(const PlayerInfo& player, const SongOffer& offer, std::int64_t tick_hz,
                     const std::string& device);

/// What to tell of a player's error (firmware-out/player/player.h): a clause, and what to do.
struct PlayerError {
  std::string what, what_to_do;
};
[[nodiscard]] PlayerError say_player_error(std::uint8_t error);

class LinkSession;
/// Why a session is over, likewise; without a `what` where it was played to its end or is not over.
[[nodiscard]] PlayerError say_ending(const LinkSession& session);

class LinkSession {
 public:
  enum class Phase {
    greeting,  ///< nobody has answered yet
    waiting,   ///< for the player to rest, for a hand at its arm switch
    playing,   ///< armed: bursts go out
    over,      ///< see `ending`
  };
  enum class Ending {
    none,
    played,     ///< to the end
    stopped,    ///< because `stop` was called
    ended,      ///< by the player: `status().error` tells why
    reset,      ///< the player started anew in mid-song
    no_player,  ///< nobody answered
    no_answer,  ///< the player fell silent
  };

  LinkSession(const LinkSession&) = delete;
  LinkSession& operator=(const LinkSession&) = delete;
  virtual ~LinkSession() = default;

  /// What has come off the wire by `now_s`. Throws what `require_fitting` throws.
  void receive(double now_s, std::span<const std::uint8_t> bytes);
  /// What is to be written at `now_s`. To be asked every few milliseconds, and only when all before is
  /// written.
  [[nodiscard]] Bytes to_send(double now_s);
  /// Ends the song: a stop frame goes out before anything else.
  void stop();

  [[nodiscard]] Phase phase() const { return phase_; }
  [[nodiscard]] Ending ending() const { return ending_; }
  [[nodiscard]] const std::optional<PlayerInfo>& player() const { return player_; }
  [[nodiscard]] const PlayerStatus& status() const { return status_; }
  [[nodiscard]] std::int64_t frames_sent_again() const { return sent_again_; }
  [[nodiscard]] std::int64_t damaged_answers() const { return reader_.damaged(); }

 protected:
  struct Line {
    std::string device;        ///< for messages
    std::uint8_t session = 1;  ///< 1 to 255, tells this song from the one before
    double baud = 0;
    /// Not more than this waits to be sent: what is written cannot be taken back.
    double ahead_s = 0;
  };
  LinkSession(const SongOffer& offer, std::int64_t tick_hz, LinkEncoding encoding, Line line);

  /// Somebody has answered: throws Error unless it may play this.
  virtual void meet(const PlayerInfo& player) const = 0;
  /// The frames of bursts there are, numbered from 0 on: how many so far, what is in one, and the bytes in
  /// all before it (`number` up to `frames()`). Asked only from the one that the player expects on.
  [[nodiscard]] virtual std::size_t frames() const = 0;
  [[nodiscard]] virtual std::span<const std::uint8_t> payload(std::size_t number) const = 0;
  [[nodiscard]] virtual std::size_t bytes_before(std::size_t number) const = 0;
  /// There is a new status, of any phase but greeting.
  virtual void hear_more(double /*now_s*/) {}
  /// The moment to add a frame, where `may_go`: all before have been sent, and the line is free now or soon.
  virtual void add_frame(double /*now_s*/, bool /*may_go*/) {}

  [[nodiscard]] const Line& line() const { return line_; }
  [[nodiscard]] std::size_t expected() const { return expected_; }      ///< the frame the player waits for
  [[nodiscard]] std::size_t room_until() const { return room_until_; }  ///< bytes in all it can take
  /// When all that was written is out, by the line's rate.
  [[nodiscard]] double line_free_s() const { return line_free_s_; }

 private:
  void hear(double now_s, const PlayerStatus& status);
  void follow(double now_s);
  void end(Ending ending);
  [[nodiscard]] Bytes begin_frame() const;
  [[nodiscard]] Bytes bursts_frame(std::size_t number) const;
  [[nodiscard]] Bytes alive_frame() const;
  [[nodiscard]] Bytes sign_of_life(double now_s);
  void append_bursts(Bytes& out, double now_s);
  [[nodiscard]] Bytes what_is_due(double now_s);

  SongOffer offer_;
  std::int64_t tick_hz_;
  LinkEncoding encoding_;
  Line line_;
  FrameReader reader_;
  Phase phase_ = Phase::greeting;
  Ending ending_ = Ending::none;
  bool stopping_ = false;
  std::optional<PlayerInfo> player_;
  PlayerStatus status_;
  std::uint8_t songs_before_ = 0;
  std::optional<double> started_s_, stopping_since_s_;
  double heard_s_ = 0, alive_s_ = -1;
  std::size_t next_ = 0, sent_ = 0, expected_ = 0;  ///< frames: to send next; sent ever; the player waits for
  std::size_t room_until_ = 0;
  std::optional<std::size_t> went_back_to_;
  double go_back_again_s_ = 0;
  double line_free_s_ = 0;
  std::int64_t sent_again_ = 0;
};

}  // namespace burstloom
