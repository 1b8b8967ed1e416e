#include "burstloom/link/plan.hpp"

#include <algorithm>

#include "burstloom/link/frames.hpp"
#include "burstloom/stream/pair_entry.hpp"

namespace burstloom {
namespace {

constexpr Tick kWindowsPerSecond = 10;

}  // namespace

SendPlan plan_of(const BurstStream& stream) {
  SendPlan plan;
  Piece piece;
  Burst before;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    Bytes entry;
    append_pair_entry(entry, stream.bursts[i], before);
    before = stream.bursts[i];
    if (plan.data.size() + entry.size() > piece.begin + kLongestPayload) {
      piece.end = plan.data.size();
      plan.pieces.push_back(piece);
      piece = {plan.data.size(), 0, i};
    }
    plan.data.insert(plan.data.end(), entry.begin(), entry.end());
  }
  piece.end = plan.data.size();
  if (piece.end > piece.begin) plan.pieces.push_back(piece);
  plan.pieces.push_back({plan.data.size(), plan.data.size(), stream.bursts.size()});
  return plan;
}

std::int64_t needed_baud(const SendPlan& plan, const BurstStream& stream) {
  // Around a payload: COBS code, type, session, number, CRC-16, closing zero.
  constexpr std::size_t kAround = 8;
  const Tick window = stream.tick_hz / kWindowsPerSecond;
  const auto wire = [&](const Piece& piece) {
    return static_cast<std::int64_t>(piece.end - piece.begin + kAround);
  };
  const auto at = [&](const Piece& piece) { return stream.bursts[piece.first_burst].start; };
  std::int64_t bytes = 0, most = 0;
  std::size_t oldest = 0;
  for (std::size_t i = 0; i + 1 < plan.pieces.size(); ++i) {
    bytes += wire(plan.pieces[i]);
    while (at(plan.pieces[i]) - at(plan.pieces[oldest]) >= window) bytes -= wire(plan.pieces[oldest++]);
    most = std::max(most, bytes);
  }
  constexpr auto kAlive = static_cast<std::int64_t>((kAround + 1) / kAliveEvery_s);
  return 10 * (most * kWindowsPerSecond + kAlive);
}

}  // namespace burstloom
