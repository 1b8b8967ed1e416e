#include "burstloom/live/bell.hpp"

#include <ctime>

namespace burstloom {

Bell::Bell() {
  ::sem_init(&semaphore_, 0, 0);
}
Bell::~Bell() {
  ::sem_destroy(&semaphore_);
}

void Bell::ring() noexcept {
  if (!rung_.exchange(true)) ::sem_post(&semaphore_);
}

void Bell::wait(double longest_s) noexcept {
  timespec until{};
  ::clock_gettime(CLOCK_MONOTONIC, &until);
  const auto ns = until.tv_nsec + static_cast<long>(longest_s * 1e9);
  until.tv_sec += ns / 1'000'000'000;
  until.tv_nsec = ns % 1'000'000'000;
  // Exchanged, not stored: who rings after this sees it, and what was done before the ring is seen here.
  if (::sem_clockwait(&semaphore_, CLOCK_MONOTONIC, &until) == 0) (void)rung_.exchange(false);
}

}  // namespace burstloom
