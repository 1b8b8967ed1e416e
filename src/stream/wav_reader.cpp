// Captures from WAV files.
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "block_readers.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/common/sound_files.hpp"
#include "burstloom/stream/files.hpp"
#include "gate_trace.hpp"
#include "wav_limits.hpp"

namespace burstloom {
namespace {

class GateSound {
 public:
  explicit GateSound(const std::string& path) : path_(path), file_(path, info_) {
    file_.require_read();
    if (file_.get() == nullptr)
      throw bad_input(std::string("cannot be read as sound (") + sf_strerror(nullptr) + ")", where(),
                      "give a WAV file that is whole");
    require_format();
  }

  [[nodiscard]] int rate() const { return info_.samplerate; }
  [[nodiscard]] std::optional<ExactMark> mark() const {
    const char* comment = sf_get_string(file_.get(), SF_STR_COMMENT);
    return comment == nullptr ? std::nullopt : find_exact_mark(comment);
  }
  [[nodiscard]] std::string where() const { return printable(path_, 200); }

  /// Hands every sample of the first channel, and its number, to `take`; returns how many there are.
  template <typename Take>
  std::int64_t each_sample(Take take) {
    constexpr std::size_t kBlock = 1 << 16;  // samples of all channels
    const auto channels = static_cast<std::size_t>(info_.channels);
    const auto frames = static_cast<sf_count_t>(std::max<std::size_t>(1, kBlock / channels));
    std::vector<float> block(static_cast<std::size_t>(frames) * channels);
    sf_seek(file_.get(), 0, SEEK_SET);
    std::int64_t at = 0;
    while (const sf_count_t got = sf_readf_float(file_.get(), block.data(), frames))
      for (sf_count_t i = 0; i < got; ++i) take(at++, block[static_cast<std::size_t>(i) * channels]);
    file_.require_read();
    return at;
  }

 private:
  void require_format() const {
    const int kind = info_.format & SF_FORMAT_TYPEMASK, coding = info_.format & SF_FORMAT_SUBMASK;
    const auto is_one_of = [](int value, std::initializer_list<int> known) {
      return std::find(known.begin(), known.end(), value) != known.end();
    };
    if (!is_one_of(kind, {SF_FORMAT_WAV, SF_FORMAT_WAVEX, SF_FORMAT_RF64}))
      throw bad_input("is a sound file, but not WAV", where(), "convert it to WAV without changing its rate");
    if (!is_one_of(coding, {SF_FORMAT_PCM_U8, SF_FORMAT_PCM_16, SF_FORMAT_PCM_24, SF_FORMAT_PCM_32,
                            SF_FORMAT_FLOAT, SF_FORMAT_DOUBLE}))
      throw bad_input("holds compressed samples, which blur a gate's edges", where(),
                      "save it as WAV with 8, 16, 24 or 32 bits or floating point");
    if (rate() < wav::kLowestRate || rate() > kHighestTickHz)
      throw bad_input("has a sample rate of " + std::to_string(rate()) + " Hz", where(),
                      "capture a gate at 192000 to 100000000 Hz");
  }

  const std::string& path_;
  SF_INFO info_{};
  SoundIn file_;
};

struct Levels {
  float lowest = std::numeric_limits<float>::infinity();
  float highest = -std::numeric_limits<float>::infinity();
};

Levels measure_levels(GateSound& sound) {
  Levels levels;
  const auto count = sound.each_sample([&](std::int64_t at, float value) {
    if (!std::isfinite(value))
      throw bad_input("sample " + std::to_string(at) + " is not a finite number", sound.where(),
                      "capture it again");
    levels.lowest = std::min(levels.lowest, value);
    levels.highest = std::max(levels.highest, value);
  });
  if (count == 0) throw bad_input("the capture holds no samples", sound.where(), "capture a stretch of time");
  return levels;
}

// Noise on a level that is clearly high is no gate; on a low one it is taken for edges, the safe side.
bool is_stuck_high(const Levels& levels) {
  constexpr float kQuarterScale = 0.25f, kNoise = 1.0f / 16;
  return levels.lowest > kQuarterScale && levels.highest - levels.lowest < kNoise * levels.highest;
}

// An edge lies where the sound crosses the middle, but counts only once it has gone an eighth of the span
// past it (a quarter from threshold to threshold): ringing about the middle splits nothing. Of several
// crossings the first is the rise and the last the fall, so that a burst is never taken for shorter than it
// was.
class EdgeFinder {
 public:
  EdgeFinder(const Levels& levels, bool invert, GateTrace& trace)
      : sign_(invert ? -1.0f : 1.0f),
        middle_(sign_ * (levels.lowest + levels.highest) / 2),
        past_((levels.highest - levels.lowest) / 8),
        trace_(trace) {}

  void take(std::int64_t at, float sample) {
    const float value = sign_ * sample;
    const bool above = value > middle_;
    if (at == 0) return set(at, above);
    if (above == high_) {
      if (high_ || value <= middle_ - past_) crossed_ = kNowhere;
      return;
    }
    if (crossed_ == kNowhere) crossed_ = at;
    if (above ? value >= middle_ + past_ : value <= middle_ - past_) set(crossed_, above);
  }

 private:
  static constexpr std::int64_t kNowhere = -1;

  void set(std::int64_t at, bool high) {
    high_ = high;
    crossed_ = kNowhere;
    trace_.set(at, high);
  }

  float sign_, middle_, past_;
  bool high_ = false;
  std::int64_t crossed_ = kNowhere;
  GateTrace& trace_;
};

StreamTail run_trace(GateSound& sound, bool invert, GateTrace& trace) {
  const Levels levels = measure_levels(sound);
  const bool never_changes = is_stuck_high(levels) || levels.highest == levels.lowest;
  EdgeFinder edges(levels, invert, trace);
  if (never_changes) trace.set(0, is_stuck_high(levels) != invert);
  const auto end = sound.each_sample([&](std::int64_t at, float value) {
    if (!never_changes) edges.take(at, value);
  });
  return trace.finish(end);
}

std::int64_t short_samples(std::int64_t rate) {
  return std::max<std::int64_t>(2, (rate + 999'999) / 1'000'000);
}

}  // namespace

StreamTail read_wav(const std::string& path, const CaptureOptions& options, BurstSink& sink,
                    bool trust_mark) {
  GateSound sound(path);
  const std::int64_t rate = sound.rate();
  const auto mark = sound.mark();
  TraceScale scale{rate, 1, short_samples(rate), {}};
  if (mark && trust_mark && !options.invert && rate % mark->tick_hz == 0)
    scale = {mark->tick_hz, rate / mark->tick_hz, 0, mark->length};
  GateTrace trace(scale, sink);
  return run_trace(sound, options.invert, trace);
}

Capture from_wav_gate(const std::string& path, const CaptureOptions& options) {
  return whole_capture([&](BurstSink& sink, bool trust) { return read_wav(path, options, sink, trust); });
}

}  // namespace burstloom
