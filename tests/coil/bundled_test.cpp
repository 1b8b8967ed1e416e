// The profiles that come with Burstloom.
#include <filesystem>

#include "sample.hpp"

namespace burstloom {
namespace {

TEST(BundledProfiles, AllReadAndFillEveryTable) {
  int seen = 0;
  for (const auto& file : std::filesystem::directory_iterator(std::string(BURSTLOOM_SAMPLES) + "/coils")) {
    if (file.path().extension() != ".toml") continue;
    const Profile p = read_profile(file.path().string());
    ++seen;
    EXPECT_TRUE(p.measured && p.drive.bus_v && p.primary.inductance_uh && p.secondary.coupling &&
                p.limits.peak_current_a && p.limits.junction_c && p.limits.supply_w &&
                !p.switches.foster.empty() && p.heatsink.sink_to_ambient_k_per_w &&
                p.supply.bus_capacitance_uf)
        << file.path();
    const auto longest = longest_on_time_for_current_us(p);
    ASSERT_TRUE(longest.has_value()) << file.path();
    EXPECT_GE(*longest, p.limits.on_time_max_us) << file.path();
  }
  EXPECT_EQ(seen, 4);
}

}  // namespace
}  // namespace burstloom
