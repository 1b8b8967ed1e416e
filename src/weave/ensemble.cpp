#include "ensemble.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "phase.hpp"
#include "train.hpp"
#include "weights.hpp"

namespace burstloom::weave_detail {
namespace {

constexpr double kLowestHz = 1.0;     // slower than this is no note
constexpr double kFaded = 1.0 / 256;  // 24 dB of energy: gain and envelope have all but ended the note

// One note on its way: what its curves say at any moment, and the train of its bursts.
class Playing {
 public:
  Playing(const Sounding& sounding, const Score& score, const TrainLimits& limits,
          const WeaveOptions& options)
      : sounding_(&sounding),
        note_(&score.notes[sounding.note]),
        curves_(&score.channels[static_cast<std::size_t>(note_->channel & 15)]),
        highest_hz_(limits.highest_hz),
        tick_hz_(static_cast<double>(options.tick_hz)),
        end_(nearest_tick(sounding.end_s, options.tick_hz)),
        decay_s_(plucked_decay_s(note_->key)),
        hz_(rate_at(sounding.start_s)),
        train_(sounding.start_s, hz_, options.tick_hz) {
    listen();
  }

  [[nodiscard]] const Sounding& sounding() const { return *sounding_; }
  [[nodiscard]] double velocity() const { return note_->velocity; }
  [[nodiscard]] Tick next() const { return train_.next(); }
  [[nodiscard]] Tick end() const { return end_; }
  [[nodiscard]] double hz() const { return hz_; }
  [[nodiscard]] double period() const { return train_.period(); }
  /// The power that it asks for by itself, at its next burst.
  [[nodiscard]] double power() const { return power_; }
  [[nodiscard]] bool is_silent(const Loudness& loudness) const {
    return !(power_ > 0) || (fade_ < kFaded && loudness.is_under_shortest(power_, hz_));
  }
  /// Whether it has died away for good.
  [[nodiscard]] bool has_died(const Loudness& loudness) const {
    return note_->envelope == Envelope::plucked && envelope_ < kFaded && is_silent(loudness);
  }

  void begin_later(Tick delay) {
    train_ = Train(sounding_->start_s + static_cast<double>(delay) / tick_hz_, hz_,
                   static_cast<std::int64_t>(tick_hz_));
    listen();
  }
  void advance() {
    train_.set_rate(rate_at((static_cast<double>(train_.next()) + train_.period() / 2) / tick_hz_));
    train_.advance();
    listen();
  }

  Part role = Part::inner;  ///< right now

 private:
  double rate_at(double at_s) {
    double semitones = value_at(curves_->bend, at_s, 0);
    if (const double depth = value_at(curves_->vibrato, at_s, 0); depth != 0)
      semitones += depth * std::sin(2 * std::numbers::pi * kVibratoHz * (at_s - sounding_->start_s));
    if (semitones != semitones_) {
      semitones_ = semitones;
      hz_ = std::clamp(key_hz(sounding_->key + semitones), kLowestHz, std::max(kLowestHz, highest_hz_));
    }
    return hz_;
  }

  // How loud the next burst is to be.
  void listen() {
    const double at_s = static_cast<double>(train_.next()) / tick_hz_;
    const double gain = std::clamp(value_at(curves_->gain, at_s, 1), 0.0, 1.0);
    envelope_ = note_->envelope == Envelope::plucked
                    ? std::exp(-2 * std::max(0.0, at_s - sounding_->start_s) / decay_s_)
                    : 1.0;
    fade_ = gain * gain * gain * gain * envelope_;
    power_ = power_of(std::clamp(note_->velocity, 0.0, 1.0) * gain, hz_) * envelope_;
  }

  const Sounding* sounding_;
  const Note* note_;
  const ChannelCurves* curves_;
  double highest_hz_, tick_hz_;
  Tick end_;
  double decay_s_;
  double semitones_ = std::numeric_limits<double>::quiet_NaN();
  double hz_ = 0, envelope_ = 1, fade_ = 1, power_ = 0;
  Train train_;
};

class Ensemble {
 public:
  Ensemble(const Score& score, const Loudness& loudness, const TrainLimits& limits,
           const WeaveOptions& options)
      : score_(score), loudness_(loudness), limits_(limits), options_(options) {}

  [[nodiscard]] bool is_empty() const { return playing_.empty(); }
  /// When the next burst is due.
  [[nodiscard]] Tick next() const { return first().next(); }

