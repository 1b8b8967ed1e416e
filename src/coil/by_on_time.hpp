// What follows from an on-time, remembered: songs have few different ones, and figures cost more than sums.
#pragma once

#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom {

template <class Value>
class ByOnTime {
 public:
  /// What `make(on)` gave when it was asked last; `on` >= 0.
  template <class Make>
  [[nodiscard]] const Value& of(Tick on, Make make) {
    Place& place = places_[static_cast<std::size_t>(on) % kPlaces];
    if (place.on != on) place = {on, make(on)};
    return place.value;
  }

 private:
  static constexpr std::size_t kPlaces = 4096;
  struct Place {
    Tick on = -1;
    Value value{};
  };
  std::vector<Place> places_ = std::vector<Place>(kPlaces);
};

}  // namespace burstloom
