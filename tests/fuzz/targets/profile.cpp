// A coil's profile: what is accepted gives limits that are in order, and its own text gives it again.
#include "burstloom/coil/profile.hpp"

#include <cmath>

#include "target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  const auto profile = unless_refused([&] { return parse_profile(text_of({data, size}), "coil.toml"); });
  if (!profile) return 0;
  const CommandLimits limits = command_limits(*profile);
  require(limits.on_time_min_us >= 0 && limits.gap_us >= 0 && std::isfinite(limits.on_time_max_us) &&
              std::isfinite(limits.gap_us),
          "limits are in order");
  (void)longest_on_time_for_current_us(*profile);
  (void)peak_current_a(*profile, limits.on_time_max_us);
  const auto warmer = unless_refused([&] { return started_at(*profile, 30, 40); });
  if (warmer)
    require(unless_refused([&] { return parse_profile(warmer->text, "warmer.toml"); }).has_value(),
            "a profile's text is a profile");
  return 0;
}
