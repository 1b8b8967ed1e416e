#include "encode.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/pair_entry.hpp"
#include "guard_run.hpp"
#include "rounding.hpp"
#include "words.hpp"

namespace burstloom::table_detail {
namespace {

constexpr Tick kLongestCost = 65'535;  // an on-time with its stretch, in the player's 16 bits

std::int64_t rest_ms(double rest_s, double fast) {
  const double ms = std::ceil(rest_s * 1000 / fast - kSnap);
  if (!(rest_s >= 0 && ms <= std::numeric_limits<std::uint32_t>::max()))
    throw Error(Fault::usage, "a rest of " + number(rest_s) + " s before the song may start again", "",
                "give a rest between 0 and 4 000 000 s");
  return std::max<std::int64_t>(0, static_cast<std::int64_t>(ms));
}

std::string which(const BurstStream& stream, std::size_t i) {
  return "burst " + std::to_string(i + 1) + " at " + number(stream.seconds(stream.bursts[i].start)) + " s";
}

// One burst against its bounds; the gap is checked from the second burst on.
class BurstCheck {
 public:
  BurstCheck(const BurstStream& stream, const Target& target, const CompiledLimits& limits)
      : stream_(stream), target_(target), limits_(limits) {}

  void operator()(std::size_t i) const {
    const Burst& burst = stream_.bursts[i];
    if (burst.on < target_.shortest_on_ticks)
      fail(i, "lasts", burst.on, target_.chip + " cannot make less than", target_.shortest_on_ticks,
           "raise on_time_us.min in the profile to that and weave again");
    if (burst.on > target_.longest_on_ticks)
      fail(i, "lasts", burst.on, target_.chip + " makes at most", target_.longest_on_ticks,
           "lower on_time_us.max in the profile to that and weave again");
    if (burst.on > limits_.on_max)
      fail(i, "lasts", burst.on, "the profile allows at most", limits_.on_max,
           "weave the song again with this profile");
    const Tick gap = i == 0 ? burst.start : burst.start - stream_.bursts[i - 1].end();
    if (gap > kLongestGapTicks)
      fail(i, "comes after a rest of", gap, "the player counts at most", kLongestGapTicks,
           "export the parts before and after the rest by themselves");
    if (i == 0) return;
    if (gap < shortest_gap(target_, limits_))
      fail(i, "comes after a gap of", gap, target_.chip + " needs at least", shortest_gap(target_, limits_),
           "raise gap_us in the profile to that and weave again");
    if (gap < limits_.gap_min)
      fail(i, "comes after a gap of", gap, "the profile wants at least", limits_.gap_min,
           "weave the song again with this profile");
  }

 private:
  [[noreturn]] void fail(std::size_t i, const std::string& is, Tick value, const std::string& bound,
                         Tick allowed, const std::string& what_to_do) const {
    throw Error(Fault::outside_limits,
                which(stream_, i) + " " + is + " " + number(stream_.microseconds(value)) + " µs, but " +
                    bound + " " + number(stream_.microseconds(allowed)) + " µs",
                "", what_to_do);
  }

  const BurstStream& stream_;
  const Target& target_;
  const CompiledLimits& limits_;
};

}  // namespace

void append_word(Bytes& bytes, std::int64_t value) {
  for (int shift = 0; shift < 32; shift += 8)
    bytes.push_back(static_cast<std::uint8_t>(value >> shift & 0xFF));
}

Tick CompiledLimits::memory() const {
  Tick longest = gap_min;
  for (const GuardWindow& window : windows) longest = std::max(longest, window.forget_ticks());
  return longest;
}

Tick shortest_gap(const Target& target, const CompiledLimits& limits) {
  return target.shortest_gap_ticks + target.guard_gap_ticks * static_cast<Tick>(limits.windows.size());
}

CompiledLimits compiled_limits(const TableInput& input, const Target& target) {
  const PlayerLimits allowed = player_limits(input.profile, input.stream, input.rest_before_repeat_s);
  CompiledLimits limits;
  limits.stretch =
      up(input.profile.drive.pulse_stretch_ns / 1000 * static_cast<double>(input.stream.tick_hz) / 1e6);
  limits.on_max = std::min({allowed.on_max, target.longest_on_ticks, kLongestCost - limits.stretch});
  const std::vector<WindowLimit> windows = window_limits(input.profile, target);
  for (const WindowLimit& window : windows)  // no burst that a window has no room for
    if (!window.counts_starts && window.allowance < window.window)
      limits.on_max = std::min(limits.on_max, window.allowance - limits.stretch);
  limits.on_max = std::max<Tick>(limits.on_max, 0);
  limits.gap_min =
      std::max({allowed.gap_min, target.shortest_gap_ticks, limits.stretch + 1});  // else they are one
  limits.windows = guard_windows(windows,
                                 {.longest = limits.on_max + limits.stretch,
                                  .shortest = limits.stretch + 1,
                                  .rest = limits.gap_min - limits.stretch,
                                  .least_slot = 4 * target.guard_gap_ticks},
                                 target.guard_ram_bytes);
  limits.gap_min = std::max(limits.gap_min, shortest_gap(target, limits));
  limits.rest_ms = allowed.rest_ms;
  return limits;
}

void require_playable(const TableInput& input, const Target& target, const CompiledLimits& limits) {
  const BurstStream& stream = input.stream;
  if (stream.tick_hz != target.tick_hz)
    throw Error(Fault::usage,
                "the stream has " + std::to_string(stream.tick_hz) + " ticks a second, but the timer of " +
                    target.chip + " counts " + std::to_string(target.tick_hz),
                "",
                "weave the song with " + std::to_string(target.tick_hz) + " ticks a second for this target");
  require_in_order(stream, "the stream to export");
  if (stream.bursts.empty())
    throw Error(Fault::usage, "the stream to export has no bursts", "",
                "choose a part of the song that sounds");
  if (limits.gap_min > kLongestGapTicks)
    throw Error(Fault::outside_limits,
                "a gap limit of " + number(stream.microseconds(limits.gap_min)) +
                    " µs is longer than the player counts",
                "", "lower gap_us in the profile below " + number(stream.microseconds(kLongestGapTicks)));
  require_keepable(limits.windows, stream.tick_hz);
  const BurstCheck check(stream, target, limits);
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) check(i);
  if (const auto refused = first_refused(stream, limits))
    throw Error(Fault::outside_limits,
                which(stream, *refused) + " would be kept back by the guard on " + target.chip +
                    ": a duty window or the break rate has no room for it",
                "", "weave the song again with this profile; burstloom check names the limit");
}

