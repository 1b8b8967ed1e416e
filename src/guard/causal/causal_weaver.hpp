// The player's own weaver (firmware-out/player/weaver.h), over whole moments of any size.
#pragma once

#include "line.hpp"

extern "C" {
#include "weaver.h"
}

namespace burstloom::guard_detail {

/// A burst that is due while the coil is not free waits, and goes where it would wait for longer than its cap
/// or would bring a voice before its own past that one's cap.
class CausalWeaver {
 public:
  /// Throws Error (usage) where on-time and gap together are too long for the weaver's clock.
  CausalWeaver(const GateLimits& limits);

  /// What a voice wants next, seen from the burst that is to be settled at `now`. Voices from WEAVER_VOICES
  /// on count as the last.
  void expect(int voice, Tick wish, Tick cap, Tick now);
  void expect_nothing(int voice) { weaver_.voice[voice].left = 0; }
  /// Moves the item to where it can be made, or drops it.
  void settle(Item& item);
  /// The item is being made.
  void made(const Item& item) { free_from_ = item.end() + weaver_.gap; }

  [[nodiscard]] static int voice_of(int voice) { return voice < WEAVER_VOICES ? voice : WEAVER_VOICES - 1; }
  [[nodiscard]] static Tick wish_of(const Item& item) { return item.start > 0 ? item.start : 0; }
  /// How long it may wait: what lies before the start of the song has waited already.
  [[nodiscard]] static Tick cap_of(const Item& item) { return item.cap - (wish_of(item) - item.start); }

 private:
  weaver weaver_{};
  Tick free_from_ = 0;
};

}  // namespace burstloom::guard_detail
