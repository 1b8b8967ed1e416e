#include "burstloom/guard/voice_report.hpp"

#include <cmath>
#include <limits>

namespace burstloom {
namespace {

constexpr Tick kGone = std::numeric_limits<Tick>::min();

// What is summed up while a voice's bursts pass by.
class VoiceSums {
 public:
  void add(const Outcome& burst, Tick start) {
    ++report_.wanted;
    if (start == kGone) {
      ++report_.dropped;
    } else {
      const auto move = static_cast<double>(start - burst.wanted_start);
      report_.moved += move != 0;
      move_squares_ += move * move;
      if (last_start_ != kGone && last_note_ == burst.note)
        add_interval(burst.wanted_start - last_wanted_start_, start - last_start_);
    }
    last_note_ = burst.note;
    last_wanted_start_ = burst.wanted_start;
    last_start_ = start;
  }

  [[nodiscard]] bool is_empty() const { return report_.wanted == 0; }
  [[nodiscard]] VoiceReport report(std::uint16_t voice, std::int64_t tick_hz) const {
    VoiceReport report = report_;
    report.voice = voice;
    const auto played = static_cast<double>(report.wanted - report.dropped);
    if (played > 0)
      report.rms_move_us = std::sqrt(move_squares_ / played) * 1e6 / static_cast<double>(tick_hz);
    if (intervals_ > 0) report.jitter_cents = std::sqrt(cents_squares_ / static_cast<double>(intervals_));
    return report;
  }

 private:
  void add_interval(Tick wanted, Tick played) {
    if (wanted < 1 || played < 1) return;
    ++intervals_;
    if (wanted == played) return;  // most of them
    const double cents = 1200 * std::log2(static_cast<double>(wanted) / static_cast<double>(played));
    cents_squares_ += cents * cents;
  }

  VoiceReport report_;
  std::uint32_t last_note_ = 0;
  Tick last_wanted_start_ = 0, last_start_ = kGone;
  std::int64_t intervals_ = 0;
  double move_squares_ = 0, cents_squares_ = 0;
};

}  // namespace

std::vector<VoiceReport> report_voices(const Guarded& guarded) {
  std::vector<VoiceSums> voices;
  for_each_outcome(guarded, [&](const Outcome& it) {
    if (it.voice >= voices.size()) voices.resize(it.voice + std::size_t{1});
    voices[it.voice].add(it, it.burst ? guarded.stream.bursts[*it.burst].start : kGone);
  });
  std::vector<VoiceReport> reports;
  for (std::size_t i = 0; i < voices.size(); ++i)
    if (!voices[i].is_empty())
      reports.push_back(voices[i].report(static_cast<std::uint16_t>(i), guarded.stream.tick_hz));
  return reports;
}

}  // namespace burstloom
