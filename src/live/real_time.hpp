// What a thread asks of the machine so that nothing keeps it waiting.
#pragma once

namespace burstloom {

/// The thread that calls runs ahead of all ordinary ones (SCHED_FIFO) at `priority`, 1 to 99; false where
/// that is not allowed.
[[nodiscard]] bool run_in_real_time_at(int priority) noexcept;
/// All memory that the program has now stays where it is (mlockall); false where that is not allowed.
[[nodiscard]] bool hold_memory() noexcept;

}  // namespace burstloom
