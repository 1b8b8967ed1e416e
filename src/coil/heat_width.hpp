// The step's loops: two modes at a time, and a fixed number of pairs for the compiler to unroll.
#pragma once

#include <array>
#include <cstring>

namespace burstloom {

/// Two doubles that are computed with in one instruction (an extension that g++ and clang share).
using Pair = double __attribute__((vector_size(16)));

[[nodiscard]] inline Pair load(const double* from) {
  Pair pair;
  std::memcpy(&pair, from, sizeof pair);
  return pair;
}
inline void store(double* to, Pair pair) {
  std::memcpy(to, &pair, sizeof pair);
}

/// One number for each mode, in registers where P is small.
template <int P>
struct Lanes {
  Pair pair[P];
};
template <int P>
[[nodiscard, gnu::always_inline]] inline Lanes<P> load_lanes(const double* from) {
  Lanes<P> lanes;
  for (int i = 0; i < P; ++i) lanes.pair[i] = load(from + 2 * i);
  return lanes;
}
template <int P>
[[gnu::always_inline]] inline void store_lanes(double* to, const Lanes<P>& lanes) {
  for (int i = 0; i < P; ++i) store(to + 2 * i, lanes.pair[i]);
}

/// The numbers of pairs for which the step is compiled.
inline constexpr std::array<int, 5> kPairs = {2, 3, 4, 6, 10};

[[nodiscard]] inline int pairs_for(int modes) {
  for (const int pairs : kPairs)
    if (2 * pairs >= modes) return pairs;
  return kPairs.back();
}

/// Calls `with.template operator()<P>()` for so many pairs.
template <class With>
decltype(auto) for_pairs(int pairs, With with) {
  switch (pairs) {
    case 2:
      return with.template operator()<2>();
    case 3:
      return with.template operator()<3>();
    case 4:
      return with.template operator()<4>();
    case 6:
      return with.template operator()<6>();
    default:
      return with.template operator()<10>();
  }
}

}  // namespace burstloom
