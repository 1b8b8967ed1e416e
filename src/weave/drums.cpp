#include "drums.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "weights.hpp"

namespace burstloom::weave_detail {
namespace {

constexpr double kTogether_s = 0.015;  // strokes closer than this are heard as one
constexpr double kDecayed = 0.1;       // of its energy is left at a gesture's end

constexpr Gesture kKick{220, 50, 0.090, false, 1.0, 6};
constexpr Gesture kSnare{900, 600, 0.120, true, 1.0, 6};
constexpr Gesture kLowTom{150, 85, 0.150, false, 1.0, 5};
constexpr Gesture kHighTom{270, 160, 0.130, false, 1.0, 5};
constexpr Gesture kCymbal{1300, 500, 0.500, true, 0.9, 4};
constexpr Gesture kBell{1050, 1050, 0.110, false, 0.8, 3};
constexpr Gesture kClick{700, 700, 0.022, false, 0.9, 2};
constexpr Gesture kOpenHat{1800, 1400, 0.220, true, 0.8, 1};
constexpr Gesture kClosedHat{1800, 1800, 0.035, true, 0.8, 0};

// By the percussion key map of General MIDI 1, 35 to 81.
// clang-format off
constexpr const Gesture* kGestureOfKey[] = {
    /* 35 */ &kKick,      &kKick,    &kClick,     &kSnare,  &kSnare,
    /* 40 */ &kSnare,     &kLowTom,  &kClosedHat, &kLowTom, &kClosedHat,
    /* 45 */ &kLowTom,    &kOpenHat, &kHighTom,   &kHighTom, &kCymbal,
    /* 50 */ &kHighTom,   &kCymbal,  &kCymbal,    &kBell,   &kClosedHat,
    /* 55 */ &kCymbal,    &kBell,    &kCymbal,    &kClick,  &kCymbal,
    /* 60 */ &kHighTom,   &kLowTom,  &kHighTom,   &kHighTom, &kLowTom,
    /* 65 */ &kHighTom,   &kLowTom,  &kBell,      &kBell,   &kClosedHat,
    /* 70 */ &kClosedHat, &kBell,    &kBell,      &kClick,  &kClick,
    /* 75 */ &kClick,     &kClick,   &kClick,     &kHighTom, &kHighTom,
    /* 80 */ &kBell,      &kBell};
// clang-format on
static_assert(std::size(kGestureOfKey) == 81 - 35 + 1);
constexpr double kFirstKey = 35;

// SplitMix64's mixing function (Steele, Lea and Flood 2014), from memory: the same numbers on every machine.
double between_0_and_1(std::uint64_t n) {
  n += 0x9E3779B97F4A7C15u;
  n = (n ^ (n >> 30)) * 0xBF58476D1CE4E5B9u;
  n = (n ^ (n >> 27)) * 0x94D049BB133111EBu;
  return static_cast<double>((n ^ (n >> 31)) >> 11) * 0x1p-53;
}

// A stroke that plays, until `end_s` at the most.
struct Stroke {
  std::uint32_t note;
  const Gesture* gesture;
  double start_s, end_s;
};

class Kit {
 public:
  explicit Kit(std::vector<NoteFate>& fates) : fates_(fates) {}

  void strike(std::uint32_t note, double at_s, const Gesture& gesture) {
    const Stroke stroke{note, &gesture, at_s, at_s + gesture.length_s};
    if (!strokes_.empty() && strokes_.back().end_s > at_s) {
      Stroke& before = strokes_.back();
      const double since_s = at_s - before.start_s;
      if (gives_way(gesture, *before.gesture, since_s)) return steal(stroke, at_s, before.note);
      const bool together = since_s < kTogether_s;
      const double from_s = together ? before.start_s : at_s;
      steal(before, from_s, note);
      before.end_s = from_s;
      if (together) strokes_.pop_back();
    }
    strokes_.push_back(stroke);
  }
  [[nodiscard]] const std::vector<Stroke>& strokes() const { return strokes_; }

 private:
  void steal(const Stroke& stroke, double from_s, std::uint32_t by) {
    fates_.push_back(
        {stroke.note, from_s, stroke.end_s, NoteFateKind::stolen, 0, "one stroke at a time", by});
  }

