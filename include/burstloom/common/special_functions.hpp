// Functions that not every C++ library has.
#pragma once

namespace burstloom {

/// The modified Bessel function of the first kind, of order 0, for |x| up to 700.
[[nodiscard]] double bessel_i0(double x);
/// The complete elliptic integrals of the first and the second kind by their modulus k, 0 to under 1.
[[nodiscard]] double elliptic_k(double k);
[[nodiscard]] double elliptic_e(double k);

}  // namespace burstloom
