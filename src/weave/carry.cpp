#include "burstloom/weave/carry.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "carrier.hpp"
#include "density_modulator.hpp"
#include "level.hpp"

namespace burstloom {
namespace {

using namespace weave_detail;

constexpr CarrierUse kByOnTime{1.0, 0.25, 1, "carrier"}, kByDensity{0.5, 1.0 / 16, 6, "density"};
constexpr double kSilence = 0.003;  // of the loudest: -50 dB
constexpr double kDepth = 0.7;
constexpr double kLooksPerPeriod = 6;  // of the highest frequency kept, to find the level

// A sound as it is carried: between 0 and 1 of the swing, following its level.
class Swing {
 public:
  Swing(const Sound& sound, double bandwidth_hz)
      : sound_(sound, bandwidth_hz), level_(sound_, sound.length_s(), kLooksPerPeriod * bandwidth_hz) {}

  [[nodiscard]] bool silent(double at_s) const {
    return level_.highest() <= 0 || level_.at(at_s) < kSilence * level_.highest();
  }
  /// 0 to 1: half the level plus half the sound.
  [[nodiscard]] double at(double at_s) const {
    return std::clamp((level_.at(at_s) + sound_.at(at_s)) / (2 * level_.highest()), 0.0, 1.0);
  }
  [[nodiscard]] double level(double at_s) const { return level_.at(at_s) / level_.highest(); }

 private:
  BandLimited sound_;
  Level level_;
};

// Stretches of sound are what notes are elsewhere.
class Stretches {
 public:
  explicit Stretches(NoteCounts& counts) : counts_(counts) {}
  std::uint32_t number(bool silent) {
    if (silent_ && !silent) counts_.played = ++counts_.read;
    silent_ = silent;
    return static_cast<std::uint32_t>(std::max<std::int64_t>(0, counts_.read - 1));
  }

 private:
  NoteCounts& counts_;
  bool silent_ = true;
};

Carried carried(const Sound& sound, const Carrier& carrier, const WeaveOptions& options) {
  if (options.tick_hz < kLowestTickHz || options.tick_hz > kHighestTickHz)
    throw Error(Fault::usage, "a tick rate of " + std::to_string(options.tick_hz) + " Hz", "",
                "choose one from 1000 to 100000000 Hz");
  Carried result{.wanted = {}, .carrier = carrier};
  result.wanted.length = nearest_tick(sound.length_s(), options.tick_hz);
  return result;
}

}  // namespace

Carried carry_by_on_time(const Sound& sound, const Profile& profile, const WeaveOptions& options,
                         std::optional<double> rate_hz) {
  Carried result = carried(sound, carrier_for(profile, kByOnTime, rate_hz), options);
  const Carrier& carrier = result.carrier;
  const Swing swing(sound, carrier.bandwidth_hz);
  Stretches stretches(result.wanted.notes);
  const double tick_hz = static_cast<double>(options.tick_hz);
  const auto half_on_s = [&](double at_s) {
    return 0.5e-6 * (carrier.shortest_us + swing.at(at_s) * (carrier.longest_us - carrier.shortest_us));
  };
  // Where an edge falls on the sound that sets it: a few steps are enough, the sound being slow beside it.
  const auto edge_s = [&](double middle_s, double side) {
    double at_s = middle_s + side * half_on_s(middle_s);
    for (int i = 0; i < 2; ++i) at_s = middle_s + side * half_on_s(at_s);
    return at_s;
  };
  const auto cap = static_cast<Tick>(options.cap_of_period * tick_hz / carrier.rate_hz);
  const double shortest = std::ceil(carrier.shortest_us * tick_hz / 1e6 - 1e-6);
  const double longest = std::max(shortest, std::floor(carrier.longest_us * tick_hz / 1e6 + 1e-6));
  double owed = 0;  // ticks of on-time that rounding has taken so far
  const auto count = static_cast<std::int64_t>(sound.length_s() * carrier.rate_hz);
  for (std::int64_t i = 0; i < count; ++i) {
    const double middle_s = (static_cast<double>(i) + 0.5) / carrier.rate_hz;
    const bool silent = swing.silent(middle_s);
    const std::uint32_t stretch = stretches.number(silent);
    if (silent) continue;
    const double begin = edge_s(middle_s, -1) * tick_hz, end = edge_s(middle_s, +1) * tick_hz;
    const double begin_tick = std::round(begin - owed);
    owed += begin_tick - begin;
    const double end_tick = std::clamp(std::round(end + owed), begin_tick + shortest, begin_tick + longest);
    owed += end - end_tick;
    result.wanted.bursts.push_back({.start = static_cast<Tick>(begin_tick),
                                    .on = static_cast<Tick>(end_tick - begin_tick),
                                    .cap = cap,
                                    .weight = 256,
                                    .note = stretch});
  }
  return result;
}

Carried carry_by_density(const Sound& sound, const Profile& profile, const WeaveOptions& options,
                         std::optional<double> rate_hz) {
  Carried result = carried(sound, carrier_for(profile, kByDensity, rate_hz), options);
  const Carrier& carrier = result.carrier;
  const Swing swing(sound, carrier.bandwidth_hz);
  Stretches stretches(result.wanted.notes);
  const double tick_hz = static_cast<double>(options.tick_hz), place_ticks = tick_hz / carrier.rate_hz;
  const auto cap = static_cast<Tick>(options.cap_of_period * place_ticks);
  const double shortest = carrier.shortest_us * tick_hz / 1e6, longest = carrier.longest_us * tick_hz / 1e6;
  DensityModulator modulator;
  const auto count = static_cast<std::int64_t>(sound.length_s() * carrier.rate_hz);
  for (std::int64_t i = 0; i < count; ++i) {
    const double at_s = static_cast<double>(i) / carrier.rate_hz;
    const bool silent = swing.silent(at_s);
    const std::uint32_t stretch = stretches.number(silent);
    if (silent) continue;
    const auto on = static_cast<Tick>(std::ceil(shortest + (longest - shortest) * swing.level(at_s) - 1e-6));
    // Away from both ends, where every place or none would hold a burst, so that the second order stays in
    // step.
    const double density = 0.5 + kDepth * (swing.at(at_s) / swing.level(at_s) - 0.5);
    if (!modulator.fires(density, on)) continue;
    result.wanted.bursts.push_back(
        {.start = static_cast<Tick>(std::llround(static_cast<double>(i) * place_ticks)),
         .on = on,
         .cap = cap,
         .weight = 256,
         .note = stretch});
  }
  return result;
}

const std::vector<WayOfCarrying>& ways_of_carrying() {
  static const std::vector<WayOfCarrying> ways = {
      {"carrier", "the sound itself, by the on-times of bursts at a high rate, for coils that allow one",
       carry_by_on_time},
      {"density", "the sound itself, by how dense bursts are", carry_by_density},
  };
  return ways;
}

}  // namespace burstloom
