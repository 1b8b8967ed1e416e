// The notes that sound, each a train of bursts, played together in order of time.
#pragma once

#include <algorithm>
#include <optional>
#include <utility>
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
  [[nodiscard]] const Note& first() const {
    return *std::min_element(playing_.begin(), playing_.end(), [](const Note& a, const Note& b) {
      return a.next() != b.next() ? a.next() < b.next() : a.sounding().voice < b.sounding().voice;
    });
  }

  void enter(const Entering<Expression>& note) {
    const Tick onset = nearest_tick(note.sounding.start_s, options_.tick_hz);
    std::erase_if(playing_, [&](const Note& it) { return it.end() <= onset; });
    Note newcomer(note, limits_, options_.tick_hz);
    if (options_.choose_phase) newcomer.begin_later(delay_of(newcomer));
    playing_.push_back(newcomer);
    assign_roles();
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
  }

  /// The next burst, or nothing where a note ended or is silent instead. Not for an empty ensemble.
  std::optional<WantedBurst> step() {
    Note& due = const_cast<Note&>(std::as_const(*this).first());
    if (due.next() >= due.end() || due.has_died(loudness_)) {
      playing_.erase(playing_.begin() + (&due - playing_.data()));
      assign_roles();
      return std::nullopt;
    }
    std::optional<WantedBurst> burst;
    if (!due.is_silent(loudness_)) burst = burst_of(due);
    due.advance();
    return burst;
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

  void assign_roles() {
    together_.clear();
    for (const Note& it : playing_) together_.push_back(&it.sounding());
    roles_.resize(together_.size());
    roles_now(together_, roles_);
    for (std::size_t i = 0; i < playing_.size(); ++i) playing_[i].role = roles_[i];
  }

  // Its share of what the loudest of those sounding would have alone.
  [[nodiscard]] double power_in_chord(const Note& of) const {
    double loudest = 0, sum = 0;
    for (const Note& it : playing_) {
      loudest = std::max(loudest, it.power());
      sum += power_share(it.role) * it.power();
    }
    return sum > 0 ? std::min(of.power(), loudest * power_share(of.role) * of.power() / sum) : 0;
  }

  const Loudness& loudness_;
  TrainLimits limits_;
  WeaveOptions options_;
  std::vector<Note> playing_;  // few
  std::vector<const Sounding*> together_;
  std::vector<Part> roles_;
  std::vector<Sequence> others_;
};

/// The bursts of all notes of a score in order of start.
[[nodiscard]] std::vector<WantedBurst> bursts_of(std::vector<Sounding> sounding, const Score& score,
                                                 const Loudness& loudness, const TrainLimits& limits,
                                                 const WeaveOptions& options);

}  // namespace burstloom::weave_detail
