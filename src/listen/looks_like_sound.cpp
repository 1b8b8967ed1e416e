#include <array>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <string_view>
#include <system_error>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/sound.hpp"

namespace burstloom {
namespace {

/// What a container begins with; `kind`, if any, stands at byte 8. A RIFF that is no WAVE may well be a song
/// of notes (RMID), so the outer name alone is not enough.
struct Signature {
  std::string_view begin;
  std::string_view kind;
};

constexpr std::array<Signature, 9> signatures = {{{"RIFF", "WAVE"},
                                                  {"RIFX", "WAVE"},
                                                  {"RF64", "WAVE"},
                                                  {"FORM", "AIFF"},
                                                  {"FORM", "AIFC"},
                                                  {"fLaC", ""},
                                                  {"OggS", ""},
                                                  {"ID3", ""},
                                                  {"caff", ""}}};

std::string first_bytes(const std::string& path) {
  std::error_code ignored;
  if (!std::filesystem::is_regular_file(path, ignored)) return {};
  std::ifstream file(path, std::ios::binary);
  std::string bytes(12, '\0');
  file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  if (file.bad())
    throw Error(Fault::machine, "reading stopped half-way", printable(path, 200),
                "check the disk and try again");
  bytes.resize(static_cast<std::size_t>(file.gcount()));
  return bytes;
}

/// An MPEG audio frame header (ISO/IEC 11172-3, 2.4.1.3): eleven bits of ones, then no reserved version,
/// layer, bit rate or sampling rate.
bool is_mpeg_frame(std::string_view bytes) {
  if (bytes.size() < 4) return false;
  const auto at = [&](std::size_t i) { return static_cast<std::uint8_t>(bytes[i]); };
  const bool sync = at(0) == 0xFF && (at(1) & 0xE0) == 0xE0;
  const bool reserved_version = (at(1) & 0x18) == 0x08;
  const bool reserved_layer = (at(1) & 0x06) == 0x00;
  const bool bad_bit_rate = (at(2) & 0xF0) == 0xF0;
  const bool reserved_rate = (at(2) & 0x0C) == 0x0C;
  return sync && !reserved_version && !reserved_layer && !bad_bit_rate && !reserved_rate;
}

}  // namespace

bool looks_like_sound(const std::string& path) {
  const std::string bytes = first_bytes(path);
  const std::string_view view = bytes;
  for (const Signature& s : signatures)
    if (view.starts_with(s.begin) && (s.kind.empty() || (view.size() >= 12 && view.substr(8, 4) == s.kind)))
      return true;
  return is_mpeg_frame(view);
}

}  // namespace burstloom