  void enter(const Sounding& sounding) {
    const Tick onset = nearest_tick(sounding.start_s, options_.tick_hz);
    std::erase_if(playing_, [&](const Playing& it) { return it.end() <= onset; });
    Playing newcomer(sounding, score_, limits_, options_);
    if (options_.choose_phase) newcomer.begin_later(delay_of(newcomer));
    playing_.push_back(newcomer);
    assign_roles();
  }

  /// The next burst, or the end of a note.
  void step(std::vector<WantedBurst>& bursts) {
    Playing& due = first();
    if (due.next() >= due.end() || due.has_died(loudness_)) {
      playing_.erase(playing_.begin() + (&due - playing_.data()));
      assign_roles();
      return;
    }
    if (!due.is_silent(loudness_)) bursts.push_back(burst_of(due));
    due.advance();
  }

 private:
  [[nodiscard]] const Playing& first() const {
    return *std::min_element(playing_.begin(), playing_.end(),
                             [](const Playing& a, const Playing& b) { return a.next() < b.next(); });
  }
  Playing& first() { return const_cast<Playing&>(std::as_const(*this).first()); }

  [[nodiscard]] Sequence sequence_of(const Playing& it) const {
    return {it.next(), it.period(), loudness_.on_time(it.power(), it.hz()) + limits_.gap};
  }

  [[nodiscard]] Tick delay_of(const Playing& newcomer) const {
    std::vector<Sequence> others;
    for (const Playing& it : playing_) others.push_back(sequence_of(it));
    const double latest = std::min({newcomer.period(), kLatestOnset_s * static_cast<double>(options_.tick_hz),
                                    static_cast<double>(newcomer.end() - newcomer.next()) / 2});
    return best_delay(sequence_of(newcomer), others, static_cast<Tick>(latest));
  }

  void assign_roles() {
    std::vector<const Sounding*> together;
    for (const Playing& it : playing_) together.push_back(&it.sounding());
    const std::vector<Part> roles = roles_now(together);
    for (std::size_t i = 0; i < playing_.size(); ++i) playing_[i].role = roles[i];
  }

  // Its share of what the loudest of those sounding would have alone.
  [[nodiscard]] double power_in_chord(const Playing& of) const {
    double loudest = 0, sum = 0;
    for (const Playing& it : playing_) {
      loudest = std::max(loudest, it.power());
      sum += power_share(it.role) * it.power();
    }
    return sum > 0 ? std::min(of.power(), loudest * power_share(of.role) * of.power() / sum) : 0;
  }

  [[nodiscard]] WantedBurst burst_of(const Playing& it) const {
    return {.start = it.next(),
            .on = loudness_.on_time(power_in_chord(it), it.hz()),
            .cap = static_cast<Tick>(it.period() * options_.cap_of_period),
            .weight = burst_weight(it.velocity(), it.role),
            .note = static_cast<std::uint32_t>(it.sounding().note),
            .voice = static_cast<std::uint16_t>(it.sounding().voice)};
  }

  const Score& score_;
  const Loudness& loudness_;
  const TrainLimits& limits_;
  const WeaveOptions& options_;
  std::vector<Playing> playing_;  // few
};

// The lead chooses its phase before the others, which then have to find room around it.
int turn_of(Part part) {
  return part == Part::lead ? 0 : part == Part::bass ? 1 : 2;
}

}  // namespace

std::vector<WantedBurst> bursts_of(std::vector<Sounding> sounding, const Score& score,
                                   const Loudness& loudness, const TrainLimits& limits,
                                   const WeaveOptions& options) {
  std::stable_sort(sounding.begin(), sounding.end(), [](const Sounding& a, const Sounding& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : turn_of(a.part) < turn_of(b.part);
  });
  std::vector<WantedBurst> bursts;
  Ensemble ensemble(score, loudness, limits, options);
  for (std::size_t next = 0; next < sounding.size() || !ensemble.is_empty();) {
    const bool enters =
        next < sounding.size() &&
        (ensemble.is_empty() || nearest_tick(sounding[next].start_s, options.tick_hz) <= ensemble.next());
    if (enters)
      ensemble.enter(sounding[next++]);
    else
      ensemble.step(bursts);
  }
  return bursts;
}

}  // namespace burstloom::weave_detail
