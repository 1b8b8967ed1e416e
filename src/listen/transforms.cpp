#include "transforms.hpp"

#include <kissfft/kissfft.hh>

#include <algorithm>
#include <complex>
#include <type_traits>

namespace burstloom {
namespace {

template <typename T>
concept Number = std::is_arithmetic_v<T>;

// Four frames' numbers as the one number that KissFFT's template computes with.
class Lanes {
 public:
  Lanes() = default;
  Lanes(Four values) : values_(values) {}
  template <Number T>
  Lanes(T value) : values_(Four{} + static_cast<float>(value)) {}
  [[nodiscard]] Four values() const { return values_; }
  /// For angles, which are the same in all lanes.
  operator float() const { return values_[0]; }

  Lanes operator-() const { return -values_; }
  Lanes& operator+=(Lanes other) { return values_ += other.values_, *this; }
  Lanes& operator-=(Lanes other) { return values_ -= other.values_, *this; }
  Lanes& operator*=(Lanes other) { return values_ *= other.values_, *this; }
  friend Lanes operator+(Lanes a, Lanes b) { return a.values_ + b.values_; }
  friend Lanes operator-(Lanes a, Lanes b) { return a.values_ - b.values_; }
  friend Lanes operator*(Lanes a, Lanes b) { return a.values_ * b.values_; }
  template <Number T>
  friend Lanes operator*(T a, Lanes b) {
    return Lanes(a) * b;
  }
  template <Number T>
  friend Lanes operator*(Lanes a, T b) {
    return a * Lanes(b);
  }
  template <Number T>
  friend Lanes operator/(Lanes a, T b) {
    return a.values_ / Lanes(b).values_;
  }

 private:
  Four values_{};
};

}  // namespace

struct Transforms::State {
  explicit State(std::size_t size) : transform(size / 2, false), samples(size), lines(size / 2) {}
  kissfft<Lanes> transform;
  std::vector<Lanes> samples;
  std::vector<std::complex<Lanes>> lines;
};

Transforms::Transforms(std::size_t size) : state_(std::make_unique<State>(size)), lines_(size / 2 + 1) {}
Transforms::~Transforms() = default;

std::span<const FourComplex> Transforms::operator()(std::span<const Four> samples) {
  std::copy(samples.begin(), samples.end(), state_->samples.begin());
  state_->transform.transform_real(state_->samples.data(), state_->lines.data());
  for (std::size_t k = 1; k < state_->lines.size(); ++k)
    lines_[k] = {state_->lines[k].real().values(), state_->lines[k].imag().values()};
  // The first and the last line are real: KissFFT has them side by side.
  lines_.front() = {state_->lines[0].real().values(), Four{}};
  lines_.back() = {state_->lines[0].imag().values(), Four{}};
  return lines_;
}

std::size_t Transforms::fast_size(std::size_t least) {
  for (std::size_t half = (least + 1) / 2;; ++half) {
    std::size_t left = half;
    for (const std::size_t factor : {2, 3, 5})
      while (left % factor == 0) left /= factor;
    if (left == 1) return 2 * half;
  }
}

}  // namespace burstloom
