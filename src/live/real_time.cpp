#include "real_time.hpp"

#include <pthread.h>
#include <sched.h>
#include <sys/mman.h>

namespace burstloom {

bool run_in_real_time_at(int priority) noexcept {
  sched_param wanted{};
  wanted.sched_priority = priority;
  return ::pthread_setschedparam(::pthread_self(), SCHED_FIFO, &wanted) == 0;
}

// What is allocated later is not held: the recording grows, and where little may be locked it would find no
// memory.
bool hold_memory() noexcept {
  return ::mlockall(MCL_CURRENT) == 0;
}

}  // namespace burstloom
