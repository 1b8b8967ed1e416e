// Parts as far as they can be told while the music is still being played.
#include <algorithm>

#include "parts.hpp"

namespace burstloom::weave_detail {
namespace {

bool is_free(const Sounding& it) {
  return !it.part_is_stated;
}

template <class Is>
bool any_of(std::span<const Sounding> all, Is is) {
  return std::any_of(all.begin(), all.end(), is);
}

}  // namespace

Part PartsSoFar::part_of(const Sounding& newcomer, Part stated, std::span<const Sounding> on_stage) {
  const auto of_channel = [&](const Sounding& it) { return it.channel == newcomer.channel; };
  if (!any_of(on_stage, [&](const Sounding& it) { return it.key > newcomer.key; }))
    channels_[static_cast<std::size_t>(newcomer.channel)].melodic +=
        newcomer.velocity /
        static_cast<double>(1 + std::count_if(on_stage.begin(), on_stage.end(), of_channel));
  if (stated != Part::any) return stated;
  const bool stated_lead_goes_on =
      stated_lead_ended_s_ + kLineRest_s > newcomer.start_s ||
      any_of(on_stage, [](const Sounding& it) { return it.part == Part::lead && it.part_is_stated; });
  const bool tops_its_channel = !any_of(
      on_stage, [&](const Sounding& it) { return of_channel(it) && is_free(it) && it.key > newcomer.key; });
  if (!stated_lead_goes_on && tops_its_channel && leading_channel(newcomer, on_stage) == newcomer.channel)
    return Part::lead;
  const bool is_over_a_bass = any_of(on_stage, [&](const Sounding& it) {
    return it.key <= newcomer.key || (it.part == Part::bass && it.part_is_stated);
  });
  return is_over_a_bass ? Part::inner : Part::bass;
}

void PartsSoFar::end(int channel, bool stated_lead, double at_s) {
  double& ended_s = stated_lead ? stated_lead_ended_s_ : channels_[static_cast<std::size_t>(channel)].ended_s;
  ended_s = std::max(ended_s, at_s);
}

bool PartsSoFar::goes_on(int channel, double now_s, std::span<const Sounding> on_stage) const {
  return channels_[static_cast<std::size_t>(channel)].ended_s + kLineRest_s > now_s ||
         any_of(on_stage, [&](const Sounding& it) {
           return it.channel == channel && (is_free(it) || it.part == Part::lead);
         });
}

int PartsSoFar::leading_channel(const Sounding& newcomer, std::span<const Sounding> on_stage) const {
  int best = newcomer.channel;
  for (int channel = 0; channel < static_cast<int>(channels_.size()); ++channel)
    if (channels_[static_cast<std::size_t>(channel)].melodic >
            channels_[static_cast<std::size_t>(best)].melodic &&
        goes_on(channel, newcomer.start_s, on_stage))
      best = channel;
  return best;
}

}  // namespace burstloom::weave_detail
