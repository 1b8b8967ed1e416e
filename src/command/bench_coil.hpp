// The bench coil: the user's own, named once with `burstloom coil use`. The configuration folder keeps a copy
// of its profile, which stays when the original is moved, edited by mistake or on a drive that is not there.
#pragma once

#include <optional>
#include <string>

#include "burstloom/coil/profile.hpp"

namespace burstloom::command {

struct BenchCoil {
  Profile profile;
  std::string original;  ///< the absolute path of what was copied
};

/// "bench-coil.toml" in $XDG_CONFIG_HOME/burstloom, else in ~/.config/burstloom; empty where neither is set.
[[nodiscard]] std::string bench_coil_path();

/// Nothing where none was named. Throws Error where one was, and its copy cannot be read (machine) or is not
/// as it was written (bad_input): another coil's limits never take its place.
[[nodiscard]] std::optional<BenchCoil> bench_coil();

/// Whether the original is there and has another text than the copy.
[[nodiscard]] bool has_changed(const BenchCoil& coil);

/// Copies the profile at `path`. Throws Error: a profile that cannot be read, no configuration folder.
[[nodiscard]] BenchCoil use_bench_coil(const std::string& path);

/// Whether there was one.
bool forget_bench_coil();

}  // namespace burstloom::command