  std::vector<NoteFate>& fates_;
  std::vector<Stroke> strokes_;
};

}  // namespace

const Gesture* gesture_of(double key) {
  const double index = std::round(key) - kFirstKey;
  return index >= 0 && index < std::size(kGestureOfKey) ? kGestureOfKey[static_cast<std::size_t>(index)]
                                                        : nullptr;
}

bool gives_way(const Gesture& newcomer, const Gesture& before, double since_s) {
  if (newcomer.importance < before.importance) return since_s < std::max(kTogether_s, before.length_s / 2);
  return since_s < kTogether_s && newcomer.importance == before.importance;
}

Drumming::Drumming(const Loudness& loudness, const TrainLimits& limits, const WeaveOptions& options,
                   std::uint16_t voice)
    : loudness_(loudness),
      limits_(limits),
      tick_hz_(static_cast<double>(options.tick_hz)),
      cap_of_period_(options.cap_of_period),
      voice_(voice) {}

void Drumming::begin(std::uint32_t note, const Gesture& gesture, double start_s, double end_s,
                     double velocity, double gain) {
  const auto tick_hz = static_cast<std::int64_t>(tick_hz_);
  note_ = note;
  gesture_ = &gesture;
  start_s_ = start_s;
  velocity_ = velocity;
  level_ = velocity * gain * gesture.level;
  k_ = 0;
  next_ = std::max(nearest_tick(start_s, tick_hz), free_from_);
  end_ = level_ > 0 ? nearest_tick(end_s, tick_hz) : next_;
}

WantedBurst Drumming::burst_at(double hz) const {
  const Tick on = loudness_.on_time(power_of(level_, hz) * std::pow(kDecayed, gone()), hz);
  // Noise may be moved further: nobody hears where its bursts should have been.
  const double cap = gesture_->irregular ? std::max(0.5, cap_of_period_) : cap_of_period_;
  return {.start = next_,
          .on = on,
          .cap = static_cast<Tick>(tick_hz_ / hz * cap),
          .weight = burst_weight(velocity_, Part::drums),
          .note = note_,
          .voice = voice_};
}

WantedBurst Drumming::step() {
  const double hz = now_hz();
  const WantedBurst made = burst_at(hz);
  const double spread =
      gesture_->irregular ? 0.4 + 1.2 * between_0_and_1((std::uint64_t{note_} << 32) + k_) : 1.0;
  ++k_;
  free_from_ = next_ + made.on + limits_.gap;
  next_ = std::max(free_from_, next_ + static_cast<Tick>(tick_hz_ / hz * spread));
  return made;
}

double Drumming::gone() const {
  return (static_cast<double>(next_) / tick_hz_ - start_s_) / gesture_->length_s;
}

double Drumming::now_hz() const {
  return std::min(gesture_->from_hz * std::pow(gesture_->to_hz / gesture_->from_hz, gone()),
                  limits_.highest_hz);
}

Drummed drum_gestures(const Score& score, const Loudness& loudness, const TrainLimits& limits,
                      const WeaveOptions& options, std::uint16_t voice) {
  Drummed drummed;
  Kit kit(drummed.fates);
  for (std::size_t i = 0; i < score.notes.size(); ++i) {
    const Note& note = score.notes[i];
    if (note.part != Part::drums) continue;
    const auto index = static_cast<std::uint32_t>(i);
    const Gesture* gesture = gesture_of(note.key);
    if (gesture && note.velocity > 0)
      kit.strike(index, note.start_s, *gesture);
    else
      drummed.fates.push_back({index,
                               note.start_s,
                               note.end_s,
                               NoteFateKind::skipped,
                               0,
                               gesture ? "no velocity" : "no sound of the percussion key map (35 to 81)",
                               {}});
  }
  Drumming drumming(loudness, limits, options, voice);
  for (const Stroke& stroke : kit.strokes()) {
    const Note& note = score.notes[stroke.note];
    const StepCurve& gain = score.channels[static_cast<std::size_t>(note.channel & 15)].gain;
    drumming.begin(stroke.note, *stroke.gesture, stroke.start_s, stroke.end_s, note.velocity,
                   value_at(gain, note.start_s, 1));
    while (drumming.sounds()) drummed.bursts.push_back(drumming.step());
    drummed.fates.push_back({stroke.note, stroke.start_s, stroke.end_s, NoteFateKind::played, 0, "", {}});
  }
  return drummed;
}

}  // namespace burstloom::weave_detail
