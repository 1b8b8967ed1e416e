// Reading and writing streams: own format (.burst), CSV, VCD, WAV gate. And captures of real hardware.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "burstloom/common/files.hpp"
#include "burstloom/stream/account.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// What a .burst file holds besides the bursts, so that export and send need no profile beside it.
/// docs/reference/burst-format.md has it byte by byte.
struct BurstFile {
  BurstStream stream;
  std::string title;    ///< the song's name, UTF-8, may be empty
  std::string profile;  ///< the coil profile's text (TOML) the stream was woven for; may be empty
  Account account{};    ///< which note each burst plays and what the limits changed; may be empty
};

/// The bursts alone, as the part BRST holds them: gap and on-time of each, unsigned LEB128.
[[nodiscard]] Bytes burst_part(const BurstStream& stream);
[[nodiscard]] Bytes to_burst_file(const BurstFile& file);
/// Throws Error (bad_input) with the byte offset: wrong magic, newer version, CRC-32 mismatch, cut off,
/// values out of range.
[[nodiscard]] BurstFile from_burst_file(std::span<const std::uint8_t> bytes, const std::string& name);

/// First line `# tick_hz=N`, header `start_us,on_us`, then decimals enough to be exact (the closing silence
/// is not kept; the reader lets further `#` lines pass and takes the last end for the length). Throws Error
/// (usage) when a tick has no finite decimal in microseconds.
[[nodiscard]] std::string to_csv(const BurstStream& stream);
[[nodiscard]] BurstStream from_csv(std::string_view text, const std::string& name);

/// IEEE 1364-2005 clause 18, one wire `gate`, at the coarsest timescale that is exact. Throws Error (usage)
/// when none is (a tick that is no whole number of femtoseconds).
[[nodiscard]] std::string to_vcd(const BurstStream& stream);

/// A gate as sound: 16-bit mono WAV, high = +full scale, low = 0, written to `path` (whole or not at all).
/// Throws Error (usage) when `rate` is under 192 kHz, the highest rate libsndfile takes is passed, or the
/// file would exceed WAV's 4 GiB. A rate that is no whole multiple of tick_hz rounds edges to the nearest
/// sample.
void write_wav_gate(const BurstStream& stream, int rate, const std::string& path);

/// How to read a capture.
struct CaptureOptions {
  std::string wire;  ///< VCD: the wire's name ("gate" or "top.gate"); empty: `gate`, or the only one there is
  bool invert = false;  ///< the gate is active low
};

/// What is odd about a capture of a wire, and how fine it is.
struct CaptureSigns {
  double sample_us = 0;      ///< the finest time the file can tell: one sample, or one unit of its timescale
  bool exact = false;        ///< written by Burstloom with every edge on its tick: no measurement at all
  bool starts_high = false;  ///< the first burst is at least as long as shown
  bool ends_high = false;    ///< the last burst is at least as long as shown
  std::int64_t short_highs = 0;  ///< pulses of under a microsecond or two samples; they stand in the stream
  std::int64_t short_lows = 0;   ///< dips as short as that; the bursts on both sides were joined
  std::int64_t unknown_levels = 0;  ///< stretches of x or z (VCD), or before the first value; taken for high
};

/// A capture, as a stream and with what was odd about it.
struct Capture : CaptureSigns {
  BurstStream stream;
};

/// Throws Error (bad_input with line number; usage when the wire is not there, naming those that are).
[[nodiscard]] Capture from_vcd(std::string_view text, const std::string& name, const CaptureOptions& options);
/// Threshold half-way between the lowest and the highest sample, first channel of a file of any rate of at
/// least 192 kHz. A file that never changes is all low, unless its level is above a quarter of full scale.
[[nodiscard]] Capture from_wav_gate(const std::string& path, const CaptureOptions& options);

/// A stream from any file that `check` and `export` take, by its content and its ending.
struct StreamFile {
  BurstFile file;
  std::optional<Capture> capture;  ///< set for VCD and WAV; `file.stream` is the same stream
};
[[nodiscard]] StreamFile read_stream(const std::string& path, const CaptureOptions& options);

}  // namespace burstloom
