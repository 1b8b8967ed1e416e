#include "burstloom/listen/sound_file.hpp"

#include <algorithm>
#include <new>
#include <utility>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/loudness_meter.hpp"
#include "decoder.hpp"
#include "sound_meter.hpp"

namespace burstloom {
namespace {

class HeldReader : public SoundReader {
 public:
  HeldReader(std::span<const float> samples, std::size_t block) : left_(samples), block_(block) {}
  std::span<const float> next() override {
    const auto block = left_.first(block_ > 0 ? std::min(block_, left_.size()) : left_.size());
    left_ = left_.subspan(block.size());
    return block;
  }

 private:
  std::span<const float> left_;
  std::size_t block_;
};

class FileReader : public SoundReader {
 public:
  FileReader(const std::string& path, Fold fold) : decoder_(path), fold_(fold) {}
  std::span<const float> next() override { return decoder_.next(fold_); }

 private:
  Decoder decoder_;
  Fold fold_;
};

constexpr std::int64_t kMostHeld = 16'000'000;  // samples: six minutes at 44.1 kHz, 64 MB
constexpr std::size_t kHeldBlock = 65'536;

// All that is to be known of a file, by going through it once, and its samples where they are few.
struct Scan {
  explicit Scan(int rate_hz) : ends(rate_hz), loudness(1, rate_hz, false) {}
  void through(Decoder& decoder, Fold fold, const TellShare& tell) {
    const auto few = [](std::int64_t samples) { return samples >= 0 && samples <= kMostHeld; };
    if (few(decoder.promised())) held.reserve(static_cast<std::size_t>(decoder.promised()));
    for (auto block = decoder.next(fold); !block.empty(); block = decoder.next(fold)) {
      meter.add(block);
      ends.add(block);
      loudness.add(block);
      if (few(decoder.promised()) && few(decoder.read())) held.insert(held.end(), block.begin(), block.end());
      if (tell && decoder.promised() > 0)
        tell(static_cast<double>(decoder.read()) / static_cast<double>(decoder.promised()));
    }
    if (static_cast<std::int64_t>(held.size()) < decoder.read()) held = {};
  }
  SoundMeter meter;
  SilentEnds ends;
  LoudnessMeter loudness;
  std::vector<float> held;
};

}  // namespace

HeldSound::HeldSound(const Sound& sound, std::size_t block) : sound_(sound), block_(block) {
  SoundMeter meter;
  meter.add(sound.samples);
  figures_ = meter.figures();
}

std::unique_ptr<SoundReader> HeldSound::reader() const {
  return std::make_unique<HeldReader>(sound_.samples, block_);
}

SoundFile::SoundFile(const std::string& path, const TellShare& tell) : path_(path) {
  Decoder decoder(path);
  rate_hz_ = decoder.rate_hz();
  Scan scan(rate_hz_);
  scan.through(decoder, Fold::mean, tell);
  if (decoder.read() == 0) {
    const std::string why = decoder.damage().empty() ? "" : " (" + decoder.damage() + ")";
    throw bad_input("the sound file has no samples" + why, printable(path, 200), "record or export it again");
  }
  title_ = decoder.title();
  remarks_ = decoder.remarks();
  first_channel_only_ = decoder.cancels();
  if (first_channel_only_) {
    remarks_.emplace_back(
        "the channels are of opposite phase and cancel one another: the first alone is heard");
    Decoder again(path);
    scan = Scan(rate_hz_);
    scan.through(again, Fold::first_channel, tell);
  }
  figures_ = scan.meter.figures();
  loudness_lufs_ = scan.loudness.integrated_lufs();
  held_ = std::move(scan.held);
  const bool silent = scan.ends.first() < 0;
  first_sound_ = silent ? 0 : scan.ends.first();
  past_sound_ = silent ? figures_.samples : scan.ends.past();
}

std::unique_ptr<SoundReader> SoundFile::reader() const {
  if (!held_.empty()) return std::make_unique<HeldReader>(held_, kHeldBlock);
  return std::make_unique<FileReader>(path_, first_channel_only_ ? Fold::first_channel : Fold::mean);
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

Sound read_sound(const std::string& path) {
  const SoundFile file(path);
  return {file.rate_hz(), samples_of(file), file.title(), file.remarks()};
}

}  // namespace burstloom
