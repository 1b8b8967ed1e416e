// Wakes one waiting thread. Ringing neither locks nor waits, so that real-time threads may.
#pragma once

#include <semaphore.h>

#include <atomic>

namespace burstloom {

class Bell {
 public:
  Bell();
  Bell(const Bell&) = delete;
  Bell& operator=(const Bell&) = delete;
  ~Bell();

  /// Rung several times before anybody waits counts once.
  void ring() noexcept;
  /// Until it is rung, or was since the last wait, at most `longest_s`.
  void wait(double longest_s) noexcept;

 private:
  sem_t semaphore_;
  std::atomic<bool> rung_{false};
};

}  // namespace burstloom
