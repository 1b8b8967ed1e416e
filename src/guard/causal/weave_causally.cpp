// Placement as a player does it, one burst after the other.
#include <algorithm>
#include <array>
#include <tuple>

#include "causal_weaver.hpp"

namespace burstloom::guard_detail {
namespace {

class Weaving {
 public:
  Weaving(std::vector<Item>& items, const GateLimits& limits) : items_(items), weaver_(limits) {
    for (std::size_t i = 0; i < items.size(); ++i) of_voice_[voice_of(items[i])].push_back(i);
  }

  /// Settles the next of the items.
  void settle(Item& item) {
    const std::size_t voice = voice_of(item);
    ++settled_[voice];
    look_out(CausalWeaver::wish_of(item), voice);
    weaver_.settle(item);
    if (!item.dropped()) weaver_.made(item);
  }

 private:
  static std::size_t voice_of(const Item& item) {
    return static_cast<std::size_t>(CausalWeaver::voice_of(item.voice));
  }

  // Shows the weaver what the voices before `voice` want next.
  void look_out(Tick now, std::size_t voice) {
    for (std::size_t v = 0; v < voice; ++v) {
      if (settled_[v] == of_voice_[v].size()) {
        weaver_.expect_nothing(static_cast<int>(v));
        continue;
      }
      const Item& next = items_[of_voice_[v][settled_[v]]];
      weaver_.expect(static_cast<int>(v), CausalWeaver::wish_of(next), CausalWeaver::cap_of(next), now);
    }
  }

  const std::vector<Item>& items_;
  CausalWeaver weaver_;
  std::array<std::vector<std::size_t>, WEAVER_VOICES> of_voice_;
  std::array<std::size_t, WEAVER_VOICES> settled_{};
};

}  // namespace

void weave_causally(Line& line, const GateLimits& limits) {
  std::stable_sort(line.items.begin(), line.items.end(), [](const Item& a, const Item& b) {
    return std::tuple(CausalWeaver::wish_of(a), CausalWeaver::voice_of(a.voice)) <
           std::tuple(CausalWeaver::wish_of(b), CausalWeaver::voice_of(b.voice));
  });
  Weaving weaving(line.items, limits);
  for (Item& item : line.items) weaving.settle(item);
  line.take_out_dropped();
}

}  // namespace burstloom::guard_detail
