<<<<<<< HEAD
// Counts what this thread allocates, for code that must not.
=======
// Counts what this thread allocates: real-time code must not.
>>>>>>> main
#pragma once

#include <cstdint>

namespace burstloom::testing {

<<<<<<< HEAD
/// Allocations of the calling thread since it began, through `operator new`.
[[nodiscard]] std::int64_t allocations() noexcept;
=======
/// Calls of operator new on this thread since it began.
std::int64_t allocations();
>>>>>>> main

}  // namespace burstloom::testing
