#include "burstloom/link/sender.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"
#include "say.hpp"

namespace burstloom {
namespace {

// A stop would come after all that is written.
constexpr double kAhead_s = 0.01;

}  // namespace

void require_fitting(const PlayerInfo& player, const SongOffer& offer, const BurstStream& stream,
                     const std::string& device) {
  require_fitting(player, offer, stream.tick_hz, device);
  const auto say = [&](std::int64_t ticks) { return us(ticks, stream.tick_hz); };
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const Burst& burst = stream.bursts[i];
    const bool close = i > 0 && burst.start - stream.bursts[i - 1].end() < player.gap_min;
    if (burst.on > player.on_max || close)
      throw Error(Fault::outside_limits,
                  "the player's limits (on-time up to " + say(player.on_max) + ", gap from " +
                      say(player.gap_min) + ") are narrower than burst " + std::to_string(i + 1) + " at " +
                      std::to_string(stream.seconds(burst.start)) + " s needs",
                  device, kExportForCoil);
  }
}

Sender::Sender(const BurstStream& stream, const SongOffer& offer, std::string device, std::uint8_t session,
               double baud)
    : LinkSession(offer, stream.tick_hz, LinkEncoding::song, {std::move(device), session, baud, kAhead_s}),
      stream_(stream),
      offer_(offer),
      plan_(plan_of(stream)) {}

void Sender::meet(const PlayerInfo& player) const {
  require_fitting(player, offer_, stream_, line().device);
}

std::size_t Sender::frames() const {
  return plan_.pieces.size();
}

std::size_t Sender::bytes_before(std::size_t number) const {
  return number < plan_.pieces.size() ? plan_.pieces[number].begin : plan_.data.size();
}

std::span<const std::uint8_t> Sender::payload(std::size_t number) const {
  const Piece& piece = plan_.pieces[number];
  return std::span(plan_.data).subspan(piece.begin, piece.end - piece.begin);
}

double Sender::position_s() const {
  const auto played = static_cast<std::size_t>(std::max<std::int64_t>(0, status().made + status().missed));
  if (phase() == Phase::greeting || phase() == Phase::waiting || played == 0 || stream_.bursts.empty())
    return 0;
  return stream_.seconds(stream_.bursts[std::min(played, stream_.bursts.size()) - 1].end());
}

}  // namespace burstloom
