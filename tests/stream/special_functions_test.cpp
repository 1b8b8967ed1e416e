// Published values of functions that not every C++ library has.
#include "burstloom/common/special_functions.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace burstloom {
namespace {

// Abramowitz and Stegun, "Handbook of Mathematical Functions", Table 9.8: exp(-x) I0(x).
TEST(SpecialFunctions, BesselI0IsThatOfTheHandbook) {
  constexpr std::pair<double, double> table[] = {{0.1, 0.9071009258}, {1, 0.4657596076}, {2, 0.3085083226},
                                                 {3.5, 0.222802438},  {5, 0.1835408126}, {8, 0.1434317819},
                                                 {10, 0.1278333372}};
  for (const auto& [x, value] : table) {
    EXPECT_NEAR(std::exp(-x) * bessel_i0(x), value, 6e-11) << x;
    EXPECT_EQ(bessel_i0(-x), bessel_i0(x));
  }
}

// The same, Table 17.1: K and E by the parameter m, the modulus squared.
TEST(SpecialFunctions, EllipticIntegralsAreThoseOfTheHandbook) {
  constexpr double table[][3] = {{0, 1.570796326794897, 1.570796326794897},
                                 {0.1, 1.612441348720219, 1.530757636897763},
                                 {0.5, 1.854074677301372, 1.350643881047676},
                                 {0.9, 2.578092113348173, 1.104774732704073},
                                 {0.99, 3.695637362989875, 1.015993545025224}};
  for (const auto& [m, k, e] : table) {
    EXPECT_NEAR(elliptic_k(std::sqrt(m)), k, 2e-15 * k / (1 - m)) << m;
    EXPECT_NEAR(elliptic_e(std::sqrt(m)), e, 4e-15) << m;
  }
}

// Legendre's relation (the same, 17.3.13) holds all the way to where K has no end.
TEST(SpecialFunctions, EllipticIntegralsKeepLegendresRelation) {
  for (double k = 1e-4; k < 1; k += 0.0099) {
    const double other = std::sqrt((1 - k) * (1 + k));
    const double relation = elliptic_e(k) * elliptic_k(other) + elliptic_e(other) * elliptic_k(k) -
                            elliptic_k(k) * elliptic_k(other);
    EXPECT_NEAR(relation, std::acos(-1.0) / 2, 1e-8 * (k < 0.01 ? 1 : 1e-5)) << k;
  }
}

}  // namespace
}  // namespace burstloom
