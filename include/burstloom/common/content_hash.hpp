// A short name for what a file holds.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace burstloom {

/// 128 bits of XXH3 as 32 hexadecimal digits. Meant to notice changes, not forgeries.
[[nodiscard]] std::string content_hash(std::span<const std::uint8_t> bytes);
[[nodiscard]] std::string content_hash(std::string_view text);

}  // namespace burstloom
