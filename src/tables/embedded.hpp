// The player's sources, embedded at build time by firmware-out/CMakeLists.txt.
#pragma once

#include <span>
#include <string_view>

namespace burstloom {

struct EmbeddedFile {
  std::string_view path;  ///< below firmware-out/, '/' between parts
  std::string_view content;
};

[[nodiscard]] std::span<const EmbeddedFile> embedded_files();

}  // namespace burstloom
