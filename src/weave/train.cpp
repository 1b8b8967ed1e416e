#include "train.hpp"

#include <cmath>

namespace burstloom::weave_detail {
namespace {
constexpr double kOne = 4294967296.0;  // 2^32
}

Train::Train(double start_s, double hz, std::int64_t tick_hz) : tick_hz_(static_cast<double>(tick_hz)) {
  whole_ = nearest_tick(start_s, tick_hz);
  set_rate(hz);
}

double Train::period() const {
  return static_cast<double>(period_) / kOne;
}

void Train::set_rate(double hz) {
  if (hz == hz_) return;
  hz_ = hz;
  period_ = static_cast<std::uint64_t>(std::llround(tick_hz_ / hz * kOne));
}

void Train::advance() {
  const std::uint64_t sum = std::uint64_t{fraction_} + (period_ & 0xFFFFFFFFu);
  whole_ += static_cast<Tick>((period_ >> 32) + (sum >> 32));
  fraction_ = static_cast<std::uint32_t>(sum);
}

}  // namespace burstloom::weave_detail
