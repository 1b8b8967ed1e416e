// Placement as a player does it, with the player's own weaver (firmware-out/player/weaver.h): a burst that is
// due while the coil is not free waits, and goes where it would wait for longer than its cap or would bring a
// voice before its own past that one's cap.
#include <algorithm>
#include <array>
#include <tuple>

#include "burstloom/common/error.hpp"
#include "line.hpp"

extern "C" {
#include "weaver.h"
}

namespace burstloom::guard_detail {
namespace {

// The weaver's clock has 32 bits: what is further away than this is out of its sight.
constexpr Tick kInSight = Tick{1} << 30;

std::uint8_t voice_of(const Item& item) {
  return static_cast<std::uint8_t>(std::min<int>(item.voice, WEAVER_VOICES - 1));
}

Tick wish_of(const Item& item) {
  return std::max<Tick>(0, item.start);
}

// How long it may wait: what lies before the start of the song has waited already.
std::uint32_t cap_of(const Item& item) {
  return static_cast<std::uint32_t>(std::min(item.cap - (wish_of(item) - item.start), kInSight));
}

class Weaving {
 public:
  Weaving(std::vector<Item>& items, Tick gap) : items_(items) {
    weaver_begin(&weaver_, WEAVER_VOICES, static_cast<std::uint32_t>(gap), 0, 1);
    for (std::size_t i = 0; i < items.size(); ++i) of_voice_[voice_of(items[i])].push_back(i);
  }

  /// Settles the next of the items.
  void settle(Item& item) {
    const std::uint8_t voice = voice_of(item);
    ++settled_[voice];
    const Tick wish = wish_of(item);
    look_out(wish, voice);
    weaver_.voice[voice].cap = cap_of(item);
    weaver_.free_from = static_cast<std::uint32_t>(std::max(free_from_, wish - kInSight));
    weaver_burst burst{static_cast<std::uint32_t>(wish), static_cast<std::uint32_t>(item.on)};
    if (weaver_settle(&weaver_, voice, &burst) == 0) return item.drop(bit(Cause::gap));
    item.start = wish + static_cast<std::int32_t>(burst.start - static_cast<std::uint32_t>(wish));
    free_from_ = item.end() + weaver_.gap;
  }

 private:
  // Shows the weaver what the voices before `voice` want next.
  void look_out(Tick now, std::uint8_t voice) {
    for (std::uint8_t v = 0; v < voice; ++v) {
      weaver_voice& it = weaver_.voice[v];
      it.left = 0;
      if (settled_[v] == of_voice_[v].size()) continue;
      const Item& next = items_[of_voice_[v][settled_[v]]];
      if (wish_of(next) - now > kInSight) continue;
      it.left = 1;
      it.next = static_cast<std::uint32_t>(wish_of(next));
      it.cap = cap_of(next);
    }
  }

  const std::vector<Item>& items_;
  weaver weaver_{};
  Tick free_from_ = 0;
  std::array<std::vector<std::size_t>, WEAVER_VOICES> of_voice_;
  std::array<std::size_t, WEAVER_VOICES> settled_{};
};

}  // namespace

void weave_causally(Line& line, const GateLimits& limits) {
  if (limits.on_max + limits.gap >= kInSight)
    throw Error(Fault::usage, "on-times and gaps this long cannot be woven burst by burst",
                "the profile's limits", "weave without --causal");
  std::stable_sort(line.items.begin(), line.items.end(), [](const Item& a, const Item& b) {
    return std::tuple(wish_of(a), voice_of(a)) < std::tuple(wish_of(b), voice_of(b));
  });
  Weaving weaving(line.items, limits.gap);
  for (Item& item : line.items) weaving.settle(item);
  line.take_out_dropped();
}

}  // namespace burstloom::guard_detail
