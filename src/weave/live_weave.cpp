#include "burstloom/weave/live_weave.hpp"

#include <algorithm>
#include <array>

#include "drums.hpp"
#include "ensemble.hpp"
#include "parts.hpp"
#include "range.hpp"

namespace burstloom {

using namespace weave_detail;

class LiveWeave::Inside {
 public:
  Inside(const Profile& profile, const WeaveOptions& options, double longest_note_s)
      : options_(options),
        longest_note_s_(longest_note_s),
        limits_(train_limits(profile, options.tick_hz)),
        loudness_(profile, options.tick_hz),
        stage_(options.voices),
        ensemble_(loudness_, limits_, options),
        drumming_(loudness_, limits_, options, static_cast<std::uint16_t>(options.voices)) {
    requests_.reserve(kMostVoices + 2);
  }

  Begun begin(const Onset& onset) {
    if (!(onset.velocity > 0)) return {NoteFateKind::skipped};
    return onset.part == Part::drums ? strike(onset) : enter(onset);
  }

  void end(std::uint32_t note, Tick at) {
    ensemble_.end(note, at);
    for (const Sounding& it : stage_.on_stage())
      if (it.note == note) parts_.end(it.channel, is_stated_lead(it), seconds(at));
    stage_.leave(note);
  }

  void end_drums(Tick at) { drumming_.end_at(at); }

  void express(int channel, Tick at, double bend, double vibrato, double gain) {
    HeardExpression::Now& now = channels_[static_cast<std::size_t>(channel & 15)];
    now = {bend, vibrato, gain};
    ensemble_.hear_again(seconds(at), [&](const HeardExpression& it) { return it.now == &now; });
  }

  [[nodiscard]] bool drums_come_first() const {
    return drumming_.sounds() && (ensemble_.is_empty() || drumming_.next() < ensemble_.first().next());
  }
  [[nodiscard]] Tick next() const {
    if (drums_come_first()) return drumming_.next();
    return ensemble_.is_empty() ? kEndOfTime : ensemble_.first().next();
  }
  std::optional<WantedBurst> step() {
    if (drums_come_first()) return drumming_.step();
    std::optional<WantedBurst> burst;
    ensemble_.step([&](const WantedBurst& it) { burst = it; });
    return burst;
  }

  std::span<const VoiceRequest> requests() {
    requests_.clear();
    for (const auto& it : ensemble_.playing())
      if (it.next() < it.end() && !it.is_silent(loudness_))
        requests_.push_back({ensemble_.burst_of(it), it.period()});
    if (drumming_.sounds()) requests_.push_back({drumming_.burst(), drumming_.period()});
    std::sort(requests_.begin(), requests_.end(),
              [](const VoiceRequest& a, const VoiceRequest& b) { return a.next.voice < b.next.voice; });
    return requests_;
  }

  [[nodiscard]] bool sounds(std::uint32_t note) const {
    if (drumming_.sounds() && stroke_.note == note) return true;
    return std::any_of(ensemble_.playing().begin(), ensemble_.playing().end(),
                       [&](const auto& it) { return it.sounding().note == note; });
  }

 private:
  [[nodiscard]] double seconds(Tick at) const {
    return static_cast<double>(at) / static_cast<double>(options_.tick_hz);
  }
  static bool is_stated_lead(const Sounding& it) { return it.part == Part::lead && it.part_is_stated; }

  Begun enter(const Onset& onset) {
    const double at_s = seconds(onset.at);
    stage_.clear_until(at_s);
    const HeardExpression expression{&channels_[static_cast<std::size_t>(onset.channel & 15)]};
    const int octaves = octaves_moved(onset.key + expression.bend(at_s), kFloorHz, limits_.highest_hz);
    Sounding newcomer{.note = onset.note,
                      .start_s = at_s,
                      .end_s = at_s + longest_note_s_,
                      .key = onset.key + 12.0 * octaves,
                      .velocity = onset.velocity,
                      .channel = onset.channel,
                      .part_is_stated = onset.part != Part::any};
    newcomer.part = parts_.part_of(newcomer, onset.part, stage_.on_stage());
    const Stage::Entered entered = stage_.enter(newcomer);
    if (!entered.voice) return {NoteFateKind::stolen};
    newcomer.voice = *entered.voice;
    Begun begun{octaves == 0 ? NoteFateKind::played : NoteFateKind::folded,
                {},
                static_cast<std::uint16_t>(newcomer.voice)};
    if (entered.gave_way) {
      begun.ended = static_cast<std::uint32_t>(entered.gave_way->note);
      parts_.end(entered.gave_way->channel, is_stated_lead(*entered.gave_way), at_s);
      ensemble_.end(entered.gave_way->note, onset.at);
    }
    ensemble_.enter({newcomer, onset.key, onset.envelope, expression});
    return begun;
  }

  Begun strike(const Onset& onset) {
    const double at_s = seconds(onset.at);
    const Gesture* gesture = gesture_of(onset.key);
    if (gesture == nullptr) return {NoteFateKind::skipped};
    const bool over_another = drumming_.sounds();
    if (over_another && gives_way(*gesture, *stroke_.gesture, at_s - stroke_.start_s))
      return {NoteFateKind::stolen};
    Begun begun{NoteFateKind::played, {}, static_cast<std::uint16_t>(options_.voices)};
    if (over_another) begun.ended = stroke_.note;
    stroke_ = {onset.note, at_s, gesture};
    drumming_.begin(onset.note, *gesture, at_s, at_s + gesture->length_s, onset.velocity,
                    channels_[static_cast<std::size_t>(onset.channel & 15)].gain);
    return begun;
  }

  struct Stroke {
    std::uint32_t note = 0;
    double start_s = 0;
    const Gesture* gesture = nullptr;
  };

  WeaveOptions options_;
  double longest_note_s_;
  TrainLimits limits_;
  Loudness loudness_;
  std::array<HeardExpression::Now, 16> channels_{};
  PartsSoFar parts_;
  Stage stage_;
  Ensemble<HeardExpression> ensemble_;
  Drumming drumming_;
  Stroke stroke_;
  std::vector<VoiceRequest> requests_;
};

LiveWeave::LiveWeave(const Profile& profile, const WeaveOptions& options, double longest_note_s)
    : inside_((require_sane(options), std::make_unique<Inside>(profile, options, longest_note_s))) {}
LiveWeave::LiveWeave(LiveWeave&&) noexcept = default;
LiveWeave& LiveWeave::operator=(LiveWeave&&) noexcept = default;
LiveWeave::~LiveWeave() = default;

Begun LiveWeave::begin(const Onset& onset) noexcept {
  return inside_->begin(onset);
}
void LiveWeave::end(std::uint32_t note, Tick at) noexcept {
  inside_->end(note, at);
}
void LiveWeave::end_drums(Tick at) noexcept {
  inside_->end_drums(at);
}
void LiveWeave::express(int channel, Tick at, double bend, double vibrato, double gain) noexcept {
  inside_->express(channel, at, bend, vibrato, gain);
}
Tick LiveWeave::next() const noexcept {
  return inside_->next();
}
std::optional<WantedBurst> LiveWeave::step() noexcept {
  return inside_->step();
}
std::span<const VoiceRequest> LiveWeave::requests() noexcept {
  return inside_->requests();
}
bool LiveWeave::sounds(std::uint32_t note) const noexcept {
  return inside_->sounds(note);
}

}  // namespace burstloom
