// Two ways to hand values from one thread to another without a lock and without allocating: all of them in
// order (Ring), or only the newest (Latest). Each has one writing and one reading thread.
#pragma once

#include <array>
#include <atomic>
#include <bit>
#include <cstddef>
#include <vector>

namespace burstloom {

/// A bounded queue. All its memory is taken, and touched, when it is made.
template <typename T>
class Ring {
 public:
  explicit Ring(std::size_t at_least) : cells_(std::bit_ceil(at_least)) {}

  /// False, and nothing kept, when it is full.
  [[nodiscard]] bool push(const T& value) noexcept {
    if (full()) return false;
    const std::size_t at = written_.load(std::memory_order_relaxed);
    cells_[at & (cells_.size() - 1)] = value;
    written_.store(at + 1, std::memory_order_release);
    return true;
  }
  /// For the writing thread: whether the next `push` would fail.
  [[nodiscard]] bool full() const noexcept {
    return written_.load(std::memory_order_relaxed) - read_.load(std::memory_order_acquire) == cells_.size();
  }
  /// False when it is empty.
  [[nodiscard]] bool pop(T& value) noexcept {
    const std::size_t at = read_.load(std::memory_order_relaxed);
    if (at == written_.load(std::memory_order_acquire)) return false;
    value = cells_[at & (cells_.size() - 1)];
    read_.store(at + 1, std::memory_order_release);
    return true;
  }

 private:
  std::vector<T> cells_;
  // Apart, so that the two threads do not fight over one cache line.
  alignas(64) std::atomic<std::size_t> written_{0};
  alignas(64) std::atomic<std::size_t> read_{0};
};

/// The newest value only. Three cells: one is being written, one is being read, one lies between and is
/// swapped with either; `fresh` in its number says that it has not been read.
template <typename T>
class Latest {
 public:
  void write(const T& value) noexcept {
    cells_[writing_] = value;
    writing_ = between_.exchange(writing_ | kFresh, std::memory_order_acq_rel) & ~kFresh;
  }
  /// The newest value written so far; T{} before the first. Good until the next `read`.
  [[nodiscard]] const T& read() noexcept {
    if ((between_.load(std::memory_order_relaxed) & kFresh) != 0)
      reading_ = between_.exchange(reading_, std::memory_order_acq_rel) & ~kFresh;
    return cells_[reading_];
  }

 private:
  static constexpr unsigned kFresh = 4;
  std::array<T, 3> cells_{};
  unsigned writing_ = 0, reading_ = 1;
  std::atomic<unsigned> between_{2};
};

}  // namespace burstloom
