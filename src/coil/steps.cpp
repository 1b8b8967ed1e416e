#include "burstloom/coil/steps.hpp"

#include <cmath>
#include <cstdio>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", value);
  return text;
}

Error wrong(const std::string& what, const char* where, const std::string& what_to_do) {
  return {Fault::usage, what, where, what_to_do};
}

}  // namespace

BurstStream rising_bursts(const Profile& profile, int steps, std::int64_t tick_hz) {
  if (steps < 2 || steps > 200) throw wrong(std::to_string(steps) + " steps", "--steps", "choose 2 to 200");
  const CommandLimits limits = command_limits(profile);
  const double per_us = static_cast<double>(tick_hz) / 1e6;
  const auto shortest =
      std::max<Tick>(1, static_cast<Tick>(std::ceil(limits.on_time_min_us * per_us - 1e-6)));
  const auto longest = static_cast<Tick>(std::floor(limits.on_time_max_us * per_us + 1e-6));
  BurstStream stream{tick_hz, tick_hz, {}};
  for (int i = 0; i < steps; ++i) {
    const double part = static_cast<double>(i) / (steps - 1);
    const double ideal = static_cast<double>(shortest) *
                         std::pow(static_cast<double>(longest) / static_cast<double>(shortest), part);
    const auto on = static_cast<Tick>(std::floor(ideal + 1e-6));
    if (on > longest || (!stream.bursts.empty() && on <= stream.bursts.back().on)) continue;
    stream.bursts.push_back({stream.length, on});
    stream.length += tick_hz;
  }
  return stream;
}

BurstStream steady_tone(const Profile& profile, double rate_hz, double on_time_us, double seconds,
                        std::int64_t tick_hz) {
  const CommandLimits limits = command_limits(profile);
  if (!(rate_hz >= 1 && rate_hz <= 100'000))
    throw wrong("a rate of " + number(rate_hz) + " Hz", "--rate", "choose 1 to 100000 Hz");
  if (!(seconds > 0 && seconds <= 600))
    throw wrong("a tone of " + number(seconds) + " s", "--seconds", "choose a time up to 600 s");
  if (!(on_time_us >= limits.on_time_min_us && on_time_us <= limits.on_time_max_us))
    throw wrong("an on-time of " + number(on_time_us) + " µs", "--on-time",
                "this profile lets a stream command " + number(limits.on_time_min_us) + " to " +
                    number(limits.on_time_max_us) + " µs");
  if (on_time_us + limits.gap_us > 1e6 / rate_hz)
    throw wrong(
        "bursts of " + number(on_time_us) + " µs at " + number(rate_hz) + " Hz leave less than the gap",
        "--rate, --on-time", "choose a lower rate; the gap is at least " + number(limits.gap_us) + " µs");
  BurstStream stream{tick_hz, nearest_tick(seconds, tick_hz), {}};
  const auto on = static_cast<Tick>(std::floor(on_time_us * static_cast<double>(tick_hz) / 1e6 + 1e-6));
  for (std::int64_t i = 0;; ++i) {
    const Tick start = nearest_tick(static_cast<double>(i) / rate_hz, tick_hz);
    if (start + on > stream.length) return stream;
    stream.bursts.push_back({start, on});
  }
}

std::vector<std::string> order_of_bench_work() {
  return {
      "Without power: look at everything, measure resistances, bleeder and earth. Somebody else is there and "
      "can switch off.",
      "Logic alone: play the stream, see it on an oscilloscope; the gate is low before, after, in reset and "
      "with stop open.",
      "Gate drive without the bus: both polarities, dead time, nothing when the signal is unplugged.",
      "Bus at a tenth, from a current-limited supply, with an isolated current probe: does the current ring "
      "up as coil show says?",
      "Single bursts first, the shortest first. Raise one thing at a time: on-time, then rate, then the bus, "
      "in small steps.",
      "At each step write down on-time, peak current, the bus and whether streamers were out: these are the "
      "[measured] points.",
      "Compare with the model. Where they differ by more than 15 %, stop and find out why before going on.",
      "A steady tone next, a minute, short on-times: case and heatsink temperature against what check says. "
      "Lower the limits if they disagree.",
      "Full bus only behind distance or a barrier, aired, with hearing protection, remote off within reach, "
      "nobody with an implant near.",
      "After each run: off, unplugged, wait, measure the bus, discharge it, then touch.",
      "Mains, high voltage and radio rules differ from place to place: follow the local codes and leave "
      "licensed work to those who hold the licence. "
      "A prediction is no permission.",
  };
}

}  // namespace burstloom
