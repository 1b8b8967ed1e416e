#include "tempo.hpp"

namespace burstloom::midi_detail {
namespace {

constexpr double kDefaultTempoUs = 500000;  // 120 quarter notes a minute where a file gives no tempo

double smpte_ticks_a_second(std::uint16_t division) {
  const int frames = -static_cast<std::int8_t>(division >> 8);
  const double frames_a_second = frames == 29 ? 30000.0 / 1001.0 : frames;  // 29 stands for 30 drop-frame
  return frames_a_second * (division & 0xFF);
}

}  // namespace

TempoMap::TempoMap(std::uint16_t division)
    : unit_(division < 0x8000 ? 1e6 * division : smpte_ticks_a_second(division)),
      us_(division < 0x8000 ? kDefaultTempoUs : 1),
      has_tempo_(division < 0x8000) {}

void TempoMap::set_tempo(std::uint64_t tick, std::uint32_t us) {
  if (!has_tempo_) return;
  sum_ += static_cast<double>(tick - since_) * us_;
  since_ = tick;
  us_ = us;
}

}  // namespace burstloom::midi_detail
