#include "burstloom/common/file_kind.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <filesystem>
#include <utility>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

/// What a file of that kind begins with; `kind`, if any, stands at byte 8.
struct Signature {
  std::string_view begin, kind;
  FileKind is;
};

constexpr std::array<Signature, 16> kSignatures = {{{"MThd", "", FileKind::midi},
                                                    {"RIFF", "RMID", FileKind::midi},
                                                    {"RIFF", "WAVE", FileKind::sound},
                                                    {"RIFX", "WAVE", FileKind::sound},
                                                    {"RF64", "WAVE", FileKind::sound},
                                                    {"FORM", "AIFF", FileKind::sound},
                                                    {"FORM", "AIFC", FileKind::sound},
                                                    {"fLaC", "", FileKind::sound},
                                                    {"OggS", "", FileKind::sound},
                                                    {"ID3", "", FileKind::sound},
                                                    {"caff", "", FileKind::sound},
                                                    {"BURSTLM", "", FileKind::stream},
                                                    {"PK\x03\x04", "", FileKind::archive},
                                                    {"\x1F\x8B", "", FileKind::archive},
                                                    {"<!DOCTYPE", "", FileKind::web_page},
                                                    {"<html", "", FileKind::web_page}}};

/// Tables of TOML that only one kind of file has.
constexpr std::array<std::pair<std::string_view, FileKind>, 11> kTables = {
    {{"[drive]", FileKind::profile},
     {"[limits]", FileKind::profile},
     {"[primary]", FileKind::profile},
     {"[secondary]", FileKind::profile},
     {"[measured]", FileKind::profile},
     {"[switch]", FileKind::profile},
     {"[[channel]]", FileKind::arrangement},
     {"[[track]]", FileKind::arrangement},
     {"[drums]", FileKind::arrangement},
     {"[song]", FileKind::arrangement},
     {"[[song]]", FileKind::set}}};

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

FileKind kind_by_tables(std::string_view text) {
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    line.remove_prefix(std::min(line.find_first_not_of(" \t"), line.size()));
    for (const auto& [table, kind] : kTables)
      if (line.starts_with(table)) return kind;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return FileKind::unknown;
}

const char* name_of(FileKind kind) {
  constexpr std::array<const char*, 10> kNames = {
      "",      "empty",      "a MIDI file", "a sound file", "a stream", "a coil profile", "an arrangement",
      "a set", "an archive", "a web page"};
  return kNames.at(static_cast<std::size_t>(kind));
}

bool is_song(FileKind kind) {
  return kind == FileKind::midi || kind == FileKind::sound;
}

std::string where_it_belongs(FileKind kind, const std::string& file) {
  switch (kind) {
    case FileKind::midi:
    case FileKind::sound:
      return "weave it: burstloom weave " + file + " --coil COIL.toml --out " +
             std::filesystem::path(file).stem().string() + ".burst";
    case FileKind::stream:
      return "a stream is for check, preview, export and send: burstloom check " + file;
    case FileKind::profile:
      return "a profile goes after --coil: burstloom weave SONG.mid --coil " + file + " --out SONG.burst";
    case FileKind::arrangement:
      return "an arrangement goes after --arrangement: burstloom weave SONG.mid --coil COIL.toml "
             "--arrangement " +
             file + " --out SONG.burst";
    case FileKind::set:
      return "a set is built: burstloom set " + file + " --out FOLDER";
    case FileKind::archive:
      return "unpack it, and name a file that was in it";
    default:
      return "download the file itself again";
  }
}

}  // namespace

FileKind kind_of_content(std::string_view content) {
  if (content.empty()) return FileKind::empty;
  for (const Signature& it : kSignatures)
    if (content.starts_with(it.begin) && (it.kind.empty() || content.substr(0, 12).ends_with(it.kind)))
      return it.is;
  return is_mpeg_frame(content) ? FileKind::sound : kind_by_tables(content);
}

void require_kind(FileKind wanted, std::string_view content, const std::string& file) {
  const FileKind found = kind_of_content(content);
  if (found == FileKind::empty)
    throw bad_input("this file is empty", file,
                    wanted == FileKind::profile ? "burstloom coil new --out NEW.toml writes one to fill in"
                                                : "copy it again from where it is whole");
  if (found == FileKind::unknown || found == wanted) return;
  const std::string belongs = wanted == FileKind::midi && !is_song(found) ? "a song" : name_of(wanted);
  throw bad_input(std::string("this is ") + name_of(found) + ", and " + belongs + " belongs here", file,
                  where_it_belongs(found, file));
}

}  // namespace burstloom
