// A stand-in until the engine is there: one voice at the shortest on-time, far enough apart for every duty
// window.
#include "burstloom/live/engine.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom {
class LiveEngine::Inside {
 public:
  std::int64_t hz;
  Tick on, spacing, step;
  LiveState state{};
  struct Voice {
    bool down = false;
    double next = 0, period = 0;
    LiveNote note{};
  };
  std::array<Voice, 128> keys{};
  Tick made = 0, last = -(Tick{1} << 40), heard = 0;
};
LiveEngine::LiveEngine(const Profile& profile, const LiveOptions& options)
    : inside_(std::make_unique<Inside>()) {
  auto& in = *inside_;
  in.hz = options.weave.tick_hz;
  const double us = static_cast<double>(in.hz) / 1e6;
  in.on = static_cast<Tick>(std::ceil(profile.limits.on_time_min_us * 1.01 * us));
  double part = 1;
  for (const auto& d : profile.limits.duty) part = std::min(part, d.percent / 100);
  in.spacing =
      static_cast<Tick>(std::max(static_cast<double>(in.on) / part * 1.5,
                                 (profile.limits.gap_us * 1.1 + 1) * us + static_cast<double>(in.on)));
  in.spacing =
      std::max(in.spacing, static_cast<Tick>(us * 1e6 / profile.limits.break_rate_hz.value_or(2000) * 1.2));
  in.step = in.hz / 50'000;
}
LiveEngine::LiveEngine(LiveEngine&&) noexcept = default;
LiveEngine& LiveEngine::operator=(LiveEngine&&) noexcept = default;
LiveEngine::~LiveEngine() = default;
Tick LiveEngine::counts_at(Tick at) const noexcept {
  const auto& in = *inside_;
  at = std::max({at, in.made, in.heard});
  return (at + in.step - 1) / in.step * in.step;
}
void LiveEngine::hear(Tick at, std::span<const std::uint8_t> m) noexcept {
  auto& in = *inside_;
  in.heard = at = counts_at(at);
  if (m.size() == 1 && m[0] == 0xFF) return end_all(at);
  if (m.size() != 3 || (m[0] & 0xF0) > 0x90) return;
  auto& v = in.keys[m[1]];
  if ((m[0] & 0xF0) == 0x90 && m[2] != 0) {
    v.down = true;
    v.next = static_cast<double>(at);
    v.period = static_cast<double>(in.hz) / (440 * std::exp2((m[1] - 69) / 12.0));
    v.note = {static_cast<std::uint32_t>(in.state.notes++),
              at,
              static_cast<std::uint8_t>(m[0] & 15),
              m[1],
              m[2],
              0,
              false};
  } else
    v.down = false;
}
void LiveEngine::end_all(Tick) noexcept {
  for (auto& v : inside_->keys) v.down = false;
}
void LiveEngine::set_longest_on(Tick on) noexcept {
  inside_->state.longest_on_allowed = on;
}
std::size_t LiveEngine::make(Tick until, std::span<LiveBurst> out) noexcept {
  auto& in = *inside_;
  for (std::size_t n = 0;;) {
    Inside::Voice* first = nullptr;
    for (auto& v : in.keys)
      if (v.down && v.next < static_cast<double>(until) && (!first || v.next < first->next)) first = &v;
    if (!first) {
      in.made = std::max(in.made, until);
      return n;
    }
    if (n == out.size()) return n;
    LiveBurst b;
    b.wanted_start = static_cast<Tick>(first->next);
    b.wanted_on = in.on;
    b.note = first->note.note;
    first->next += first->period;
    if (b.wanted_start - in.last >= in.spacing) {
      b.start = in.last = b.wanted_start;
      b.on = in.on;
    } else {
      b.fate = Fate::dropped;
      b.causes = bit(Cause::gap);
    }
    ++in.state.bursts[static_cast<std::size_t>(b.fate)];
    in.made = std::max(in.made, b.wanted_start);
    out[n++] = b;
  }
}
LiveState LiveEngine::state() const noexcept {
  auto s = inside_->state;
  for (auto& v : inside_->keys)
    if (v.down && s.sounding_count < 16) s.sounding[s.sounding_count++] = v.note;
  return s;
}
std::int64_t LiveEngine::tick_hz() const noexcept {
  return inside_->hz;
}
}  // namespace burstloom
