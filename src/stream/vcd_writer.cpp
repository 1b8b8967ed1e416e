// Streams as VCD (IEEE 1364-2005 clause 18): one wire, `gate`.
#include <charconv>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/files.hpp"
#include "gate_trace.hpp"
#include "vcd_time.hpp"

namespace burstloom {
namespace {

struct Timescale {
  int exponent = 0;
  std::int64_t units_per_tick = 1;
};

Timescale coarsest_exact(std::int64_t tick_hz) {
  const std::int64_t second = vcd::power_of_ten(vcd::kSecond);
  if (second % tick_hz != 0)
    throw Error(Fault::usage,
                "a tick of 1/" + std::to_string(tick_hz) +
                    " s is no whole number of femtoseconds, the finest that VCD knows",
                "", "weave with another tick rate, 2000000 Hz for one, or write a .burst file");
  Timescale scale{0, second / tick_hz};
  for (; scale.units_per_tick % 10 == 0; ++scale.exponent) scale.units_per_tick /= 10;
  return scale;
}

std::string name_of(int exponent) {
  return std::to_string(vcd::power_of_ten(exponent % 3)) + " " +
         std::string(vcd::kUnitNames[static_cast<std::size_t>(exponent / 3)]);
}

void append_time(std::string& out, std::int64_t time) {
  std::array<char, 24> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), time).ptr;
  out.push_back('#');
  out.append(digits.data(), end);
  out.push_back('\n');
}

std::string head(const BurstStream& stream, const Timescale& scale) {
  return "$version Burstloom $end\n$comment " + exact_mark(stream) + " $end\n$timescale " +
         name_of(scale.exponent) +
         " $end\n$scope module top $end\n$var wire 1 ! gate $end\n$upscope $end\n$enddefinitions $end\n";
}

}  // namespace

std::string to_vcd(const BurstStream& stream) {
  require_in_order(stream, "the stream to be written");
  const Timescale scale = coarsest_exact(stream.tick_hz);
  if (stream.length > vcd::latest(scale.exponent) / scale.units_per_tick)
    throw Error(Fault::usage, "the stream is too long for the time stamps of a VCD file", "",
                "write an excerpt of it, or a .burst file");
  std::string out = head(stream, scale);
  out.reserve(out.size() + stream.bursts.size() * 24);
  append_time(out, 0);
  const bool starts_high = !stream.bursts.empty() && stream.bursts.front().start == 0;
  out += starts_high ? "$dumpvars 1! $end\n" : "$dumpvars 0! $end\n";
  Tick now = 0;
  const auto change = [&](Tick tick, const char* value) {
    if (tick != now) append_time(out, tick * scale.units_per_tick);
    now = tick;
    out += value;
  };
  // Bursts that touch are told apart by a fall and a rise under one time stamp.
  for (const Burst& burst : stream.bursts) {
    if (burst.start > 0) change(burst.start, "1!\n");
    change(burst.end(), "0!\n");
  }
  if (stream.length != now) append_time(out, stream.length * scale.units_per_tick);
  return out;
}

}  // namespace burstloom
