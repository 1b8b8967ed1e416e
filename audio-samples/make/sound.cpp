#include "sound.hpp"

#include <sndfile.h>

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "burstloom/common/sound_files.hpp"

namespace samples {
namespace {

std::vector<short> as_16_bit(const Sound& sound, double peak) {
  double highest = 0;
  for (const double value : sound) highest = std::max(highest, std::abs(value));
  const double gain = highest > 0 ? peak * 32767 / highest : 0;
  std::vector<short> samples;
  for (const double value : sound) samples.push_back(static_cast<short>(std::lround(value * gain)));
  return samples;
}

void write_samples(burstloom::FileInPieces& file, const std::string& path,
                   const std::vector<short>& samples) {
  SF_INFO info{};
  info.samplerate = kRate;
  info.channels = 1;
  info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
  const burstloom::SoundOut sound = burstloom::open_sound(file, info, path);
  const auto count = static_cast<sf_count_t>(samples.size());
  if (sf_write_short(sound.get(), samples.data(), count) != count)
    throw burstloom::Error(burstloom::Fault::machine, "the sound could not be written", path,
                           "see that the folder can be written and the disk is not full");
}

}  // namespace

double hertz(double key) {
  return 440.0 * std::exp2((key - 69) / 12);
}

std::size_t at_sample(double seconds) {
  return static_cast<std::size_t>(std::lround(seconds * kRate));
}

double swell(double t, double length, double attack, double release) {
  const double up = std::clamp(t / attack, 0.0, 1.0);
  const double down = std::clamp((length - t) / release, 0.0, 1.0);
  return up * up * (3 - 2 * up) * down * down * (3 - 2 * down);
}

void write_flac(const std::string& path, const Sound& sound, double peak) {
  const auto samples = as_16_bit(sound, peak);
  burstloom::write_file_in_pieces(path,
                                  [&](burstloom::FileInPieces& file) { write_samples(file, path, samples); });
}

}  // namespace samples
