// The law of the edges, with y the sound after a high-pass at 60 Hz and L its running level:
//
//      y                      fires: rising through +L/2, armed
//      |        .--.          .--.
//   +L/2 - - - / - -\ - - - -/- - \ - - -
//      |      /      \      /      \            L: root of the mean square, mean over 20 ms (exponential)
//   -L/2 - - / - - - -\- - / - - - -\- -        below -50 dBFS nothing fires, and the trigger is armed
//      |               `--'          `-         a ripple between the two lines never fires
//                      armed: below -L/2
//
// Arming and firing take a sample each, so there is at most one moment in two samples.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "burstloom/listen/listen.hpp"
#include "usable.hpp"

namespace burstloom {
namespace {

constexpr double high_pass_hz = 60.0;
constexpr double level_time_s = 0.020;
constexpr double threshold_of_level = 0.5;
constexpr double silence_level = 0.0031623;  // -50 dBFS, root mean square
constexpr double longest_period_s = 1.0 / high_pass_hz;

/// Second-order Butterworth high-pass by the bilinear transform, direct form II transposed.
class HighPass {
 public:
  HighPass(double corner_hz, double rate_hz) {
    const double k = std::tan(std::numbers::pi * corner_hz / rate_hz);
    const double norm = 1.0 / (1.0 + std::numbers::sqrt2 * k + k * k);
    gain_ = norm;
    a1_ = 2.0 * (k * k - 1.0) * norm;
    a2_ = (1.0 - std::numbers::sqrt2 * k + k * k) * norm;
  }

  double operator()(double x) {
    const double y = gain_ * x + s1_;
    s1_ = -2.0 * gain_ * x - a1_ * y + s2_;
    s2_ = gain_ * x - a2_ * y;
    return y;
  }

 private:
  double gain_ = 1, a1_ = 0, a2_ = 0, s1_ = 0, s2_ = 0;
};

class RunningLevel {
 public:
  explicit RunningLevel(double rate_hz) : keep_(std::exp(-1.0 / (level_time_s * rate_hz))) {}
  double operator()(double y) {
    square_ = keep_ * square_ + (1.0 - keep_) * y * y;
    return std::sqrt(square_);
  }

 private:
  double keep_, square_ = 0;
};

/// The trigger of the drawing above. Returns where between the sample before (0) and this one (1) the
/// threshold was crossed, or a negative number.
class Trigger {
 public:
  double operator()(double y, double level) {
    const double over = y - threshold_of_level * level;
    const double over_before = over_before_;
    over_before_ = over;
    if (level < silence_level || y <= -threshold_of_level * level) armed_ = true;
    if (!armed_ || level < silence_level || over < 0 || over_before >= 0) return -1;
    armed_ = false;
    return over_before / (over_before - over);
  }

 private:
  bool armed_ = true;
  double over_before_ = 0;
};

double period_before(const std::vector<Moment>& moments, double at_s) {
  return moments.empty() ? longest_period_s : std::min(longest_period_s, at_s - moments.back().at_s);
}

/// Levels become strengths once the loudest is known.
void scale_strengths(std::vector<Moment>& moments, double loudest) {
  for (Moment& m : moments) m.strength = strength_of(m.strength, loudest);
}

}  // namespace

Heard listen_edges(const SoundSource& sound) {
  require_usable_rate(sound.rate_hz());
  const double rate = sound.rate_hz();
  HighPass high_pass(high_pass_hz, rate);
  RunningLevel running_level(rate);
  Trigger trigger;
  Moments heard;
  double loudest = 0;
  std::int64_t n = 0;
  const auto reader = sound.reader();
  for (auto block = reader->next(); !block.empty(); block = reader->next())
    for (const float sample : block) {
      const double before = static_cast<double>(n++) - 1.0;
      const double y = high_pass(static_cast<double>(usable_or_zero(sample)));
      const double level = running_level(y);
      loudest = std::max(loudest, level);
      const double crossed = trigger(y, level);
      if (crossed < 0) continue;
      const double at_s = std::max(0.0, (before + crossed) / rate);
      heard.moments.push_back({at_s, level, period_before(heard.moments, at_s)});
    }
  scale_strengths(heard.moments, loudest);
  return heard;
}

}  // namespace burstloom
