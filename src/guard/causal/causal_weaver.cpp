#include "causal_weaver.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"

namespace burstloom::guard_detail {
namespace {

// The weaver's clock has 32 bits: what is further away than this is out of its sight.
constexpr Tick kInSight = Tick{1} << 30;

std::uint32_t in_sight(Tick cap) {
  return static_cast<std::uint32_t>(std::clamp<Tick>(cap, 0, kInSight));
}

}  // namespace

CausalWeaver::CausalWeaver(const GateLimits& limits) {
  if (limits.on_max + limits.gap >= kInSight)
    throw Error(Fault::usage, "on-times and gaps this long cannot be woven burst by burst",
                "the profile's limits", "weave without --causal");
  weaver_begin(&weaver_, WEAVER_VOICES, static_cast<std::uint32_t>(limits.gap), 0, 1);
}

void CausalWeaver::expect(int voice, Tick wish, Tick cap, Tick now) {
  weaver_voice& it = weaver_.voice[voice];
  it.left = wish - now <= kInSight ? 1 : 0;
  it.next = static_cast<std::uint32_t>(wish);
  it.cap = in_sight(cap);
}

void CausalWeaver::settle(Item& item) {
  const int voice = voice_of(item.voice);
  const Tick wish = wish_of(item);
  weaver_.voice[voice].cap = in_sight(cap_of(item));
  weaver_.free_from = static_cast<std::uint32_t>(std::max(free_from_, wish - kInSight));
  weaver_burst burst{static_cast<std::uint32_t>(wish), static_cast<std::uint32_t>(item.on)};
  if (weaver_settle(&weaver_, static_cast<std::uint8_t>(voice), &burst) == 0)
    return item.drop(bit(Cause::gap));
  item.move_to(wish + static_cast<std::int32_t>(burst.start - static_cast<std::uint32_t>(wish)));
}

}  // namespace burstloom::guard_detail
