// Whether a song may be played again and again, by heat.
#include <cmath>

#include "thermal_model.hpp"

namespace burstloom::judge_detail {
namespace {

constexpr double kDay_s = 86'400;

class RepeatTrials {
 public:
  RepeatTrials(const ThermalModel& model, const ThermalRun& cold_run, const Limits& limits, Tick length,
               Tick stretch)
      : model_(model), cold_run_(cold_run), limits_(limits), length_(length), stretch_(stretch) {}

  // What was left of a cold start's playing when it ended, summed up over all playings before: none of it
  // decays slower than the slowest lag, and no resistance is higher than at the hottest that is allowed. On
  // top of that comes a cold playing.
  [[nodiscard]] bool surely_loops() const {
    const double ambient = model_.ambient_c();
    const double hottest_c = model_.judges_junction() && limits_.junction_c ? *limits_.junction_c : 150;
    const double warmer = model_.judges_junction() ? model_.resistance_at(hottest_c) /
                                                         model_.resistance_at(std::min(ambient, 25.0))
                                                   : 1;
    const double kept = std::exp(model_.slowest_rate() * model_.seconds(length_));
    const double carried = warmer / (1 - kept);
    const double sink_c =
        ambient + model_.sink_k(cold_run_.state) * carried + (cold_run_.heatsink_c.value - ambient) * warmer;
    const double junction_c = ambient + model_.junction_k(cold_run_.state) * carried +
                              (cold_run_.junction_c.value - ambient) * warmer;
    if (limits_.heatsink_c && !(sink_c <= *limits_.heatsink_c)) return false;
    return !model_.judges_junction() || (junction_c <= hottest_c);
  }

  // Looks for a state from which a playing and its rest lead back to the same or a cooler one: warmer starts
  // end warmer, so nothing that begins cooler ever gets past it. The guess is where the first two playings
  // are heading.
  [[nodiscard]] bool loops_with(double rest_s, const std::vector<Interval>& gate, BurstCosts& costs) const {
    const auto once = [&](const ThermalState& start) {
      ThermalRun run(model_, start);
      std::array<HeatedInterval, 256> block;
      for (std::size_t at = 0; at < gate.size(); at += block.size(), costs.forget()) {
        const std::size_t size = std::min(block.size(), gate.size() - at);
        for (std::size_t i = 0; i < size; ++i) {
          const Interval& it = gate[at + i];
          block[i] = {it.start, it.end, &costs.of(it.end - it.start).heat[kAsItLooks]};
        }
        run.take(std::span(block).first(size), stretch_);
      }
      run.finish(length_);
      model_.cool(run.state, rest_s);
      return run;
    };
    constexpr double kSlack_k = 0.05;
    ThermalState before = model_.cold();
    ThermalRun run = once(before);
    for (int round = 0; round < 12 && holds(run); ++round) {
      const double end_k = model_.sink_k(run.state), rise = end_k - model_.sink_k(before);
      if (rise <= 0 && model_.case_k(run.state) <= model_.case_k(before)) return true;
      const ThermalRun second = once(run.state);
      if (!holds(second)) return false;
      const double second_rise = model_.sink_k(second.state) - end_k;
      const double ratio = std::clamp(second_rise / rise, 0.0, 0.9999);
      before = second.state;
      model_.warm(before, second_rise * ratio / (1 - ratio) + kSlack_k);
      run = once(before);
    }
    return false;
  }

  // As if one lag, the slowest, carried all from playing to playing: what a cold playing leaves, summed up
  // over those before, decays until the hottest moment and is added to it.
  [[nodiscard]] double guessed_rest_s() const {
    double too_short = 0, long_enough = kDay_s;
    if (!all_fit(long_enough) || all_fit(0)) return 0;
    while (long_enough - too_short > 0.02) {
      const double middle = (too_short + long_enough) / 2;
      (all_fit(middle) ? long_enough : too_short) = middle;
    }
    return long_enough;
  }

 private:
  [[nodiscard]] bool holds(const ThermalRun& run) const {
    if (run.ran_away) return false;
    if (limits_.heatsink_c && run.heatsink_c.value > *limits_.heatsink_c) return false;
    return !limits_.junction_c || !model_.judges_junction() || run.junction_c.value <= *limits_.junction_c;
  }

  [[nodiscard]] bool fits(double rest_s, const std::optional<double>& limit, const Worst& hottest,
                          double left_k) const {
    if (!limit) return true;
    const auto decayed = [&](double seconds) { return std::exp(model_.slowest_rate() * seconds); };
    const double carried_k = left_k * decayed(rest_s) / (1 - decayed(rest_s + model_.seconds(length_)));
    return hottest.value + carried_k * decayed(model_.seconds(hottest.at)) <= *limit;
  }
  [[nodiscard]] bool all_fit(double rest_s) const {
    return fits(rest_s, limits_.heatsink_c, cold_run_.heatsink_c, model_.sink_k(cold_run_.state)) &&
           (!model_.judges_junction() ||
            fits(rest_s, limits_.junction_c, cold_run_.junction_c, model_.case_k(cold_run_.state)));
  }

  const ThermalModel& model_;
  const ThermalRun& cold_run_;
  const Limits& limits_;
  Tick length_, stretch_;
};

}  // namespace

std::optional<double> rest_for_heat_s(const ThermalModel& model, const ThermalRun& cold_run,
                                      const Limits& limits, Tick length, Tick stretch,
                                      const BurstStream* whole, BurstCosts& costs) {
  if (!limits.heatsink_c && !limits.junction_c) return 0.0;
  const RepeatTrials repeats(model, cold_run, limits, length, stretch);
  if (repeats.surely_loops()) return 0.0;
  if (whole == nullptr) return std::nullopt;
  const std::vector<Interval> gate = gate_view(whole->bursts, stretch);
  if (repeats.loops_with(0, gate, costs)) return 0.0;
  // Near enough by the slowest lag alone; then tried in full, and a little more each time until it does.
  for (double rest_s = repeats.guessed_rest_s(); rest_s <= kDay_s;
       rest_s = std::max(rest_s + 0.2, rest_s * 1.05))
    if (repeats.loops_with(rest_s, gate, costs)) return rest_s;
  return std::nullopt;
}

}  // namespace burstloom::judge_detail
