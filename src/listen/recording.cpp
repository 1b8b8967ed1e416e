#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

#include "burstloom/listen/sound_file.hpp"

namespace burstloom {
namespace {

constexpr double kLead_s = 0.1, kTail_s = 0.5;              // silence that is left
constexpr double kProgramme_lufs = -23, kMostGain_db = 40;  // EBU R 128; the second our own choice

// A stretch of what another reader reads, times a gain.
class ExcerptReader : public SoundReader {
 public:
  ExcerptReader(std::unique_ptr<SoundReader> reader, std::int64_t skip, std::int64_t count, double gain)
      : reader_(std::move(reader)), skip_(skip), left_(count), gain_(static_cast<float>(gain)) {}

  std::span<const float> next() override {
    while (left_ > 0) {
      std::span<const float> block = reader_->next();
      if (block.empty()) break;
      const auto skipped = std::min<std::int64_t>(skip_, static_cast<std::int64_t>(block.size()));
      skip_ -= skipped;
      block = block.subspan(static_cast<std::size_t>(skipped));
      block = block.first(std::min(block.size(), static_cast<std::size_t>(left_)));
      left_ -= static_cast<std::int64_t>(block.size());
      if (block.empty()) continue;
      scaled_.assign(block.begin(), block.end());
      for (float& sample : scaled_) sample *= gain_;
      return scaled_;
    }
    return {};
  }

 private:
  std::unique_ptr<SoundReader> reader_;
  std::int64_t skip_, left_;
  float gain_;
  std::vector<float> scaled_;
};

std::string in_tenths(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

}  // namespace

Recording::Recording(const std::string& path, bool keep_silence, const TellShare& tell)
    : file_(path, tell), figures_(file_.figures()), remarks_(file_.remarks()) {
  if (!keep_silence) leave_out_silence();
  raise_to_programme_level();
}

void Recording::leave_out_silence() {
  const auto samples_in = [&](double seconds) { return std::llround(seconds * rate_hz()); };
  const std::int64_t all = figures_.samples;
  first_ = std::max<std::int64_t>(0, file_.first_sound() - samples_in(kLead_s));
  figures_.samples = std::min<std::int64_t>(all, file_.past_sound() + samples_in(kTail_s)) - first_;
  if (figures_.samples < all)
    remarks_.push_back("silence left out: " + in_tenths(left_out_before_s()) + " s before the first sound, " +
                       in_tenths(left_out_after_s()) + " s after the last");
}

void Recording::raise_to_programme_level() {
  const double wanted_db = kProgramme_lufs - file_.loudness_lufs().value_or(kProgramme_lufs);
  if (wanted_db < 0.05) return;
  raised_db_ = std::min(wanted_db, kMostGain_db);
  gain_ = std::pow(10.0, raised_db_ / 20);
  for (double* figure : {&figures_.offset, &figures_.rms, &figures_.peak}) *figure *= gain_;
  remarks_.push_back("a soft recording, " + in_tenths(*file_.loudness_lufs()) + " LUFS: raised by " +
                     in_tenths(raised_db_) + " dB");
}

std::unique_ptr<SoundReader> Recording::reader() const {
  return std::make_unique<ExcerptReader>(file_.reader(), first_, figures_.samples, gain_);
}

Sound held(const Recording& recording) {
  return {recording.rate_hz(), samples_of(recording), recording.file().title(), recording.remarks()};
}

}  // namespace burstloom
