// One note on its way: what its channel says at any moment, and the train of its bursts.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "burstloom/weave/weave.hpp"
#include "loudness.hpp"
#include "train.hpp"
#include "train_limits.hpp"
#include "voices.hpp"

namespace burstloom::weave_detail {

/// A channel of a file: all that it will ever say is known.
struct WrittenExpression {
  const ChannelCurves* curves;
  [[nodiscard]] double bend(double at_s) const { return value_at(curves->bend, at_s, 0); }
  [[nodiscard]] double vibrato(double at_s) const { return value_at(curves->vibrato, at_s, 0); }
  [[nodiscard]] double gain(double at_s) const { return value_at(curves->gain, at_s, 1); }
};

/// A channel as it is now; when it says something new, its notes have to be told (Playing::hear_again).
struct HeardExpression {
  struct Now {
    double bend = 0, vibrato = 0, gain = 1;
  };
  const Now* now;
  [[nodiscard]] double bend(double /*at_s*/) const { return now->bend; }
  [[nodiscard]] double vibrato(double /*at_s*/) const { return now->vibrato; }
  [[nodiscard]] double gain(double /*at_s*/) const { return now->gain; }
};

/// A note that enters, and how it is to be played.
template <class Expression>
struct Entering {
  Sounding sounding;
  double written_key = 69;  ///< without octaves moved: how fast it dies away goes by it
  Envelope envelope = Envelope::held;
  Expression expression;
};

template <class Expression>
class Playing {
 public:
  Playing(const Entering<Expression>& note, const TrainLimits& limits, std::int64_t tick_hz)
      : note_(note),
        highest_hz_(limits.highest_hz),
        tick_hz_(static_cast<double>(tick_hz)),
        end_(nearest_tick(note.sounding.end_s, tick_hz)),
        decay_s_(plucked_decay_s(note.written_key)),
        hz_(rate_at(note.sounding.start_s)),
        train_(note.sounding.start_s, hz_, tick_hz),
        before_(train_) {
    listen();
  }

  [[nodiscard]] const Sounding& sounding() const { return note_.sounding; }
  [[nodiscard]] const Expression& expression() const { return note_.expression; }
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
    return note_.envelope == Envelope::plucked && envelope_ < kFaded && is_silent(loudness);
  }

  void begin_later(Tick delay) {
    train_ = Train(note_.sounding.start_s + static_cast<double>(delay) / tick_hz_, hz_,
                   static_cast<std::int64_t>(tick_hz_));
    listen();
  }
  void advance() {
    before_ = train_;
    middle_s_ = (static_cast<double>(train_.next()) + train_.period() / 2) / tick_hz_;
    go_on();
  }
  void end_at(Tick end) { end_ = std::min(end_, end); }
  /// Its channel has said something at `at_s`: a period whose middle is still to come is reckoned anew.
  void hear_again(double at_s) {
    if (middle_s_ >= at_s) {
      train_ = before_;
      go_on();
    } else {
      listen();
    }
  }

  Part role = Part::inner;  ///< right now

 private:
  static constexpr double kLowestHz = 1.0;  // slower than this is no note
  static constexpr double kFaded =
      1.0 / 256;  // 24 dB of energy: gain and envelope have all but ended the note

  void go_on() {
    train_.set_rate(rate_at(middle_s_));
    train_.advance();
    listen();
  }

  double rate_at(double at_s) {
    double semitones = note_.expression.bend(at_s);
    if (const double depth = note_.expression.vibrato(at_s); depth != 0)
      semitones += depth * std::sin(2 * std::numbers::pi * kVibratoHz * (at_s - note_.sounding.start_s));
    if (semitones != semitones_) {
      semitones_ = semitones;
      hz_ = std::clamp(key_hz(note_.sounding.key + semitones), kLowestHz, std::max(kLowestHz, highest_hz_));
    }
    return hz_;
  }

  // How loud the next burst is to be.
  void listen() {
    const double at_s = static_cast<double>(train_.next()) / tick_hz_;
    const double gain = std::clamp(note_.expression.gain(at_s), 0.0, 1.0);
    envelope_ = note_.envelope == Envelope::plucked
                    ? std::exp(-2 * std::max(0.0, at_s - note_.sounding.start_s) / decay_s_)
                    : 1.0;
    fade_ = gain * gain * gain * gain * envelope_;
    power_ = power_of(std::clamp(note_.sounding.velocity, 0.0, 1.0) * gain, hz_) * envelope_;
  }

  Entering<Expression> note_;
  double highest_hz_, tick_hz_;
  Tick end_;
  double decay_s_;
  double semitones_ = std::numeric_limits<double>::quiet_NaN();
  double hz_ = 0, envelope_ = 1, fade_ = 1, power_ = 0;
  Train train_, before_;
  double middle_s_ = -1;  // of the period that is going on, once there is one
};

}  // namespace burstloom::weave_detail
