#include "voice_loads.hpp"

#include <algorithm>

namespace burstloom::guard_detail {

void VoiceLoads::update(std::span<const VoiceRequest> requests, Tick longest_on) {
  count_ = 0;
  const auto closest = static_cast<double>(limits_.on_min + limits_.gap);
  for (const VoiceRequest& request : requests.first(std::min(requests.size(), kMostVoices))) {
    const Tick on =
        std::clamp(request.next.on + limits_.stretch, std::min(limits_.on_min, longest_on), longest_on);
    loads_[count_++] = {.period = std::max(request.period, closest),
                        .on = static_cast<double>(on),
                        .weight = request.next.weight,
                        .voice = request.next.voice};
  }
  std::sort(loads_.begin(), loads_.begin() + static_cast<std::ptrdiff_t>(count_),
            [](const VoiceLoad& a, const VoiceLoad& b) {
              return a.weight != b.weight ? a.weight > b.weight : a.voice < b.voice;
            });
  for (const CountLimit& limit : counts_) share(limit);
}

// Leaves each voice the part of its bursts for which those before it leave room.
void VoiceLoads::share(const CountLimit& limit) {
  double room = static_cast<double>(limit.most) * kHeadroom;
  for (VoiceLoad& load : std::span(loads_).first(count_)) {
    const double bursts = static_cast<double>(limit.window) / load.period;
    load.kept = std::min(load.kept, std::clamp(room / bursts, 0.0, 1.0));
    room -= load.kept * bursts;
  }
}

double VoiceLoads::kept_of(std::uint16_t voice) const {
  for (const VoiceLoad& load : all())
    if (load.voice == voice) return load.kept;
  return 1;
}

Causes VoiceLoads::decimated_by() const {
  const auto rate = [](const CountLimit& limit) {
    return static_cast<double>(limit.most) / static_cast<double>(limit.window);
  };
  const auto tightest =
      std::min_element(counts_.begin(), counts_.end(),
                       [&](const CountLimit& a, const CountLimit& b) { return rate(a) < rate(b); });
  return tightest == counts_.end() ? Causes{0} : tightest->cause;
}

double gain_for(double least, double full, double most) {
  if (full <= most) return 1;
  return full > least ? std::clamp((most - least) / (full - least), 0.0, 1.0) : 1;
}

}  // namespace burstloom::guard_detail
