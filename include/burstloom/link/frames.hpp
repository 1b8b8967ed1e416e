// Frames on the wire between a computer and a player (docs/reference/serial-link.md): a body and its CRC-16,
// made free of zeros by COBS, closed by a zero.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "burstloom/common/files.hpp"

namespace burstloom {

inline constexpr std::uint8_t kLinkVersion = 2;
/// Bytes of bursts in one frame, at most.
inline constexpr std::size_t kLongestPayload = 64;

/// First byte of a body.
enum class FrameType : std::uint8_t {
  hello = 0x01,
  begin = 0x02,
  bursts = 0x03,
  alive = 0x04,
  stop = 0x05,
  player = 0x81,
  status = 0x82,
};

/// What a session's entries are: those of a song, all known ahead; or live, where rests are entries too and
/// an empty buffer means: wait.
enum class LinkEncoding : std::uint8_t { song = 0, live = 1 };

/// CRC-16/GENIBUS: polynomial 0x1021, start and final xor 0xFFFF, not reflected. "123456789" gives 0xD64E.
[[nodiscard]] std::uint16_t crc16(std::span<const std::uint8_t> bytes);

/// Consistent overhead byte stuffing (Cheshire and Baker, IEEE/ACM Transactions on Networking 7(2), 1999),
/// without the closing zero.
[[nodiscard]] Bytes to_cobs(std::span<const std::uint8_t> bytes);
/// Nothing when `bytes` hold a zero, break off inside a group, or are empty.
[[nodiscard]] std::optional<Bytes> from_cobs(std::span<const std::uint8_t> bytes);

/// The whole frame for a body, closing zero included.
[[nodiscard]] Bytes frame_of(Bytes body);

/// Takes what comes off a wire and finds the sound frames in it.
class FrameReader {
 public:
  /// The bodies of the frames that `bytes` complete, in order. What is damaged is left out and counted.
  [[nodiscard]] std::vector<Bytes> take(std::span<const std::uint8_t> bytes);
  [[nodiscard]] std::int64_t damaged() const { return damaged_; }

 private:
  Bytes frame_;
  std::int64_t damaged_ = 0;
};

/// What a player says it is.
struct PlayerInfo {
  std::uint8_t version = 0;
  std::int64_t tick_hz = 0;
  std::int64_t on_max = 0, gap_min = 0;  ///< the limits compiled into it, in ticks
  std::int64_t rest_ms = 0;              ///< its shortest rest
  std::int64_t buffer_bytes = 0;
};

/// The player's states, as in firmware-out/player/player.h.
enum class PlayerState : std::uint8_t { resting, release, ready, wants_bursts, playing, fault };

/// How a player stands.
struct PlayerStatus {
  std::uint8_t session = 0;  ///< of the song last offered to it; 0 since reset
  PlayerState state = PlayerState::resting;
  std::uint8_t error = 0, songs = 0;  ///< as in firmware-out/player/player.h
  bool ask_again = false;             ///< a frame of bursts was lost: all from `expected` on come again
  std::uint16_t expected = 0;         ///< number of the next frame of bursts, modulo 2^16
  std::uint16_t room_until = 0;  ///< bytes of bursts that it can take, from the song's start, modulo 2^16
  std::int64_t made = 0, missed = 0;  ///< bursts of this song
  std::int64_t damaged = 0;           ///< frames since reset, modulo 2^16
  double rest_left_s = 0;
  std::uint32_t song_time = 0;  ///< ticks since the song's zero when this was said, modulo 2^32
};

/// What a status takes on the wire, in bytes.
inline constexpr int kStatusOnWire = 30;

/// Nothing for any other body.
[[nodiscard]] std::optional<PlayerInfo> player_info_from(std::span<const std::uint8_t> body);
[[nodiscard]] std::optional<PlayerStatus> player_status_from(std::span<const std::uint8_t> body);

}  // namespace burstloom
