#include "pulse_train.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "burstloom/common/error.hpp"
#include "burstloom/preview/sound_sketch.hpp"

namespace burstloom::preview_detail {
namespace {

constexpr std::int64_t kBlock = 2048;

}  // namespace

void require_sampleable(const BurstStream& stream, int rate_hz) {
  if (rate_hz < 44'100 || rate_hz > 192'000)
    throw Error(Fault::usage, "a sample rate of " + std::to_string(rate_hz) + " Hz", "",
                "give one from 44100 to 192000 Hz");
  require_in_order(stream, "the stream to be sampled");
  if (stream.seconds(stream.length) > kLongestSketchS)
    throw bad_input("the stream is longer than six hours", "", "take an excerpt of it");
}

PulseTrain::PulseTrain(const BurstStream& stream, int rate_hz, EdgeKernel kernel, Weight weight)
    : stream_(&stream),
      rate_hz_(rate_hz),
      samples_(0),
      kernel_(std::move(kernel)),
      weight_(std::move(weight)) {
  require_sampleable(stream, rate_hz);
  samples_ = (stream.length * rate_hz_ + stream.tick_hz - 1) / stream.tick_hz;
  rewind();
}

void PulseTrain::rewind() {
  at_ = 0;
  next_ = 0;
  level_ = 0;
  pending_.assign(static_cast<std::size_t>(kBlock) + kernel_.taps() + 1, 0.0);
  settled_ = pending_;
}

PulseTrain::Place PulseTrain::place_of(Tick edge) const {
  const std::int64_t whole = edge * rate_hz_ / stream_->tick_hz, rest = edge * rate_hz_ % stream_->tick_hz;
  const double fraction = static_cast<double>(rest) / static_cast<double>(stream_->tick_hz);
  // The response begins kHalfWidth before the edge; the first sample at or after that.
  if (rest == 0) return {whole - kHalfWidth, 0.0};
  return {whole - kHalfWidth + 1, 1.0 - fraction};
}

void PulseTrain::add(Tick edge, double weight) {
  const Place place = place_of(edge);
  const std::int64_t offset = place.sample - at_;
  const auto taps = static_cast<std::int64_t>(kernel_.taps());
  if (offset >= 0) {
    kernel_.add(weight, place.lead,
                std::span(pending_).subspan(static_cast<std::size_t>(offset), kernel_.taps()));
  } else {  // begins before sample 0: what lies before is not heard
    std::vector<double> whole(kernel_.taps(), 0.0);
    kernel_.add(weight, place.lead, whole);
    for (std::int64_t i = -offset; i < taps; ++i)
      pending_[static_cast<std::size_t>(i + offset)] += whole[static_cast<std::size_t>(i)];
  }
  settled_[static_cast<std::size_t>(std::max<std::int64_t>(offset + taps, 0))] += weight * kernel_.rest();
}

void PulseTrain::add_edges_before(std::int64_t sample) {
  const auto& bursts = stream_->bursts;
  for (; next_ < 2 * bursts.size(); ++next_) {
    const Burst& burst = bursts[next_ / 2];
    const bool ends = next_ % 2 == 1;
    const Tick edge = ends ? burst.end() : burst.start;
    if (place_of(edge).sample >= sample) return;
    if (!ends) weight_now_ = weight_(burst, next_ / 2);
    add(edge, ends ? -weight_now_ : weight_now_);
  }
}

void PulseTrain::take(std::span<float> block) {
  for (std::size_t i = 0; i < block.size(); ++i) {
    level_ += settled_[i];
    block[i] = static_cast<float>(level_ + pending_[i]);
  }
  for (auto* line : {&pending_, &settled_}) {
    const auto keep = std::move(line->begin() + std::ssize(block), line->end(), line->begin());
    std::fill(keep, line->end(), 0.0);
  }
  at_ += std::ssize(block);
}

std::size_t PulseTrain::read(std::span<float> block) {
  std::size_t done = 0;
  while (done < block.size() && at_ < samples_) {
    const std::int64_t count =
        std::min({kBlock, samples_ - at_, std::ssize(block) - static_cast<std::int64_t>(done)});
    add_edges_before(at_ + count);
    take(block.subspan(done, static_cast<std::size_t>(count)));
    done += static_cast<std::size_t>(count);
  }
  return done;
}

}  // namespace burstloom::preview_detail
