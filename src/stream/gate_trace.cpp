#include "gate_trace.hpp"

#include <algorithm>
#include <charconv>

namespace burstloom {
namespace {

constexpr std::string_view kMark = "Burstloom exact gate, tick_hz=";
constexpr std::string_view kMarkLength = ", length=";

std::int64_t divided_up(std::int64_t value, std::int64_t by) {
  return value / by + (value % by != 0 ? 1 : 0);
}

// A pulse that rose and fell within one unit lasted, but less than the file can tell: it gets the whole unit.
GateTrace::Pulse at_least_a_unit(GateTrace::Pulse pulse) {
  return {pulse.rise, std::max(pulse.fall, pulse.rise + 1)};
}

// Joins pulses that are parted by less than `short_units`; returns how many such dips there were.
std::int64_t join_over_short_lows(std::vector<GateTrace::Pulse>& pulses, std::int64_t short_units) {
  std::size_t kept = 0;
  for (const auto& pulse : pulses) {
    if (kept > 0 && pulse.rise - pulses[kept - 1].fall < short_units)
      pulses[kept - 1].fall = std::max(pulse.fall, pulses[kept - 1].fall);
    else
      pulses[kept++] = pulse;
  }
  const std::size_t joined = pulses.size() - kept;
  pulses.resize(kept);
  return static_cast<std::int64_t>(joined);
}

// Takes the number that `text` starts with away from it.
std::optional<std::int64_t> take_number(std::string_view& text) {
  std::int64_t value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc{}) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return value;
}

}  // namespace

void GateTrace::set(std::int64_t time, bool high) {
  if (known_ && high == high_) return;
  if (high) rise_ = time;
  if (high && !known_) starts_high_ = true;
  if (!high && known_) pulses_.push_back({rise_, time});
  known_ = true;
  high_ = high;
}

void GateTrace::finish(std::int64_t time) {
  if (high_) pulses_.push_back({rise_, time});
  end_ = time;
}

Capture as_capture(GateTrace trace, const TraceScale& scale) {
  Capture capture;
  auto pulses = trace.take_pulses();
  for (auto& pulse : pulses) pulse = at_least_a_unit(pulse);
  capture.short_lows = join_over_short_lows(pulses, scale.short_units);
  capture.stream.tick_hz = scale.tick_hz;
  capture.stream.bursts.reserve(pulses.size());
  Tick end = 0;
  for (const auto& [rise, fall] : pulses) {
    if (fall - rise < scale.short_units) ++capture.short_highs;
    // Outwards: an early rise and a late fall are the safe side of a moment between two ticks.
    const Tick start = std::max(end, rise / scale.units_per_tick);
    end = std::max(start + 1, divided_up(fall, scale.units_per_tick));
    capture.stream.bursts.push_back({start, end - start});
  }
  capture.stream.length = std::max(end, divided_up(trace.end(), scale.units_per_tick));
  capture.sample_us = 1e6 / static_cast<double>(scale.tick_hz);
  capture.starts_high = trace.starts_high();
  capture.ends_high = trace.ends_high();
  return capture;
}

std::string exact_mark(const BurstStream& stream) {
  return std::string(kMark) + std::to_string(stream.tick_hz) + std::string(kMarkLength) +
         std::to_string(stream.length);
}

std::optional<ExactMark> find_exact_mark(std::string_view remark) {
  if (!remark.starts_with(kMark)) return std::nullopt;
  remark.remove_prefix(kMark.size());
  const auto tick_hz = take_number(remark);
  if (!tick_hz || !remark.starts_with(kMarkLength)) return std::nullopt;
  remark.remove_prefix(kMarkLength.size());
  const auto length = take_number(remark);
  if (!length || !remark.empty() || *length < 0 || *length >= kEndOfTime || *tick_hz < kLowestTickHz ||
      *tick_hz > kHighestTickHz)
    return std::nullopt;
  return ExactMark{*tick_hz, *length};
}

std::optional<Capture> as_exact(const GateTrace& trace, const ExactMark& mark, std::int64_t units_per_tick) {
  const auto is_off = [&](std::int64_t time) { return time % units_per_tick != 0; };
  if (is_off(trace.end()) || trace.end() / units_per_tick != mark.length) return std::nullopt;
  Capture capture;
  capture.exact = true;
  capture.stream.tick_hz = mark.tick_hz;
  capture.stream.length = mark.length;
  capture.sample_us = 1e6 / static_cast<double>(mark.tick_hz);
  capture.stream.bursts.reserve(trace.pulses().size());
  for (const auto& [rise, fall] : trace.pulses()) {
    if (is_off(rise) || is_off(fall) || fall == rise) return std::nullopt;
    capture.stream.bursts.push_back({rise / units_per_tick, (fall - rise) / units_per_tick});
  }
  return capture;
}

}  // namespace burstloom
