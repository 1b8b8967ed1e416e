// The parts that every exported header and project is put together from.
#pragma once

#include <functional>
#include <string_view>

#include "encode.hpp"

namespace burstloom::table_detail {

/// "#define BURST_TABLE_<name> <value>" and the end of the line.
[[nodiscard]] std::string define(const char* name, const std::string& value);

/// The limits compiled in, in lines of a C comment under way; `rest` says what the rest is kept before.
[[nodiscard]] std::string limits_kept(const CompiledLimits& limits, std::int64_t tick_hz,
                                      const std::string& rest);

/// A whole header: `about` and the cautions as a comment, `definitions`, the bytes of table or image.
[[nodiscard]] std::string header_text(const std::string& about, const std::string& definitions,
                                      const Bytes& table);

/// What a README says of limits, memory and cautions.
struct MemoryUse {
  std::int64_t flash_used = 0, flash_of = 0, ram_used = 0, ram_of = 0;
};
[[nodiscard]] std::string readme_facts(const CompiledLimits& limits, std::int64_t tick_hz,
                                       const std::string& rest, const MemoryUse& use);

inline constexpr const char* kReadme = "README.md";

/// Header, README and, of the files that the program carries, each at the place that it has in the project;
/// none: it stays out. What comes to the README is its second part.
[[nodiscard]] std::vector<FolderFile> laid_out(const std::string& header, const std::string& readme,
                                               const std::function<std::string(std::string_view)>& place_of);

/// The header with player, port, build file and README, whose second part is the port's.
[[nodiscard]] std::vector<FolderFile> project_files(const std::string& header, const std::string& readme,
                                                    const Target& target);

}  // namespace burstloom::table_detail
