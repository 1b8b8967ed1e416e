#include "energy_limits.hpp"

#include <cmath>

namespace burstloom::judge_detail {
namespace {

constexpr double kSecond_s = 1;  // the window of supply power and tank current

Tick second_of(const JudgeContext& context) {
  const double ticks = kSecond_s * static_cast<double>(context.tick_hz) / (1 - context.limits.clock);
  return static_cast<Tick>(std::ceil(ticks - 1e-6));
}

}  // namespace

bool PeakCurrent::take(const GateInterval& interval, const OnTimeFigures& figures, bool is_cut) {
  const bool uncertain = context_.unknown > 0;
  const auto& value = figures.peak_a[kAsItLooks];
  const auto& least = uncertain ? figures.peak_a[kShortest] : value;
  const auto& most = uncertain ? figures.peak_a[kLongest] : value;
  LimitResult& result = tracker_.result;
  if (value && *value > result.worst) {
    result.worst = *value;
    result.at_s = context_.seconds(interval.start);
  }
  const double allowed = result.allowed * (1 + 1e-9);
  // Past what points and model tell the current is unknown; within an edge's uncertainty of it, perhaps.
  told_ &= most.has_value();
  tracker_.perhaps_past |= !most || is_cut || *most > allowed;
  if (!least || *least <= allowed) return false;
  tracker_.surely_past = true;
  tracker_.violate(context_.seconds(interval.start), value.value_or(*least));
  return true;
}

LimitTracker PeakCurrent::finish() {
  tracker_.result.in_stream = tracker_.result.worst;
  return std::move(tracker_);
}

EnergyLimits::EnergyLimits(const JudgeContext& context, const EnergyGrounds& grounds,
                           const ThermalModel* thermal)
    : context_(context), grounds_(grounds) {
  const HeaviestWindow second(second_of(context));
  for (std::size_t i = 0; i < (context.unknown > 0 ? kReadings : 1); ++i) {
    readings_.push_back({second, second, {}, {}, {}, {}});
    if (thermal != nullptr) readings_.back().heat.emplace(*thermal, thermal->cold());
  }
}

void EnergyLimits::take_alone(const GateInterval& interval, const OnTimeFigures& figures) {
  for (std::size_t i = 0; i < readings_.size(); ++i) {
    readings_[i].tank_v.update(figures.cost[i].tank_v, interval.start);
    readings_[i].switch_v.update(figures.cost[i].switch_v, interval.start);
  }
}

void EnergyLimits::take(const RingBuffer<GateInterval>& gate, std::size_t from,
                        std::span<OnTimeFigures* const> figures) {
  for (std::size_t i = 0; i < readings_.size(); ++i) {
    Reading& reading = readings_[i];
    if (weighs())
      for (const OnTimeFigures* it : figures)
        reading.weights.push({it->cost[i].energy_j, it->cost[i].i2t_a2s});
    const auto& weights = reading.weights;
    if (given().supply_w)
      slide(reading.energy, gate, from, [&](std::size_t number) { return weights[number].energy_j; });
    if (given().tank_capacitor_a_rms)
      slide(reading.i2t, gate, from, [&](std::size_t number) { return weights[number].i2t_a2s; });
    if (!reading.heat) continue;
    heated_.resize(figures.size());
    for (std::size_t n = 0; n < figures.size(); ++n)
      heated_[n] = {gate[from + n].start, gate[from + n].end, &figures[n]->heat[i]};
    reading.heat->take(heated_, context_.limits.stretch);
  }
}

void EnergyLimits::judge_one(const char* name, const char* unit, std::optional<double> allowed, Figure figure,
                             double from) {
  if (!allowed) return;
  LimitTracker tracker(name, unit, *allowed);
  const Worst worst = figure(readings_[kAsItLooks]);
  const bool uncertain = readings_.size() > 1;
  const double least = uncertain ? figure(readings_[kShortest]).value : worst.value;
  const double most = uncertain ? figure(readings_[kLongest]).value : worst.value;
  tracker.result.worst = tracker.result.in_stream = worst.value;
  tracker.result.at_s = context_.seconds(worst.at);
  // Margins of temperatures are of the rise above ambient.
  tracker.result.margin_percent = 100 * (*allowed - worst.value) / (*allowed - from);
  const double hair = 1e-9 * std::abs(*allowed);
  tracker.surely_past = least > *allowed + hair;
  tracker.perhaps_past = most > *allowed + hair || cut_;
  if (tracker.surely_past) tracker.violate(tracker.result.at_s, worst.value);
  trackers_.push_back(std::move(tracker));
}

std::vector<LimitTracker> EnergyLimits::finish(Tick length, bool cut) {
  cut_ = cut;
  for (Reading& reading : readings_)
    if (reading.heat) reading.heat->finish(length);
  const double ambient_c = context_.profile.heatsink.ambient_c;
  judge_one(
      "tank capacitor voltage", "V", given().tank_capacitor_v, [](const Reading& it) { return it.tank_v; },
      0);
  judge_one(
      "tank capacitor current", "A", given().tank_capacitor_a_rms,
      [](const Reading& it) {
        return Worst{std::sqrt(it.i2t.worst().value / kSecond_s), it.i2t.worst().at};
      },
      0);
  if (context_.profile.drive.primary == PrimaryKind::current_fed)
    judge_one(
        "switch voltage", "V", given().switch_v, [](const Reading& it) { return it.switch_v; }, 0);
  if (grounds_.has_junction())
    judge_one(
        "junction", "C", given().junction_c, [](const Reading& it) { return it.heat->junction_c; },
        ambient_c);
  if (grounds_.has_sink())
    judge_one(
        "heatsink", "C", given().heatsink_c, [](const Reading& it) { return it.heat->heatsink_c; },
        ambient_c);
  judge_one(
      "supply", "W", given().supply_w,
      [](const Reading& it) {
        return Worst{it.energy.worst().value / kSecond_s, it.energy.worst().at};
      },
      0);
  return std::move(trackers_);
}

std::size_t EnergyLimits::forget(std::size_t newest) {
  std::size_t oldest = newest;
  for (Reading& reading : readings_) {
    std::size_t its_oldest = newest;
    if (given().supply_w) its_oldest = std::min(its_oldest, reading.energy.oldest());
    if (given().tank_capacitor_a_rms) its_oldest = std::min(its_oldest, reading.i2t.oldest());
    reading.weights.forget_before(its_oldest);
    oldest = std::min(oldest, its_oldest);
  }
  return oldest;
}

}  // namespace burstloom::judge_detail
