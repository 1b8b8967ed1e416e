#include <algorithm>
#include <cmath>
#include <utility>

#include "burstloom/common/words.hpp"
#include "burstloom/listen/sound_file.hpp"

namespace burstloom {
namespace {

constexpr double kLead_s = 0.1, kTail_s = 0.5;              // silence that is left
constexpr double kProgramme_lufs = -23, kMostGain_db = 40;  // EBU R 128; the second our own choice

// A stretch of what another reader reads.
class ExcerptReader : public SoundReader {
 public:
  ExcerptReader(std::unique_ptr<SoundReader> reader, std::int64_t skip, std::int64_t count)
      : reader_(std::move(reader)), skip_(skip), left_(count) {}

  std::span<const float> next() override {
    while (left_ > 0) {
      const std::span<const float> block = reader_->next();
      if (block.empty()) break;
      const auto size = static_cast<std::int64_t>(block.size()), skipped = std::min(skip_, size);
      const std::int64_t count = std::min(size - skipped, left_);
      skip_ -= skipped;
      left_ -= count;
      if (count > 0) return block.subspan(static_cast<std::size_t>(skipped), static_cast<std::size_t>(count));
    }
    return {};
  }

 private:
  std::unique_ptr<SoundReader> reader_;
  std::int64_t skip_, left_;
};

class LouderReader : public SoundReader {
 public:
  LouderReader(std::unique_ptr<SoundReader> reader, double gain)
      : reader_(std::move(reader)), gain_(static_cast<float>(gain)) {}

  std::span<const float> next() override {
    const std::span<const float> block = reader_->next();
    louder_.assign(block.begin(), block.end());
    for (float& sample : louder_) sample *= gain_;
    return louder_;
  }

 private:
  std::unique_ptr<SoundReader> reader_;
  float gain_;
  std::vector<float> louder_;
};

}  // namespace

Recording::Recording(std::unique_ptr<const ScannedSound> sound, bool keep_silence)
    : sound_(std::move(sound)), figures_(sound_->figures()), remarks_(sound_->remarks()) {
  if (!keep_silence) leave_out_silence();
}

void Recording::leave_out_silence() {
  const auto samples_in = [&](double seconds) { return std::llround(seconds * rate_hz()); };
  const std::int64_t all = figures_.samples;
  first_ = std::max<std::int64_t>(0, sound_->first_sound() - samples_in(kLead_s));
  figures_.samples = std::min<std::int64_t>(all, sound_->past_sound() + samples_in(kTail_s)) - first_;
  if (figures_.samples < all)
    remarks_.push_back("silence left out: " + in_tenths(left_out_before_s()) + " s before the first sound, " +
                       in_tenths(left_out_after_s()) + " s after the last");
}

std::unique_ptr<SoundReader> Recording::reader() const {
  return std::make_unique<ExcerptReader>(sound_->reader(), first_, figures_.samples);
}

Raised::Raised(const Recording& recording) : recording_(recording), figures_(recording.figures()) {
  const double wanted_db = kProgramme_lufs - recording.original().loudness_lufs().value_or(kProgramme_lufs);
  if (wanted_db < 0.05) return;
  raised_db_ = std::min(wanted_db, kMostGain_db);
  gain_ = std::pow(10.0, raised_db_ / 20);
  for (double* figure : {&figures_.offset, &figures_.rms, &figures_.peak}) *figure *= gain_;
}

std::unique_ptr<SoundReader> Raised::reader() const {
  return std::make_unique<LouderReader>(recording_.reader(), gain_);
}

Sound held(const Recording& recording) {
  return {recording.rate_hz(), samples_of(recording), recording.original().title(), recording.remarks()};
}

}  // namespace burstloom
