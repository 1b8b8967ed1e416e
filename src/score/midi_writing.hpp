// The numbers of a MIDI file, and what stands at its beginning and end.
#pragma once

#include <string>

#include "burstloom/common/files.hpp"

namespace burstloom::midi_detail {

inline constexpr int kTempo_us = 500'000;  // a quarter note: 120 a minute
/// The largest number of variable length (SMF 1.0): four bytes of seven bits.
inline constexpr std::uint32_t kLargestVariable = (1u << 28) - 1;

inline void append_big_endian(Bytes& out, std::uint32_t value, int bytes) {
  for (int i = bytes; i-- > 0;) out.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

/// Seven bits a byte, the highest first.
inline void append_variable(Bytes& out, std::uint32_t value) {
  for (int shift = 21; shift > 0; shift -= 7)
    if (value >> shift != 0) out.push_back(static_cast<std::uint8_t>(0x80 | (value >> shift & 0x7F)));
  out.push_back(static_cast<std::uint8_t>(value & 0x7F));
}

/// The chunk MThd.
inline void append_header(Bytes& out, std::uint32_t format, std::uint32_t tracks, std::uint32_t division) {
  for (const char c : {'M', 'T', 'h', 'd'}) out.push_back(static_cast<std::uint8_t>(c));
  append_big_endian(out, 6, 4);
  for (const std::uint32_t value : {format, tracks, division}) append_big_endian(out, value, 2);
}

/// The chunk MTrk; `rest` is how long after the last event the track ends.
inline void append_track(Bytes& out, Bytes track, std::uint32_t rest) {
  append_variable(track, rest);
  for (const int byte : {0xFF, 0x2F, 0x00}) track.push_back(static_cast<std::uint8_t>(byte));
  for (const char c : {'M', 'T', 'r', 'k'}) out.push_back(static_cast<std::uint8_t>(c));
  append_big_endian(out, static_cast<std::uint32_t>(track.size()), 4);
  out.insert(out.end(), track.begin(), track.end());
}

/// Title and tempo, both at once.
inline Bytes opening(const std::string& title) {
  const std::string name = title.substr(0, 1000);
  Bytes out{0x00, 0xFF, 0x03};
  append_variable(out, static_cast<std::uint32_t>(name.size()));
  out.insert(out.end(), name.begin(), name.end());
  for (const int byte : {0x00, 0xFF, 0x51, 0x03}) out.push_back(static_cast<std::uint8_t>(byte));
  append_big_endian(out, kTempo_us, 3);
  return out;
}

}  // namespace burstloom::midi_detail
