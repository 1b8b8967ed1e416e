// A folder of its own, the bundled coils made warmer, and built sets compared file by file.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>

#include "burstloom/sets/build.hpp"
#include "burstloom/sets/set_json.hpp"
#include "support/made_up_set.hpp"

namespace burstloom::testing {

namespace fs = std::filesystem;

inline std::string text_of_file(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// Every file below a folder, by its path.
inline std::map<std::string, std::string> all_files(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file())
      files[fs::relative(entry.path(), folder).string()] = text_of_file(entry.path());
  return files;
}

class Sets : public ::testing::Test {
 protected:
  Sets() {
    char name[] = "/tmp/burstloom-sets-XXXXXX";
    folder_ = ::mkdtemp(name);
    evening_.folder = folder_;
  }
  ~Sets() override { fs::remove_all(folder_); }

  /// A bundled coil, with one line of its profile replaced for each pair.
  void use_coil(const std::string& name,
                const std::vector<std::pair<std::string, std::string>>& changes = {}) {
    std::string text = text_of_file(std::string(BURSTLOOM_SAMPLES "/coils/") + name + ".toml");
    for (const auto& [from, to] : changes) {
      ASSERT_NE(text.find(from), std::string::npos) << from;
      text = replaced(text, from, to);
    }
    std::ofstream(folder_ + "/coil.toml", std::ios::binary) << text;
  }
  /// A coil of MOSFETs, whose losses grow with heat, on a sink so small that seconds warm it as minutes
  /// would.
  void use_warm_mosfets(const std::string& heatsink_c) {
    use_coil("bench-36v", {{"case_heat_capacity_j_per_k = 1.5", "case_heat_capacity_j_per_k = 0.05"},
                           {"sink_to_ambient_k_per_w = 7.0", "sink_to_ambient_k_per_w = 120.0"},
                           {"sink_heat_capacity_j_per_k = 45.0", "sink_heat_capacity_j_per_k = 0.3"},
                           {"heatsink_c = 65.0", "heatsink_c = " + heatsink_c}});
  }
  /// The same of IGBTs.
  void use_warm_igbts(const std::string& heatsink_c) {
    use_coil("half-bridge-325v", {{"case_heat_capacity_j_per_k = 4.0", "case_heat_capacity_j_per_k = 0.5"},
                                  {"sink_to_ambient_k_per_w = 0.9", "sink_to_ambient_k_per_w = 4.0"},
                                  {"sink_heat_capacity_j_per_k = 350.0", "sink_heat_capacity_j_per_k = 8.0"},
                                  {"heatsink_c = 70.0", "heatsink_c = " + heatsink_c}});
  }

  /// Without the rest before a repeat, which takes longest on coils that are warm.
  SetBuild build(BuildOptions options = {}) {
    options.seek_rest = false;
    return build_set(read_set(evening_.set_file()), options);
  }
  [[nodiscard]] std::string out() const { return folder_ + "/out"; }

  std::string folder_;
  EveningFiles evening_;
};

}  // namespace burstloom::testing
