// A gate as a WAV file.
#include <sndfile.h>

#include <algorithm>
#include <array>
#include <limits>
#include <string>

#include "burstloom/common/error.hpp"
#include "burstloom/common/sound_files.hpp"
#include "burstloom/stream/files.hpp"
#include "gate_trace.hpp"
#include "wav_limits.hpp"

namespace burstloom {
namespace {

Error wrong_rate(int rate, const std::string& what, const std::string& what_to_do) {
  return {Fault::usage, "a sample rate of " + std::to_string(rate) + " Hz " + what, "", what_to_do};
}

SF_INFO format_of(int rate) {
  SF_INFO info{};
  info.samplerate = rate;
  info.channels = 1;
  info.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
  return info;
}

// Nothing here overflows: `require_size` has bounded the seconds, and a rest of a second times a rate fits.
std::int64_t nearest_sample(Tick tick, std::int64_t tick_hz, std::int64_t rate) {
  return tick / tick_hz * rate + (tick % tick_hz * rate + tick_hz / 2) / tick_hz;
}

void require_rate(int rate) {
  if (rate < wav::kLowestRate) throw wrong_rate(rate, "is too low for a gate", "use at least 192000 Hz");
  const SF_INFO info = format_of(rate);
  if (rate > kHighestTickHz || sf_format_check(&info) == 0)
    throw wrong_rate(rate, "is more than a WAV file of a gate may have", "use at most 100000000 Hz");
}

void require_size(const BurstStream& stream, int rate) {
  constexpr std::int64_t kMostSamples = (std::numeric_limits<std::uint32_t>::max() - 4096) / 2;
  const bool fits = stream.length / stream.tick_hz < kMostSamples / rate;
  if (!fits || nearest_sample(stream.length, stream.tick_hz, rate) > kMostSamples)
    throw wrong_rate(rate, "would make the file exceed the 4 GiB of WAV",
                     "use a lower rate, or write an excerpt");
}

// Writes runs of one level, block by block.
class GateSound {
 public:
  GateSound(SNDFILE* file, const std::string& path) : file_(file), path_(path) {}

  void write_until(std::int64_t sample, bool high) {
    constexpr short kFullScale = 32767;
    block_.fill(high ? kFullScale : short{0});
    while (at_ < sample) {
      const std::int64_t count = std::min<std::int64_t>(sample - at_, std::ssize(block_));
      if (sf_writef_short(file_, block_.data(), count) != count)
        throw Error(Fault::machine, std::string("cannot write the whole file (") + sf_strerror(file_) + ")",
                    printable(path_, 200), "choose another place or make room, nothing was written");
      at_ += count;
    }
  }

  [[nodiscard]] std::int64_t at() const { return at_; }

 private:
  SNDFILE* file_;
  const std::string& path_;
  std::array<short, 4096> block_{};
  std::int64_t at_ = 0;
};

bool keeps_every_edge(const BurstStream& stream, int rate) {
  if (rate % stream.tick_hz != 0) return false;
  const auto touch = [](const Burst& a, const Burst& b) { return a.end() == b.start; };
  return std::adjacent_find(stream.bursts.begin(), stream.bursts.end(), touch) == stream.bursts.end();
}

void write_bursts(const BurstStream& stream, int rate, GateSound& sound) {
  const auto sample = [&](Tick tick) { return nearest_sample(tick, stream.tick_hz, rate); };
  Tick before = 0;
  for (const Burst& burst : stream.bursts) {
    const std::int64_t rise = sample(burst.start), fall = sample(burst.end());
    const bool swallows_gap = burst.start > before && before > 0 && rise <= sample(before);
    if (fall <= rise || swallows_gap)
      throw wrong_rate(
          rate,
          std::string("loses ") + (swallows_gap ? "the gap before" : "the whole of") + " the burst at " +
              std::to_string(stream.seconds(burst.start)) + " s",
          "use a higher rate, best a whole multiple of " + std::to_string(stream.tick_hz) + " Hz");
    sound.write_until(rise, false);
    sound.write_until(fall, true);
    before = burst.end();
  }
  sound.write_until(sample(stream.length), false);
}

void write_gate(const BurstStream& stream, int rate, FileInPieces& file, const std::string& path) {
  const SoundOut out = open_sound(file, format_of(rate), path);
  const std::string mark = keeps_every_edge(stream, rate) ? exact_mark(stream) : "gate, made by Burstloom";
  sf_set_string(out.get(), SF_STR_COMMENT, mark.c_str());
  GateSound sound(out.get(), path);
  write_bursts(stream, rate, sound);
}

}  // namespace

void write_wav_gate(const BurstStream& stream, int rate, const std::string& path) {
  require_in_order(stream, "the stream to be written");
  if (stream.length == 0)
    throw Error(Fault::usage, "the stream lasts no time at all", "", "give one with a length");
  require_rate(rate);
  require_size(stream, rate);
  write_file_in_pieces(path, [&](FileInPieces& file) { write_gate(stream, rate, file, path); });
}

}  // namespace burstloom
