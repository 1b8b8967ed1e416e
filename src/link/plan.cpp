#include "burstloom/link/plan.hpp"

#include <algorithm>

#include "burstloom/link/frames.hpp"
#include "burstloom/stream/leb128.hpp"

namespace burstloom {
namespace {

constexpr Tick kWindowsPerSecond = 10;

// One entry: twice the gap, plus one when the on-time follows because it is another than before.
Bytes entry_of(const Burst& burst, const Burst& before) {
  Bytes entry;
  const bool names_on = burst.on != before.on;
  append_leb128(entry, static_cast<std::uint64_t>(2 * (burst.start - before.end()) + (names_on ? 1 : 0)));
  if (names_on) append_leb128(entry, static_cast<std::uint64_t>(burst.on));
  return entry;
}

}  // namespace

SendPlan plan_of(const BurstStream& stream) {
  SendPlan plan;
  Piece piece;
  Burst before;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const Bytes entry = entry_of(stream.bursts[i], before);
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
