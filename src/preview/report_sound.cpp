// Sounds for the report, small enough to travel in a page.
#include <sndfile.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <memory>

#include "burstloom/common/error.hpp"
#include "burstloom/preview/report.hpp"

namespace burstloom {
namespace {

// A file in memory, as libsndfile asks for one.
struct Memory {
  Bytes bytes;
  sf_count_t at = 0;

  static Memory& of(void* self) { return *static_cast<Memory*>(self); }
  static sf_count_t length(void* self) { return static_cast<sf_count_t>(of(self).bytes.size()); }
  static sf_count_t tell(void* self) { return of(self).at; }
  static sf_count_t seek(sf_count_t offset, int whence, void* self) {
    Memory& memory = of(self);
    const sf_count_t from = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? memory.at : length(self);
    return memory.at = std::max<sf_count_t>(0, from + offset);
  }
  static sf_count_t read(void* to, sf_count_t count, void* self) {
    Memory& memory = of(self);
    count = std::clamp<sf_count_t>(length(self) - memory.at, 0, count);
    std::memcpy(to, memory.bytes.data() + memory.at, static_cast<std::size_t>(count));
    memory.at += count;
    return count;
  }
  static sf_count_t write(const void* from, sf_count_t count, void* self) {
    Memory& memory = of(self);
    const auto end = static_cast<std::size_t>(memory.at + count);
    if (memory.bytes.size() < end) memory.bytes.resize(end);
    std::memcpy(memory.bytes.data() + memory.at, from, static_cast<std::size_t>(count));
    memory.at += count;
    return count;
  }
};

// MPEG-1 and MPEG-2 layer III (ISO/IEC 11172-3, 13818-3) and the rates of MPEG-2.5.
bool mp3_has(int rate_hz) {
  constexpr std::array kRates{8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000};
  return std::find(kRates.begin(), kRates.end(), rate_hz) != kRates.end();
}

void encode(Memory& memory, std::span<const float> samples, int rate_hz, int format, double gain) {
  SF_VIRTUAL_IO io{Memory::length, Memory::seek, Memory::read, Memory::write, Memory::tell};
  SF_INFO info{};
  info.samplerate = rate_hz;
  info.channels = 1;
  info.format = format;
  std::unique_ptr<SNDFILE, decltype(&sf_close)> file(sf_open_virtual(&io, SFM_WRITE, &info, &memory),
                                                     sf_close);
  const auto fail = [&] {
    return Error(Fault::machine, std::string("cannot encode a sound (") + sf_strerror(file.get()) + ")",
                 "the report", "make it without sounds: --no-audio");
  };
  if (!file) throw fail();
  int variable = SF_BITRATE_MODE_VARIABLE;
  sf_command(file.get(), SFC_SET_BITRATE_MODE, &variable, sizeof variable);
  sf_command(file.get(), SFC_SET_CLIPPING, nullptr, SF_TRUE);
  std::vector<float> block(1 << 14);
  for (std::size_t at = 0; at < samples.size(); at += block.size()) {
    const auto piece = samples.subspan(at, std::min(block.size(), samples.size() - at));
    std::transform(piece.begin(), piece.end(), block.begin(),
                   [&](float sample) { return static_cast<float>(gain * static_cast<double>(sample)); });
    const auto count = static_cast<sf_count_t>(piece.size());
    if (sf_writef_float(file.get(), block.data(), count) != count) throw fail();
  }
  sf_close(file.release());
}

}  // namespace

ReportSound report_sound(const std::string& name, std::span<const float> samples, int rate_hz, double gain) {
  const bool mp3 = mp3_has(rate_hz);
  Memory memory;
  encode(memory, samples, rate_hz,
         mp3 ? SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III : SF_FORMAT_FLAC | SF_FORMAT_PCM_16, gain);
  return {name, mp3 ? "audio/mpeg" : "audio/flac", std::move(memory.bytes)};
}

}  // namespace burstloom
