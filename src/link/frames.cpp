#include "burstloom/link/frames.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLongestGroup = 255;
// No frame of either side is as long: what goes on without a zero is noise.
constexpr std::size_t kLongestFrame = 256;

// Little-endian numbers out of a body.
class BodyReader {
 public:
  explicit BodyReader(std::span<const std::uint8_t> body) : body_(body) {}
  std::uint32_t next(std::size_t bytes) {
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < bytes; ++i) value |= static_cast<std::uint32_t>(body_[at_++]) << 8 * i;
    return value;
  }

 private:
  std::span<const std::uint8_t> body_;
  std::size_t at_ = 1;  // behind the type
};

bool is_of(std::span<const std::uint8_t> body, FrameType type, std::size_t bytes) {
  return body.size() == bytes && body[0] == static_cast<std::uint8_t>(type);
}

}  // namespace

std::uint16_t crc16(std::span<const std::uint8_t> bytes) {
  unsigned crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc ^= static_cast<unsigned>(byte) << 8;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 0x8000) != 0 ? crc << 1 ^ 0x1021 : crc << 1;
    crc &= 0xFFFF;
  }
  return static_cast<std::uint16_t>(crc ^ 0xFFFF);
}

Bytes to_cobs(std::span<const std::uint8_t> bytes) {
  Bytes out = {1};
  std::size_t code_at = 0;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    if (bytes[i] != 0) {
      out.push_back(bytes[i]);
      ++out[code_at];
    }
    const bool full = out[code_at] == kLongestGroup && i + 1 < bytes.size();
    if (bytes[i] == 0 || full) {
      code_at = out.size();
      out.push_back(1);
    }
  }
  return out;
}

std::optional<Bytes> from_cobs(std::span<const std::uint8_t> bytes) {
  if (bytes.empty()) return std::nullopt;
  Bytes out;
  for (std::size_t at = 0; at < bytes.size();) {
    const std::size_t code = bytes[at++];
    if (code == 0 || at + code - 1 > bytes.size()) return std::nullopt;
    for (std::size_t i = 1; i < code; ++i, ++at) {
      if (bytes[at] == 0) return std::nullopt;
      out.push_back(bytes[at]);
    }
    if (code < kLongestGroup && at < bytes.size()) out.push_back(0);
  }
  return out;
}

Bytes frame_of(Bytes body) {
  const std::uint16_t crc = crc16(body);
  body.push_back(static_cast<std::uint8_t>(crc >> 8));
  body.push_back(static_cast<std::uint8_t>(crc & 0xFF));
  Bytes frame = to_cobs(body);
  frame.push_back(0);
  return frame;
}

namespace {

std::optional<Bytes> body_of_frame(const Bytes& frame) {
  auto body = from_cobs(frame);
  if (!body || body->size() <= 2) return std::nullopt;
  const std::size_t end = body->size() - 2;
  const unsigned crc = static_cast<unsigned>((*body)[end]) << 8 | (*body)[end + 1];
  body->resize(end);
  return crc16(*body) == crc ? body : std::nullopt;
}

}  // namespace

std::vector<Bytes> FrameReader::take(std::span<const std::uint8_t> bytes) {
  std::vector<Bytes> bodies;
  for (const std::uint8_t byte : bytes) {
    if (byte != 0) {
      if (frame_.size() < kLongestFrame) frame_.push_back(byte);
      continue;
    }
    if (frame_.empty()) continue;
    auto body = frame_.size() < kLongestFrame ? body_of_frame(frame_) : std::nullopt;
    frame_.clear();
    if (body) {
      bodies.push_back(std::move(*body));
    } else {
      ++damaged_;
    }
  }
  return bodies;
}

std::optional<PlayerInfo> player_info_from(std::span<const std::uint8_t> body) {
  if (!is_of(body, FrameType::player, 20)) return std::nullopt;
  BodyReader reader(body);
  PlayerInfo info;
  info.version = static_cast<std::uint8_t>(reader.next(1));
  info.tick_hz = reader.next(4);
  info.on_max = reader.next(4);
  info.gap_min = reader.next(4);
  info.rest_ms = reader.next(4);
  info.buffer_bytes = reader.next(2);
  return info;
}

std::optional<PlayerStatus> player_status_from(std::span<const std::uint8_t> body) {
  if (!is_of(body, FrameType::status, 26)) return std::nullopt;
  BodyReader reader(body);
  PlayerStatus status;
  status.session = static_cast<std::uint8_t>(reader.next(1));
  const std::uint32_t state = reader.next(1);
  if (state > static_cast<std::uint32_t>(PlayerState::fault)) return std::nullopt;
  status.state = static_cast<PlayerState>(state);
  status.error = static_cast<std::uint8_t>(reader.next(1));
  status.songs = static_cast<std::uint8_t>(reader.next(1));
  status.ask_again = reader.next(1) != 0;
  status.expected = static_cast<std::uint16_t>(reader.next(2));
  status.room_until = static_cast<std::uint16_t>(reader.next(2));
  status.made = reader.next(4);
  status.missed = reader.next(2);
  status.damaged = reader.next(2);
  status.rest_left_s = reader.next(4) / 1000.0;
  status.song_time = reader.next(4);
  return status;
}

}  // namespace burstloom
