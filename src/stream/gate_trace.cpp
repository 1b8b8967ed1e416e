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

// Takes the number that `text` starts with away from it.
std::optional<std::int64_t> take_number(std::string_view& text) {
  std::int64_t value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc{}) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return value;
}

}  // namespace

void BlockOut::flush() {
  if (!begun_) sink_.begin(head_);
  begun_ = true;
  if (!block_.empty()) sink_.take(block_);
  block_.clear();
}

GateTrace::GateTrace(const TraceScale& scale, BurstSink& sink)
    : scale_(scale), out_({.tick_hz = scale.tick_hz, .capture = CaptureSigns{}, .profile = {}}, sink) {
  signs_.exact = is_exact();
  signs_.sample_us = 1e6 / static_cast<double>(scale.tick_hz);
  out_.head().capture = signs_;
}

void GateTrace::change(std::int64_t time, bool high) {
  if (high) rise_ = time;
  if (high && !known_) signs_.starts_high = out_.head().capture->starts_high = !is_exact();
  if (!high && known_) take({rise_, time});
  known_ = true;
  high_ = high;
}

void GateTrace::take(Pulse pulse) {
  if (is_exact()) {
    const auto is_off = [this](std::int64_t time) { return time % scale_.units_per_tick != 0; };
    if (is_off(pulse.rise) || is_off(pulse.fall) || pulse.fall == pulse.rise) throw NotAsMarked{};
    hand_on();
    pulse_ = pulse;
    return;
  }
  // A pulse that rose and fell within one unit lasted, but less than the file can tell: it gets the whole
  // unit.
  pulse.fall = std::max(pulse.fall, pulse.rise + 1);
  if (pulse_ && pulse.rise - pulse_->fall < scale_.short_units) {
    pulse_->fall = std::max(pulse.fall, pulse_->fall);
    ++signs_.short_lows;
    return;
  }
  hand_on();
  pulse_ = pulse;
}

void GateTrace::hand_on() {
  if (!pulse_) return;
  const auto [rise, fall] = *pulse_;
  if (!is_exact() && fall - rise < scale_.short_units) ++signs_.short_highs;
  // Outwards: an early rise and a late fall are the safe side of a moment between two ticks.
  const Tick start = std::max(end_, rise / scale_.units_per_tick);
  end_ = std::max(start + 1, divided_up(fall, scale_.units_per_tick));
  out_.take({start, end_ - start});
  pulse_.reset();
}

StreamTail GateTrace::finish(std::int64_t time) {
  if (high_) take({rise_, time});
  hand_on();
  const Tick end = divided_up(time, scale_.units_per_tick);
  if (is_exact() && (time % scale_.units_per_tick != 0 || end != *scale_.marked_length)) throw NotAsMarked{};
  signs_.ends_high = high_ && !is_exact();
  out_.flush();
  return {std::max(end_, end), signs_};
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

}  // namespace burstloom
