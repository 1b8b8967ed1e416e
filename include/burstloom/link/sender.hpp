// A song to a player: a stream that is known as a whole.
#pragma once

#include "burstloom/link/plan.hpp"
#include "burstloom/link/session.hpp"

namespace burstloom {

/// Throws Error unless `player` may play `stream`: as above, and outside_limits for a player whose limits are
/// narrower than the stream needs.
void require_fitting(const PlayerInfo& player, const SongOffer& offer, const BurstStream& stream,
                     const std::string& device);

class Sender : public LinkSession {
 public:
  /// `stream` has to live on. `session`, 1 to 255, tells this song from the one before. `baud` is the line's.
  Sender(const BurstStream& stream, const SongOffer& offer, std::string device, std::uint8_t session,
         double baud);

  /// Up to where the player has played, in seconds of the stream.
  [[nodiscard]] double position_s() const;

 protected:
  void meet(const PlayerInfo& player) const override;
  [[nodiscard]] std::size_t frames() const override;
  [[nodiscard]] std::span<const std::uint8_t> payload(std::size_t number) const override;
  [[nodiscard]] std::size_t bytes_before(std::size_t number) const override;

 private:
  const BurstStream& stream_;
  SongOffer offer_;
  SendPlan plan_;
};

}  // namespace burstloom
