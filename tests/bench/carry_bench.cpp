// What is left of a sound that is carried: signal to noise (dB) in the gate up to a quarter of the rate
// (carrier) or a sixteenth (density), for a tone in the middle of the band; and of the carrier where the
// driver finishes its half cycle, so that on-times come in steps.
#include <cstdio>

#include "../weave/carried_sounds.hpp"

namespace burstloom {
namespace {

using namespace testing_carry;

// The driver ends each burst with the half cycle that runs.
Carried finished(Carried carried, double half_cycle_us) {
  const double ticks = half_cycle_us * static_cast<double>(kDefaultTickHz) / 1e6;
  for (WantedBurst& burst : carried.wanted.bursts)
    burst.on =
        static_cast<Tick>(std::llround(std::ceil(static_cast<double>(burst.on) / ticks - 1e-9) * ticks));
  return carried;
}

void print_row(double rate_hz) {
  Profile profile = continuous_profile();
  profile.limits.on_time_min_us = 1e5 / rate_hz;
  profile.limits.on_time_max_us = 5e5 / rate_hz;
  const double band_hz = rate_hz / 4;
  const Sound sound = tone(0.4 * band_hz);
  const Carried carried = carry_by_on_time(sound, profile, {}, rate_hz);
  std::printf("| %.0f kHz | %.0f to %.0f us | %.1f |", rate_hz / 1000, profile.limits.on_time_min_us,
              profile.limits.on_time_max_us, signal_to_noise_db(carried, sound, band_hz));
  for (const double half_cycle_us : {0.5, 2.0, 5.0})
    std::printf(" %.1f |", signal_to_noise_db(finished(carried, half_cycle_us), sound, band_hz));
  profile.limits.on_time_max_us = 3e5 / rate_hz;
  const Sound low = tone(0.4 * rate_hz / 16);
  std::printf(" %.1f |\n",
              signal_to_noise_db(carry_by_density(low, profile, {}, rate_hz), low, rate_hz / 16));
}

}  // namespace
}  // namespace burstloom

int main() {
  std::puts("| rate | on-times | carrier | half cycles of 0.5 us | of 2 us | of 5 us | density |");
  std::puts("|---|---|---|---|---|---|---|");
  for (const double rate_hz : {2'500.0, 5'000.0, 10'000.0, 20'000.0, 40'000.0}) burstloom::print_row(rate_hz);
}
