#include "pitch_path.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

namespace burstloom {
namespace {

// Found by trial on synthesised lines with vibrato, slides and octave leaps (tests/listen/follow_line.cpp).
constexpr float unvoiced_cost = 0.25F;
constexpr float not_chosen_cost = 0.1F;
constexpr float leap_cost_an_octave = 0.5F;
constexpr float widest_leap_cost = 0.4F;
constexpr float voicing_change_cost = 0.15F;

/// A frame's states: the first is "no pitch", then its candidates.
struct State {
  float log_period = 0;
  float cost = 0;
};

struct Column {
  std::vector<State> states;
  std::vector<float> sum;
};

void fill(Column& column, const FrameCandidates& from, std::size_t frame) {
  column.states.assign(1, {0, unvoiced_cost});
  for (std::size_t i = from.begin[frame]; i < from.begin[frame + 1]; ++i) {
    const Candidate& c = from.all[i];
    column.states.push_back(
        {std::log2(c.period_s), c.aperiodicity + (c.chosen_by_threshold ? 0.0F : not_chosen_cost)});
  }
}

float change_cost(const Column& before, std::size_t i, const Column& now, std::size_t j) {
  if (i == 0 && j == 0) return 0;
  if (i == 0 || j == 0) return voicing_change_cost;
  const float octaves = std::abs(before.states[i].log_period - now.states[j].log_period);
  return std::min(widest_leap_cost, leap_cost_an_octave * octaves);
}

/// Cheapest sums of one frame from those of the frame before; returns the state each came from.
void step(const Column& before, Column& now, std::vector<std::uint8_t>& came_from) {
  now.sum.assign(now.states.size(), std::numeric_limits<float>::max());
  const float base = *std::min_element(before.sum.begin(), before.sum.end());  // keeps sums small over hours
  for (std::size_t j = 0; j < now.states.size(); ++j) {
    std::uint8_t best = 0;
    for (std::size_t i = 0; i < before.states.size(); ++i) {
      const float sum = before.sum[i] - base + change_cost(before, i, now, j) + now.states[j].cost;
      if (sum >= now.sum[j]) continue;
      now.sum[j] = sum;
      best = static_cast<std::uint8_t>(i);
    }
    came_from.push_back(best);
  }
}

/// For every state of every frame, the state before it on the cheapest way there; `end` gets the last
/// frame's.
std::vector<std::uint8_t> forward(const FrameCandidates& candidates, std::size_t& end) {
  std::vector<std::uint8_t> came_from;
  came_from.reserve(candidates.all.size() + candidates.frames());
  Column before, now;
  before.states.assign(1, {});
  before.sum.assign(1, 0.0F);
  for (std::size_t frame = 0; frame < candidates.frames(); ++frame) {
    fill(now, candidates, frame);
    step(before, now, came_from);
    std::swap(before, now);
  }
  end = static_cast<std::size_t>(std::min_element(before.sum.begin(), before.sum.end()) - before.sum.begin());
  return came_from;
}

void take_out_short_runs(std::vector<float>& periods, std::size_t shortest) {
  for (std::size_t at = 0; at < periods.size();) {
    if (periods[at] <= 0) {
      ++at;
      continue;
    }
    std::size_t end = at;
    while (end < periods.size() && periods[end] > 0) ++end;
    if (end - at < shortest)
      std::fill(periods.begin() + static_cast<std::ptrdiff_t>(at),
                periods.begin() + static_cast<std::ptrdiff_t>(end), 0.0F);
    at = end;
  }
}

}  // namespace

std::vector<float> pitch_path(const FrameCandidates& candidates, std::size_t shortest_frames) {
  std::size_t state = 0;
  const std::vector<std::uint8_t> came_from = forward(candidates, state);
  std::vector<float> periods(candidates.frames(), 0.0F);
  for (std::size_t frame = candidates.frames(); frame-- > 0;) {
    const std::size_t first = candidates.begin[frame];
    if (state > 0) periods[frame] = candidates.all[first + state - 1].period_s;
    state = came_from[first + frame + state];
  }
  take_out_short_runs(periods, shortest_frames);
  return periods;
}

}  // namespace burstloom
