// The computer's side of the link, without any device: fed with time and bytes, it says what to write. So
// tests run it against a player on a wire of their own.
#pragma once

#include <optional>
#include <string>

#include "burstloom/link/frames.hpp"
#include "burstloom/link/plan.hpp"

namespace burstloom {

/// What a player has to know of a song before it plays it.
struct SongOffer {
  std::int64_t on_max = 0, gap_min = 0;  ///< the limits it was woven for, in ticks
  std::int64_t rest_ms = 0;              ///< before anything may start again after it
};

/// Throws Error unless `player` may play `stream`: usage (another version, another tick rate), outside_limits
/// (limits wider than the stream's coil allows, or narrower than the stream needs), saying what differs.
void require_fitting(const PlayerInfo& player, const SongOffer& offer, const BurstStream& stream,
                     const std::string& device);

/// What to tell of a player's error (firmware-out/player/player.h): a clause, and what to do.
struct PlayerError {
  std::string what, what_to_do;
};
[[nodiscard]] PlayerError say_player_error(std::uint8_t error);

class Sender {
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

  /// `stream` has to live on. `session`, 1 to 255, tells this song from the one before. `baud` is the line's.
  Sender(const BurstStream& stream, const SongOffer& offer, std::string device, std::uint8_t session,
         double baud);

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
  /// Up to where the player has played, in seconds of the stream.
  [[nodiscard]] double position_s() const;
  [[nodiscard]] std::int64_t frames_sent_again() const { return sent_again_; }
  [[nodiscard]] std::int64_t damaged_answers() const { return reader_.damaged(); }

 private:
  void hear(double now_s, const PlayerStatus& status);
  void follow(double now_s);
  void end(Ending ending);
  [[nodiscard]] Bytes begin_frame() const;
  [[nodiscard]] Bytes bursts_frame(std::size_t piece) const;
  [[nodiscard]] Bytes alive_frame() const;
  [[nodiscard]] Bytes sign_of_life(double now_s);
  [[nodiscard]] Bytes what_is_due(double now_s);

  const BurstStream& stream_;
  SongOffer offer_;
  std::string device_;
  std::uint8_t session_;
  double baud_;
  SendPlan plan_;
  FrameReader reader_;
  Phase phase_ = Phase::greeting;
  Ending ending_ = Ending::none;
  bool stopping_ = false;
  std::optional<PlayerInfo> player_;
  PlayerStatus status_;
  std::uint8_t songs_before_ = 0;
  std::optional<double> started_s_, stopping_since_s_;
  double heard_s_ = 0, alive_s_ = -1;
  std::size_t next_ = 0, sent_ = 0, expected_ = 0;  ///< pieces: to send next; sent ever; the player waits for
  std::size_t room_until_ = 0;                      ///< bytes of the plan that the player can take
  std::optional<std::size_t> went_back_to_;
  double go_back_again_s_ = 0;
  double line_free_s_ = 0;  ///< when all that was written is out, by the line's rate
  std::int64_t sent_again_ = 0;
};

}  // namespace burstloom
