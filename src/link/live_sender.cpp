#include "burstloom/link/live_sender.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"
#include "burstloom/link/plan.hpp"
#include "burstloom/stream/pair_entry.hpp"
#include "say.hpp"

namespace burstloom {
namespace {

// What waits in the line's buffer makes all that comes later late; frames grow while they wait for it
// instead.
constexpr double kAhead_s = 0.004;
// Real lines are up to 2.5 % slower than their name; a queue that nobody sees would grow by as much.
constexpr double kOfLine = 0.97;
// The player wants to be told at least every half second that there is silence. It is told up to some time
// ago only: its clock is known so well, and no burst that might still be in time is cut off.
constexpr double kRestAfter_s = 0.25;
constexpr double kRestUntil_s = 0.05;
// Longer rests are told in parts: a gap has 30 bits.
constexpr Tick kLongestGap = Tick{1} << 29;
// Around the entries of a frame: COBS code, type, session, number, CRC-16, closing zero.
constexpr double kAround = 8;
// The margin grows with bursts that came too late for the player all the same, and shrinks again.
constexpr double kMarginStep_s = 0.002, kMarginLost_s = 0.00002, kMostMargin_s = 0.02;

}  // namespace

LiveSender::LiveSender(const SongOffer& offer, std::int64_t tick_hz, std::string device, std::uint8_t session,
                       double baud)
    : LinkSession(offer, tick_hz, LinkEncoding::live, {std::move(device), session, baud * kOfLine, kAhead_s}),
      offer_(offer),
      tick_hz_(tick_hz),
      clock_(tick_hz) {}

// A song can be held against a player's narrower limits before it is played; bursts that are still to come
// cannot, and would be left out one by one.
void LiveSender::meet(const PlayerInfo& player) const {
  require_fitting(player, offer_, tick_hz_, line().device);
  const auto refuse = [&](const std::string& what, const std::string& change) {
    throw Error(Fault::outside_limits, "the player's limits are narrower than this coil's: " + what,
                line().device, change + " or a little more in the profile, then export the player anew");
  };
  const auto say = [&](Tick ticks) { return us(ticks, tick_hz_); };
  if (player.gap_min > offer_.gap_min)
    refuse("gap from " + say(player.gap_min) + " (" + say(offer_.gap_min) + ")",
           "raise gap_us by " + say(player.gap_min - offer_.gap_min));
  if (player.on_max < offer_.on_max)
    refuse("on-time up to " + say(player.on_max) + " (" + say(offer_.on_max) + ")",
           "lower on_time_us.max by " + say(offer_.on_max - player.on_max));
}

void LiveSender::append(std::span<const Burst> bursts) {
  if (!is_playing()) {
    dropped_.not_playing += static_cast<std::int64_t>(bursts.size());
    return;
  }
  for (const Burst& burst : bursts) {
    if (pending_.size() == kMostPending)
      drop_first(waited_ != 0 ? &LiveDropped::line_full : &LiveDropped::late);
    pending_.push_back(burst);
  }
}

std::optional<Tick> LiveSender::player_now(double now_s) {
  return is_playing() ? clock_.now(now_s) : std::nullopt;
}

std::size_t LiveSender::bytes_before(std::size_t number) const {
  return number < frames() ? frames_[number - first_frame_].begin : bytes_;
}

std::span<const std::uint8_t> LiveSender::payload(std::size_t number) const {
  return frames_[number - first_frame_].entries;
}

void LiveSender::hear_more(double now_s) {
  const bool plays = phase() == Phase::playing && status().state == PlayerState::playing;
  if (plays && !plays_) clock_.restart();
  plays_ = plays;
  clock_.hear(now_s - 10.0 * kStatusOnWire / line().baud, status().song_time);
  for (; first_frame_ < expected(); ++first_frame_) frames_.pop_front();
  margin_s_ = status().missed > missed_ ? std::min(margin_s_ + kMarginStep_s, kMostMargin_s)
                                        : std::max(margin_s_ - kMarginLost_s, 0.0);
  missed_ = status().missed;
}

void LiveSender::drop_first(std::int64_t LiveDropped::*why) {
  ++(dropped_.*why);
  pending_.pop_front();
  if (waited_ != 0) --waited_;
}

// What would come too late if it were sent next. A whole frame of it may be there to send: the first bursts
// of it wait for the last.
void LiveSender::drop_late(double now_s) {
  constexpr double kBytesABurst = 3;
  const double entries =
      std::min(kBytesABurst * static_cast<double>(pending_.size()), double{kLongestPayload});
  const double arrives_s =
      std::max(now_s, line_free_s()) + 10 * (kAround + entries) / line().baud + margin_s_;
  const Tick now = *player_now(now_s);
  const auto first_in_time = now + static_cast<Tick>((arrives_s - now_s) * static_cast<double>(tick_hz_));
  while (!pending_.empty() && pending_.front().start < std::max(first_in_time, told_.start))
    drop_first(waited_ != 0 ? &LiveDropped::line_full : &LiveDropped::late);
}

bool LiveSender::is_fit(const Burst& burst) const {
  return burst.on > 0 && burst.on <= player()->on_max && burst.start >= told_.end() &&
         (last_fall_ < 0 || burst.start - last_fall_ >= player()->gap_min);
}

// False when there is no room for it, in the frame or at the player.
bool LiveSender::append_entry(Bytes& entries, const Burst& entry) {
  Bytes bytes;
  append_pair_entry(bytes, entry, told_);
  const std::size_t room = room_until() - std::min(room_until(), bytes_);
  if (entries.size() + bytes.size() > std::min(kLongestPayload, room)) return false;
  entries.insert(entries.end(), bytes.begin(), bytes.end());
  told_ = entry;
  return true;
}

// When nothing else is to be said, and nothing was for a while.
void LiveSender::append_rest(double now_s, Bytes& entries) {
  const auto ticks = [&](double s) { return static_cast<Tick>(s * static_cast<double>(tick_hz_)); };
  const Tick now = *player_now(now_s);
  if (now - told_.end() > ticks(kRestAfter_s)) (void)append_entry(entries, {now - ticks(kRestUntil_s), 0});
}

void LiveSender::append_bursts(Bytes& entries) {
  while (!pending_.empty()) {
    const Burst burst = pending_.front();
    if (!is_fit(burst)) {
      drop_first(&LiveDropped::unfit);
    } else if (burst.start - told_.end() > kLongestGap) {
      if (!append_entry(entries, {told_.end() + kLongestGap, 0})) return;
    } else {
      if (!append_entry(entries, burst)) return;
      last_fall_ = burst.end();
      pending_.pop_front();
      if (waited_ != 0) --waited_;
    }
  }
}

void LiveSender::add_frame(double now_s, bool may_go) {
  if (!is_playing()) return;
  drop_late(now_s);
  Bytes entries;
  if (may_go) append_bursts(entries);
  if (may_go && entries.empty()) append_rest(now_s, entries);
  waited_ = pending_.size();
  if (entries.empty()) return;
  const std::size_t size = entries.size();
  frames_.push_back({bytes_, std::move(entries)});
  bytes_ += size;
}

}  // namespace burstloom
