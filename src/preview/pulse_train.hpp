// A stream's bursts as band-limited samples, block by block.
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "burstloom/stream/burst.hpp"
#include "edge_kernel.hpp"

namespace burstloom::preview_detail {

/// Throws Error (usage) unless `rate_hz` is 44 100 to 192 000; bad_input when the stream is out of order or
/// longer than the longest sketch. With both, no sum of ticks and samples overflows.
void require_sampleable(const BurstStream& stream, int rate_hz);

/// The sum over all bursts of weight(burst) (response at its start - response at its end), sampled. Holds a
/// few thousand samples, whatever the stream's length.
class PulseTrain {
 public:
  using Weight = std::function<double(const Burst& burst, std::size_t index)>;

  PulseTrain(const BurstStream& stream, int rate_hz, EdgeKernel kernel, Weight weight);

  [[nodiscard]] int rate_hz() const { return static_cast<int>(rate_hz_); }
  [[nodiscard]] std::int64_t samples() const { return samples_; }
  /// The next samples; less than asked only at the end, then 0.
  std::size_t read(std::span<float> block);
  void rewind();

 private:
  struct Place {
    std::int64_t sample;  // the first sample that an edge touches
    double lead;          // how long after the response's begin that sample stands
  };
  [[nodiscard]] Place place_of(Tick edge) const;
  void add_edges_before(std::int64_t sample);
  void add(Tick edge, double weight);
  void take(std::span<float> block);

  const BurstStream* stream_;
  std::int64_t rate_hz_, samples_;
  EdgeKernel kernel_;
  Weight weight_;
  std::int64_t at_ = 0;          // the sample of pending_[0]
  std::size_t next_ = 0;         // the first edge not yet added: 2 a burst
  double weight_now_ = 0;        // of the burst whose end is next
  double level_ = 0;             // what responses that are through their taps leave
  std::vector<double> pending_;  // begun, not yet taken
  std::vector<double> settled_;  // changes of level_, sample by sample
};

}  // namespace burstloom::preview_detail
