// Ctrl-C, a closed terminal or a plain kill end what plays in good order.
#pragma once

#include <csignal>
#include <iterator>

namespace burstloom::command {

/// While it lives these signals are only noted.
class StopOnSignals {
 public:
  StopOnSignals() {
    asked_ = 0;
    struct sigaction action {};
    action.sa_handler = [](int) { asked_ = 1; };
    for (std::size_t i = 0; i < std::size(kSignals); ++i) ::sigaction(kSignals[i], &action, &before_[i]);
  }
  StopOnSignals(const StopOnSignals&) = delete;
  StopOnSignals& operator=(const StopOnSignals&) = delete;
  ~StopOnSignals() {
    for (std::size_t i = 0; i < std::size(kSignals); ++i) ::sigaction(kSignals[i], &before_[i], nullptr);
  }
  [[nodiscard]] static bool asked() { return asked_ != 0; }

 private:
  static constexpr int kSignals[] = {SIGINT, SIGTERM, SIGHUP};
  inline static volatile std::sig_atomic_t asked_ = 0;
  struct sigaction before_[std::size(kSignals)];
};

}  // namespace burstloom::command
