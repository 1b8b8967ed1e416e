// The bytes of a MIDI file, read in order and never past an end; damage is told by its place.
#pragma once

#include <cstdint>
#include <span>
#include <string>

#include "burstloom/common/error.hpp"

namespace burstloom::midi_detail {

/// Something in the file is not as the standard says. Becomes an Error unless it is salvaged.
struct Damage {
  std::string what;
  std::size_t byte = 0;
};

/// The Error of a damage, for people.
[[nodiscard]] Error error_of(const Damage& damage, const std::string& file);

/// Reads up to `end`; every read past it throws Damage with the words `cut off`.
class MidiBytes {
 public:
  MidiBytes(std::span<const std::uint8_t> bytes, std::size_t at, std::size_t end)
      : bytes_(bytes), at_(at), end_(end) {}

  [[nodiscard]] std::size_t at() const { return at_; }
  [[nodiscard]] std::size_t left() const { return end_ - at_; }
  [[nodiscard]] std::uint8_t peek() const {
    require(1);
    return bytes_[at_];
  }
  std::uint8_t byte() {
    require(1);
    return bytes_[at_++];
  }
  std::span<const std::uint8_t> take(std::size_t count) {
    require(count);
    at_ += count;
    return bytes_.subspan(at_ - count, count);
  }
  /// Big-endian, `count` bytes, at most 4.
  std::uint32_t number(std::size_t count) {
    std::uint32_t value = 0;
    for (const std::uint8_t it : take(count)) value = value << 8 | it;
    return value;
  }
  /// Seven bits a byte, the highest first; bit 7 says that another follows. At most four bytes (SMF 1.0).
  std::uint32_t variable_length() {
    const std::size_t start = at_;
    std::uint32_t value = 0;
    for (int i = 0; i < 4; ++i) {
      const std::uint8_t it = byte();
      value = value << 7 | (it & 0x7Fu);
      if (it < 0x80) return value;
    }
    throw Damage{"a variable-length number has more than four bytes", start};
  }

 private:
  void require(std::size_t count) const {
    if (count > left()) throw Damage{"the file or its track is cut off", end_};
  }

  std::span<const std::uint8_t> bytes_;
  std::size_t at_, end_;
};

}  // namespace burstloom::midi_detail
