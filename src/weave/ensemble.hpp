// The notes that sound, each a train of bursts, played together in order of time.
#pragma once

#include <algorithm>
#include <vector>

#include "phase.hpp"
#include "playing.hpp"
#include "weights.hpp"

namespace burstloom::weave_detail {

/// Pitch, loudness and phase as weave.hpp and phase.hpp say. Allocates nothing once it stands, while no more
/// than kMostVoices notes are in it.
template <class Expression>
class Ensemble {
 public:
  using Note = Playing<Expression>;

  /// `loudness` has to live on.
  Ensemble(const Loudness& loudness, const TrainLimits& limits, const WeaveOptions& options)
      : loudness_(loudness), limits_(limits), options_(options) {
    playing_.reserve(kMostVoices + 1);
    together_.reserve(kMostVoices + 1);
    roles_.reserve(kMostVoices + 1);
    others_.reserve(kMostVoices + 1);
  }

  [[nodiscard]] bool is_empty() const { return playing_.empty(); }
  [[nodiscard]] const std::vector<Note>& playing() const { return playing_; }
  /// When the next burst is due, of two at one moment the lower voice's.
  [[nodiscard]] const Note& first() const { return playing_[first_]; }

  void enter(const Entering<Expression>& note) {
    const Tick onset = nearest_tick(note.sounding.start_s, options_.tick_hz);
    std::erase_if(playing_, [&](const Note& it) { return it.end() <= onset; });
    Note newcomer(note, limits_, options_.tick_hz);
    if (options_.choose_phase) newcomer.begin_later(delay_of(newcomer));
    playing_.push_back(newcomer);
    take_stock();
  }
  /// The note is let go, or gives way.
  void end(std::size_t note, Tick at) {
    for (Note& it : playing_)
      if (it.sounding().note == note) it.end_at(at);
  }
  /// `is_of` tells of an expression whether it has changed at `at_s`.
  template <class IsOf>
  void hear_again(double at_s, IsOf is_of) {
    for (Note& it : playing_)
      if (is_of(it.expression())) it.hear_again(at_s);
    find_first();
    weigh();
  }

  /// Hands the next burst to `take`, or nothing where a note ended or is silent instead. Not for an empty
  /// ensemble.
  template <class Take>
  void step(Take take) {
    Note& due = playing_[first_];
    if (due.next() >= due.end() || due.has_died(loudness_)) {
      playing_.erase(playing_.begin() + static_cast<std::ptrdiff_t>(first_));
      return take_stock();
    }
    if (!due.is_silent(loudness_)) take(burst_of(due));
    const double power = due.power();
    due.advance();
    find_first();
    if (due.power() != power) weigh();
  }

  /// What a note's next burst would be as things stand.
  [[nodiscard]] WantedBurst burst_of(const Note& it) const {
    return {.start = it.next(),
            .on = loudness_.on_time(power_in_chord(it), it.hz()),
            .cap = static_cast<Tick>(it.period() * options_.cap_of_period),
            .weight = burst_weight(it.sounding().velocity, it.role),
            .note = static_cast<std::uint32_t>(it.sounding().note),
            .voice = static_cast<std::uint16_t>(it.sounding().voice)};
  }

 private:
  [[nodiscard]] Sequence sequence_of(const Note& it) const {
    return {it.next(), it.period(), loudness_.on_time(it.power(), it.hz()) + limits_.gap};
  }

  [[nodiscard]] Tick delay_of(const Note& newcomer) {
    others_.clear();
    for (const Note& it : playing_) others_.push_back(sequence_of(it));
    const double latest = std::min({newcomer.period(), kLatestOnset_s * static_cast<double>(options_.tick_hz),
                                    static_cast<double>(newcomer.end() - newcomer.next()) / 2});
    return best_delay(sequence_of(newcomer), others_, static_cast<Tick>(latest));
  }

  // After notes have come or gone.
  void take_stock() {
    assign_roles();
    find_first();
    weigh();
  }

  void assign_roles() {
    together_.clear();
    for (const Note& it : playing_) together_.push_back(&it.sounding());
    roles_.resize(together_.size());
    roles_now(together_, roles_);
    for (std::size_t i = 0; i < playing_.size(); ++i) playing_[i].role = roles_[i];
  }

  void find_first() {
    const auto first = std::min_element(playing_.begin(), playing_.end(), [](const Note& a, const Note& b) {
      return a.next() != b.next() ? a.next() < b.next() : a.sounding().voice < b.sounding().voice;
    });
    first_ = static_cast<std::size_t>(first - playing_.begin());
  }

  void weigh() {
    loudest_ = sum_ = 0;
    for (const Note& it : playing_) {
      loudest_ = std::max(loudest_, it.power());
      sum_ += power_share(it.role) * it.power();
    }
  }

  // Its share of what the loudest of those sounding would have alone.
  [[nodiscard]] double power_in_chord(const Note& of) const {
    return sum_ > 0 ? std::min(of.power(), loudest_ * power_share(of.role) * of.power() / sum_) : 0;
  }

  const Loudness& loudness_;
  TrainLimits limits_;
  WeaveOptions options_;
  std::vector<Note> playing_;     // few
  std::size_t first_ = 0;         // of them
  double loudest_ = 0, sum_ = 0;  // of their powers, the sum by shares
  std::vector<const Sounding*> together_;
  std::vector<Part> roles_;
  std::vector<Sequence> others_;
};

/// The bursts of all notes of a score in order of start; there is room for `expected` ones. Throws Error
/// (bad_input) where they become more than a song may have.
[[nodiscard]] std::vector<WantedBurst> bursts_of(std::vector<Sounding> sounding, const Score& score,
                                                 const Loudness& loudness, const TrainLimits& limits,
                                                 const WeaveOptions& options, double expected);

}  // namespace burstloom::weave_detail
