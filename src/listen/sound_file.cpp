#include "burstloom/listen/sound_file.hpp"

#include <utility>

#include "burstloom/common/error.hpp"
#include "decoder.hpp"
#include "sound_scan.hpp"

namespace burstloom {
namespace {

class FileReader : public SoundReader {
 public:
  FileReader(const std::string& path, Fold fold) : decoder_(path), fold_(fold) {}
  std::span<const float> next() override { return decoder_.next(fold_); }

 private:
  Decoder decoder_;
  Fold fold_;
};

constexpr std::int64_t kMostHeld = 16'000'000;  // samples: six minutes at 44.1 kHz, 64 MB

// A file gone through once, and its samples where they are few.
struct FileScan : SoundScan {
  using SoundScan::SoundScan;
  void through(Decoder& decoder, Fold fold, const TellShare& tell) {
    const auto few = [](std::int64_t samples) { return samples >= 0 && samples <= kMostHeld; };
    if (few(decoder.promised())) held.reserve(static_cast<std::size_t>(decoder.promised()));
    for (auto block = decoder.next(fold); !block.empty(); block = decoder.next(fold)) {
      add(block);
      if (few(decoder.promised()) && few(decoder.read())) held.insert(held.end(), block.begin(), block.end());
      if (tell && decoder.promised() > 0)
        tell(static_cast<double>(decoder.read()) / static_cast<double>(decoder.promised()));
    }
    if (static_cast<std::int64_t>(held.size()) < decoder.read()) held = {};
  }
  std::vector<float> held;
};

}  // namespace

SoundFile::SoundFile(const std::string& path, const TellShare& tell) : path_(path) {
  Decoder decoder(path);
  FileScan scan(decoder.rate_hz());
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
    scan = FileScan(decoder.rate_hz());
    scan.through(again, Fold::first_channel, tell);
  }
  take(scan, decoder.rate_hz());
  held_ = std::move(scan.held);
}

std::unique_ptr<SoundReader> SoundFile::reader() const {
  if (!held_.empty()) return std::make_unique<HeldReader>(held_, kHeldBlock);
  return std::make_unique<FileReader>(path_, first_channel_only_ ? Fold::first_channel : Fold::mean);
}

Recording::Recording(const std::string& path, bool keep_silence, const TellShare& tell)
    : Recording(std::make_unique<SoundFile>(path, tell), keep_silence) {}

Sound read_sound(const std::string& path) {
  const SoundFile file(path);
  return {file.rate_hz(), samples_of(file), file.title(), file.remarks()};
}

}  // namespace burstloom
