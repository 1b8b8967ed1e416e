// Counts what this thread allocates: real-time code must not.
#pragma once

#include <cstdint>

namespace burstloom::testing {

/// Calls of operator new on this thread since it began.
std::int64_t allocations();

}  // namespace burstloom::testing