Bytes pair_data(const BurstStream& stream) {
  Bytes data;
  data.reserve(stream.bursts.size() * 3);
  Burst before;
  for (const Burst& burst : stream.bursts) {
    append_pair_entry(data, burst, before);
    before = burst;
  }
  return data;
}

Bytes finished_table(Encoding encoding, const Bytes& data, const BurstStream& stream,
                     const CompiledLimits& limits) {
  return finished_table(encoding, data, stream.tick_hz, stream.bursts.size(), limits);
}

Bytes finished_table(Encoding encoding, const Bytes& data, std::int64_t tick_hz, std::size_t count,
                     const CompiledLimits& limits) {
  Bytes table = {'B', 'L', 'P', 'T', kTableVersion, static_cast<std::uint8_t>(encoding), kTableHeaderBytes,
                 0};
  table.reserve(kTableHeaderBytes + data.size());
  append_word(table, tick_hz);
  append_word(table, static_cast<std::int64_t>(count));
  append_word(table, static_cast<std::int64_t>(data.size()));
  append_word(table, limits.on_max);
  append_word(table, limits.gap_min);
  append_word(table, limits.rest_ms);
  append_word(table, crc32(data, crc32(table)));
  table.insert(table.end(), data.begin(), data.end());
  return table;
}

PlayerSize player_size(const Target& target, const CompiledLimits& limits, int voices) {
  PlayerSize size{target.player_flash_bytes + guard_flash(limits.windows),
                  target.player_ram_bytes + guard_ram(limits.windows)};
  if (voices == 0) return size;
  size.flash_bytes += target.voices_flash_bytes;
  size.ram_bytes += target.voices_ram_bytes + voices * target.voice_ram_bytes;
  return size;
}

}  // namespace burstloom::table_detail

namespace burstloom {

PlayerLimits player_limits(const Profile& profile, std::int64_t tick_hz, double rest_s) {
  const double ticks_per_us = static_cast<double>(tick_hz) / 1e6;
  const double stretch_us = profile.drive.pulse_stretch_ns / 1000;
  const double clock = profile.drive.clock_tolerance_percent / 100;
  PlayerLimits limits;
  limits.on_max =
      table_detail::down((profile.limits.on_time_max_us - stretch_us) / (1 + clock) * ticks_per_us);
  limits.gap_min = table_detail::up((profile.limits.gap_us + stretch_us) / (1 - clock) * ticks_per_us);
  limits.rest_ms = table_detail::rest_ms(rest_s, 1 - clock);
  return limits;
}

PlayerLimits live_limits(const Profile& profile, std::int64_t tick_hz) {
  double longest_ms = 60'000;  // long beside a junction, and the windows of break rate and supply
  for (const auto& window : profile.limits.duty) longest_ms = std::max(longest_ms, window.window_ms);
  return player_limits(profile, tick_hz, longest_ms / 1000);
}

PlayerLimits player_limits(const Profile& profile, const BurstStream& stream, double rest_s) {
  const Tick end = stream.bursts.empty() ? stream.length : stream.bursts.back().end();
  return player_limits(profile, stream.tick_hz,
                       rest_s + stream.seconds(std::max<Tick>(0, stream.length - end)));
}

}  // namespace burstloom
