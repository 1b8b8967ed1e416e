// A sketch at a stated loudness, into a file.
#include <sndfile.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <filesystem>
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/common/sound_files.hpp"
#include "burstloom/preview/loudness.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kBlock = 8192;

void require_levels(const LevelOptions& options) {
  const bool good = options.loudness_lufs >= -70 && options.loudness_lufs <= 0 &&
                    options.true_peak_dbtp >= -30 && options.true_peak_dbtp <= 0;
  if (!good)
    throw Error(Fault::usage, "a loudness or true peak that no file can have", "",
                "give a loudness of -70 to 0 LUFS and a true peak of -30 to 0 dBTP");
}

// Calls `each` with block after block, every sample multiplied by `gain`.
template <class Each>
void for_each_block(SoundSketch& sketch, double gain, Each each) {
  std::vector<float> block(kBlock);
  sketch.rewind();
  while (const std::size_t count = sketch.read(block)) {
    const std::span<float> samples(block.data(), count);
    for (float& sample : samples) sample = static_cast<float>(gain * sample);
    each(samples);
  }
  sketch.rewind();
}

double highest_sample(SoundSketch& sketch) {
  float highest = 0;
  for_each_block(sketch, 1.0, [&](std::span<const float> block) {
    for (const float sample : block) highest = std::max(highest, std::abs(sample));
  });
  return highest;
}

double ratio(double decibels) {
  return std::pow(10.0, decibels / 20);
}

int format_by_ending(const std::string& path) {
  std::string ending = std::filesystem::path(path).extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (ending == ".wav") return SF_FORMAT_WAV | SF_FORMAT_PCM_24;
  if (ending == ".flac") return SF_FORMAT_FLAC | SF_FORMAT_PCM_24;
  throw Error(Fault::usage, "no sound can be written under the ending '" + printable(ending) + "'",
              printable(path, 200), "let the name end in .wav or .flac");
}

void require_size(const SoundSketch& sketch, int format, const std::string& path) {
  constexpr std::int64_t kMost = (std::numeric_limits<std::uint32_t>::max() - 4096) / 3;
  if ((format & SF_FORMAT_TYPEMASK) == SF_FORMAT_WAV && sketch.samples() > kMost)
    throw Error(Fault::usage, "the sound would exceed the 4 GiB of WAV", printable(path, 200),
                "write .flac, a lower rate, or an excerpt");
}

Error unwritten(SNDFILE* file, const std::string& path) {
  return {Fault::machine, std::string("cannot write the sound (") + sf_strerror(file) + ")",
          printable(path, 200), "choose another place or make room, nothing was written"};
}

void write_samples(SoundSketch& sketch, double gain, int format, FileInPieces& file,
                   const std::string& path) {
  SF_INFO info{};
  info.samplerate = sketch.rate_hz();
  info.channels = 1;
  info.format = format;
  SoundOut out = open_sound(file, info, path);
  sf_set_string(out.get(), SF_STR_COMMENT, "sound sketch, made by Burstloom");
  for_each_block(sketch, gain, [&](std::span<const float> block) {
    const auto count = static_cast<sf_count_t>(block.size());
    if (sf_writef_float(out.get(), block.data(), count) != count) throw unwritten(out.get(), path);
  });
  if (sf_close(out.release()) != 0) throw unwritten(nullptr, path);
}

}  // namespace

SketchLevel level_for(SoundSketch& sketch, const LevelOptions& options) {
  require_levels(options);
  const double highest = highest_sample(sketch);
  if (highest <= 0) return {};
  // Measured near the level it will have, so that the meter's absolute gate (-70 LUFS) leaves no music out.
  const double first_gain = ratio(options.true_peak_dbtp) / highest;
  LoudnessMeter meter(1, sketch.rate_hz(), options.measure_true_peak);
  for_each_block(sketch, first_gain, [&](std::span<const float> block) { meter.add(block); });
  const std::optional<double> loudness = meter.integrated_lufs(), peak = meter.true_peak_dbtp();
  // At the first gain the highest sample stands where the true peak may.
  const double to_peak_db = options.true_peak_dbtp - peak.value_or(options.true_peak_dbtp);
  const double wanted_db = loudness ? options.loudness_lufs - *loudness : to_peak_db;
  const double gain_db = std::min(wanted_db, to_peak_db);
  SketchLevel level;
  level.gain = first_gain * ratio(gain_db);
  level.held_by_peak = loudness && to_peak_db < wanted_db;
  if (loudness) level.loudness_lufs = *loudness + gain_db;
  if (peak) level.true_peak_dbtp = *peak + gain_db;
  return level;
}

SketchLevel write_sketch(SoundSketch& sketch, const LevelOptions& options, const std::string& path,
                         FilesTogether& files) {
  const int format = format_by_ending(path);
  require_size(sketch, format, path);
  const SketchLevel level = level_for(sketch, options);
  files.add(path, [&](FileInPieces& file) { write_samples(sketch, level.gain, format, file, path); });
  return level;
}

SketchLevel write_sketch(SoundSketch& sketch, const LevelOptions& options, const std::string& path) {
  FilesTogether alone;
  const SketchLevel level = write_sketch(sketch, options, path, alone);
  alone.place();
  return level;
}

}  // namespace burstloom
