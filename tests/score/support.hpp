// Makes MIDI files byte by byte for the tests.
#pragma once

#include <gtest/gtest.h>

#include <cstdint>
#include <sstream>
#include <string>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/score/midi.hpp"

namespace burstloom::testing {

using Bytes = std::vector<std::uint8_t>;

/// "4D 54 68" or "4D5468": hexadecimal digits in pairs, blanks ignored.
inline Bytes hex(const std::string& digits) {
  Bytes bytes;
  std::string pair;
  for (const char c : digits) {
    if (c == ' ') continue;
    pair += c;
    if (pair.size() < 2) continue;
    bytes.push_back(static_cast<std::uint8_t>(std::stoi(pair, nullptr, 16)));
    pair.clear();
  }
  return bytes;
}

inline void append(Bytes& to, const Bytes& more) {
  to.insert(to.end(), more.begin(), more.end());
}

inline Bytes big_endian(std::uint32_t value, int count) {
  Bytes bytes;
  for (int i = count; i-- > 0;) bytes.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
  return bytes;
}

inline Bytes chunk(const std::string& type, const Bytes& content) {
  Bytes bytes(type.begin(), type.end());
  append(bytes, big_endian(static_cast<std::uint32_t>(content.size()), 4));
  append(bytes, content);
  return bytes;
}

inline const std::string kEnd = "00 FF2F00";

/// A file of tracks given in hexadecimal, each with its end-of-track event.
inline Bytes midi_file(const std::vector<std::string>& tracks, int format = 1,
                       std::uint32_t division = 0x60) {
  Bytes header = big_endian(static_cast<std::uint32_t>(format), 2);
  append(header, big_endian(static_cast<std::uint32_t>(tracks.size()), 2));
  append(header, big_endian(division, 2));
  Bytes file = chunk("MThd", header);
  for (const std::string& track : tracks) append(file, chunk("MTrk", hex(track)));
  return file;
}

inline Score score_from(const Bytes& bytes, const MidiOptions& options = {}) {
  return score_of(parse_midi(bytes, "song.mid", options), "untitled");
}

/// The one Error that reading gives; a failure where there is none.
inline Error error_from(const Bytes& bytes) {
  try {
    (void)score_from(bytes);
  } catch (const Error& error) {
    return error;
  }
  ADD_FAILURE() << "nothing was refused";
  return bad_input("", "", "");
}

}  // namespace burstloom::testing
