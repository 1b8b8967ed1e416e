// The switches' heat as the bursts made so far leave it.
#pragma once

#include "burdens.hpp"

namespace burstloom::guard_detail {

class LiveHeat {
 public:
  /// Only for limits that have a heat(), and outlive this.
  LiveHeat(const Burdens& limits, Tick on_min);

  /// Over the last tenth of the sink's allowed rise a burst's loss shrinks, and with it the on-time.
  void spare_the_sink(Item& item) const;
  /// Makes the item as long as heat allows, or drops it; if it stays, it is made.
  void make(Item& item);
  struct Temperatures {
    double junction_c = 0, sink_c = 0;
  };
  [[nodiscard]] Temperatures at(Tick now) const;

 private:
  const Burdens& limits_;
  Thermal state_;
  Tick on_min_, end_ = 0;  // of the last burst
};

}  // namespace burstloom::guard_detail
