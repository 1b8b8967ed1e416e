// Sounds whose samples are in memory.
#include <new>
#include <utility>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "sound_scan.hpp"

namespace burstloom {
namespace {

// What a file's decoder asks.
void require_sound(const Sound& sound) {
  const std::string where = printable(sound.title);
  if (sound.rate_hz < kLowestSound_hz || sound.rate_hz > kHighestSound_hz)
    throw bad_input(
        "the sound's sample rate is " + std::to_string(sound.rate_hz) + " Hz, outside 8 to 192 kHz", where,
        "resample it");
  if (sound.samples.empty()) throw bad_input("the sound has no samples", where, "record or export it again");
  if (static_cast<std::int64_t>(sound.samples.size()) > kLongestSound_s * sound.rate_hz)
    throw bad_input("the sound is longer than six hours", where, "cut it into songs");
}

}  // namespace

std::string replaced_by_zero(std::int64_t samples) {
  return std::to_string(samples) + " samples were not a number or far out of range and were replaced by 0";
}

HeldSound::HeldSound(const Sound& sound, std::size_t block) : sound_(sound), block_(block) {
  SoundMeter meter;
  meter.add(sound.samples);
  figures_ = meter.figures();
}

std::unique_ptr<SoundReader> HeldSound::reader() const {
  return std::make_unique<HeldReader>(sound_.samples, block_);
}

void ScannedSound::take(const SoundScan& scan, int rate_hz) {
  rate_hz_ = rate_hz;
  figures_ = scan.meter.figures();
  loudness_lufs_ = scan.loudness.integrated_lufs();
  const bool silent = scan.ends.first() < 0;
  first_sound_ = silent ? 0 : scan.ends.first();
  past_sound_ = silent ? figures_.samples : scan.ends.past();
}

DecodedSound::DecodedSound(Sound sound) {
  require_sound(sound);
  samples_ = std::move(sound.samples);
  title_ = std::move(sound.title);
  remarks_ = std::move(sound.remarks);
  std::int64_t replaced = 0;
  for (float& sample : samples_)
    if (!usable(sample)) sample = 0, ++replaced;
  if (replaced > 0) remarks_.push_back(replaced_by_zero(replaced));
  SoundScan scan(sound.rate_hz);
  scan.add(samples_);
  take(scan, sound.rate_hz);
}

std::unique_ptr<SoundReader> DecodedSound::reader() const {
  return std::make_unique<HeldReader>(samples_, kHeldBlock);
}

std::vector<float> samples_of(const SoundSource& source) {
  try {
    std::vector<float> samples;
    samples.reserve(static_cast<std::size_t>(source.figures().samples));
    const auto reader = source.reader();
    for (auto block = reader->next(); !block.empty(); block = reader->next())
      samples.insert(samples.end(), block.begin(), block.end());
    return samples;
  } catch (const std::bad_alloc&) {
    throw Error(Fault::machine, "there is not enough memory for the whole sound", "",
                "cut it shorter or lower its sample rate");
  }
}

}  // namespace burstloom
