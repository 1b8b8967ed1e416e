// Counts what this thread allocates, for code that must not.
#pragma once

#include <cstdint>

namespace burstloom::testing {

/// Allocations of the calling thread since it began, through `operator new`.
[[nodiscard]] std::int64_t allocations() noexcept;

}  // namespace burstloom::testing
