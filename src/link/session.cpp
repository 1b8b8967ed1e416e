#include "burstloom/link/session.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"
#include "burstloom/link/plan.hpp"
#include "say.hpp"

namespace burstloom {
namespace {

// A board that resets when its port is opened takes a second or two before its player runs.
constexpr double kGreetingLasts_s = 5;
constexpr double kGreetEvery_s = 0.1;
constexpr double kNoAnswerAfter_s = 1;
constexpr double kStoppingLasts_s = 0.3;
// From a frame that has gone out to the status that takes it into account: the player says one every 10 ms,
// and USB adapters keep bytes back for up to 16.
constexpr double kAnswerTakes_s = 0.03;

void append(Bytes& body, std::uint64_t value, int bytes) {
  for (; bytes > 0; --bytes, value >>= 8) body.push_back(static_cast<std::uint8_t>(value & 0xFF));
}

void append(Bytes& out, const Bytes& more) {
  for (const std::uint8_t byte : more) out.push_back(byte);
}

Bytes body_of(FrameType type) {
  Bytes body;
  body.reserve(kLongestPayload + 8);
  body.push_back(static_cast<std::uint8_t>(type));
  return body;
}

}  // namespace

void require_fitting(const PlayerInfo& player, const SongOffer& offer, std::int64_t tick_hz,
                     const std::string& device) {
  if (player.version != kLinkVersion)
    throw Error(Fault::usage,
                "the player speaks version " + std::to_string(player.version) + " of the link, not " +
                    std::to_string(kLinkVersion),
                device, "load a player that this Burstloom has exported");
  if (player.tick_hz != tick_hz)
    throw Error(Fault::usage,
                "the player counts " + std::to_string(player.tick_hz) + " ticks a second, the bursts have " +
                    std::to_string(tick_hz),
                device, "make them with --tick-hz " + std::to_string(player.tick_hz));
  const auto say = [&](std::int64_t ticks) { return us(ticks, tick_hz); };
  if (player.on_max > offer.on_max || player.gap_min < offer.gap_min)
    throw Error(Fault::outside_limits,
                "the player was made for wider limits than this coil has: on-time up to " +
                    say(player.on_max) + " (" + say(offer.on_max) + "), gap from " + say(player.gap_min) +
                    " (" + say(offer.gap_min) + ")",
                device, kExportForCoil);
}

PlayerError say_player_error(std::uint8_t error) {
  switch (error) {
    case 5:
      return {"the player refused the song's limits", "export a player for this song's coil and load it"};
    case 7:
      return {"the player could not read a burst", "please report it with the stream"};
    case 16:
      return {"the stop input was opened", ""};
    case 17:
      return {"the arm switch was opened", ""};
    case 18:
      return {"the player lost its clock: something kept its interrupts out for too long",
              "look for code of your own in the player"};
    case 19:
      return {"the player heard nothing for 80 ms", "look at the cable, or use a computer that is less busy"};
    case 20:
      return {"the player had no burst left to play", "use a computer that is less busy, or a faster line"};
    case 21:
      return {"somebody else asked the player to stop", ""};
    default:
      return {"the player ended the song with error " + std::to_string(error), ""};
  }
}

PlayerError say_ending(const LinkSession& session) {
  switch (session.ending()) {
    case LinkSession::Ending::none:
    case LinkSession::Ending::played:
      return {};
    case LinkSession::Ending::stopped:
      return {"stopped by hand", ""};
    case LinkSession::Ending::no_player:
      return {"no player answered within 5 s",
              "load a player that was exported with --to player, and use the same --baud"};
    case LinkSession::Ending::no_answer:
      return {"the player does not answer any more",
              "it falls silent by itself; look at cable and power"};
    case LinkSession::Ending::reset:
      return {"the player was reset", "look at its supply"};
    case LinkSession::Ending::ended:
      return say_player_error(session.status().error);
  }
  return {};
}

LinkSession::LinkSession(const SongOffer& offer, std::int64_t tick_hz, LinkEncoding encoding, Line line)
    : offer_(offer), tick_hz_(tick_hz), encoding_(encoding), line_(std::move(line)) {}

void LinkSession::end(Ending ending) {
  phase_ = Phase::over;
  ending_ = ending;
}

void LinkSession::stop() {
  stopping_ = true;
}

void LinkSession::receive(double now_s, std::span<const std::uint8_t> bytes) {
  for (const Bytes& body : reader_.take(bytes)) {
    if (phase_ == Phase::over) return;
    if (const auto info = player_info_from(body)) {
      heard_s_ = now_s;
      if (phase_ != Phase::greeting) continue;
      meet(*info);
      player_ = info;
      phase_ = Phase::waiting;
    } else if (const auto status = player_status_from(body)) {
      heard_s_ = now_s;
      if (phase_ == Phase::greeting) continue;
      hear(now_s, *status);
      if (phase_ != Phase::over) hear_more(now_s);
    }
  }
}

void LinkSession::hear(double now_s, const PlayerStatus& status) {
  const bool at_it = status.state == PlayerState::wants_bursts || status.state == PlayerState::playing;
  const bool ours = status.session == line_.session;
  if (phase_ == Phase::waiting) {
    status_ = status;
    if (!ours || !at_it) songs_before_ = status.songs;
    if (ours && at_it) phase_ = Phase::playing;
    if (stopping_since_s_ && !at_it) return end(Ending::stopped);
  }
  if (phase_ != Phase::playing) return;
  if (!ours) return end(Ending::reset);
  status_ = status;
  if (at_it) return follow(now_s);
  end(status.songs != songs_before_ ? Ending::played : stopping_since_s_ ? Ending::stopped : Ending::ended);
}

// Whatever a status says it is compared with what was sent: numbers that cannot be are left alone.
void LinkSession::follow(double now_s) {
  const auto step = static_cast<std::uint16_t>(status_.expected - static_cast<std::uint16_t>(expected_));
  if (expected_ + step > sent_) return;
  expected_ += step;
  next_ = std::max(next_, expected_);
  const std::size_t accepted = bytes_before(expected_);
  room_until_ =
      accepted + static_cast<std::uint16_t>(status_.room_until - static_cast<std::uint16_t>(accepted));
  if (!status_.ask_again || expected_ >= next_) return;
  if (went_back_to_ == expected_ && now_s < go_back_again_s_) return;
  // What is on its way comes first; to ask for the same again before that has passed would only double it.
  went_back_to_ = expected_;
  go_back_again_s_ = std::max(now_s, line_free_s_) + kAnswerTakes_s;
  sent_again_ += static_cast<std::int64_t>(next_ - expected_);
  next_ = expected_;
}

// The limits named are the player's own: the stream was found to keep them.
Bytes LinkSession::begin_frame() const {
  Bytes body = body_of(FrameType::begin);
  append(body, line_.session, 1);
  append(body, static_cast<std::uint64_t>(tick_hz_), 4);
  append(body, static_cast<std::uint64_t>(player_->on_max), 4);
  append(body, static_cast<std::uint64_t>(player_->gap_min), 4);
  append(body, static_cast<std::uint64_t>(offer_.rest_ms), 4);
  append(body, static_cast<std::uint64_t>(encoding_), 1);
  return frame_of(body);
}

Bytes LinkSession::bursts_frame(std::size_t number) const {
  Bytes body = body_of(FrameType::bursts);
  append(body, line_.session, 1);
  append(body, number, 2);
  const auto entries = payload(number);
  body.insert(body.end(), entries.begin(), entries.end());
  return frame_of(body);
}

// It begins with a zero too: a frame whose closing zero was lost on the way shall not take the sign of life
// with it.
Bytes LinkSession::alive_frame() const {
  Bytes body = body_of(FrameType::alive);
  append(body, line_.session, 1);
  append(body, next_, 2);
  Bytes out = {0};
  append(out, frame_of(body));
  return out;
}

// A hello while nobody has answered; then the offer again and again, which is its own keep-alive; while
// playing a keep-alive that says how far the bursts went, so that a lost last frame is missed too.
Bytes LinkSession::sign_of_life(double now_s) {
  if (now_s - alive_s_ < (phase_ == Phase::greeting ? kGreetEvery_s : kAliveEvery_s)) return {};
  alive_s_ = now_s;
  if (stopping_since_s_) return frame_of(body_of(FrameType::stop));
  if (phase_ == Phase::waiting) return begin_frame();
  if (phase_ == Phase::playing) return alive_frame();
  Bytes hello = body_of(FrameType::hello);
  append(hello, kLinkVersion, 1);
  return frame_of(hello);
}

Bytes LinkSession::to_send(double now_s) {
  Bytes out = what_is_due(now_s);
  line_free_s_ = std::max(line_free_s_, now_s) + 10.0 * static_cast<double>(out.size()) / line_.baud;
  return out;
}

void LinkSession::append_bursts(Bytes& out, double now_s) {
  const bool line_is_free = line_free_s_ <= now_s + line_.ahead_s;
  add_frame(now_s, line_is_free && next_ == frames());
  if (line_is_free && next_ < frames() && bytes_before(next_ + 1) <= room_until_)
    append(out, bursts_frame(next_++));
  sent_ = std::max(sent_, next_);
}

Bytes LinkSession::what_is_due(double now_s) {
  if (phase_ == Phase::over) return {};
  Bytes out;
  if (!started_s_) {
    started_s_ = heard_s_ = now_s;
    alive_s_ = now_s - kGreetEvery_s;
    out.push_back(0);  // what an earlier sender has left half-written ends here
  }
  if (stopping_ && !stopping_since_s_) {
    if (phase_ == Phase::greeting) {
      end(Ending::stopped);
      return {};
    }
    stopping_since_s_ = now_s;
    alive_s_ = now_s - kGreetEvery_s;
    out.push_back(0);  // a frame may have been cut
  }
  if (stopping_since_s_ && now_s - *stopping_since_s_ > kStoppingLasts_s) end(Ending::stopped);
  if (phase_ == Phase::greeting && now_s - *started_s_ > kGreetingLasts_s) end(Ending::no_player);
  if (phase_ != Phase::greeting && phase_ != Phase::over && now_s - heard_s_ > kNoAnswerAfter_s)
    end(Ending::no_answer);
  if (phase_ == Phase::over) return {};
  append(out, sign_of_life(now_s));
  if (phase_ != Phase::playing || stopping_since_s_) return out;
  append_bursts(out, now_s);
  return out;
}

}  // namespace burstloom
