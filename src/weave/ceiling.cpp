#include "burstloom/weave/ceiling.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"

namespace burstloom {
namespace {

// All along the longest song. Three voices at the highest break rates that small coils allow, 2500 Hz, come
// near it; an hour of it takes about a gigabyte while it is woven.
constexpr double kMostBurstsPerSecond = 7000;
constexpr double kHighestLongest_s = 24 * 3600;  // no MIDI file is read that is longer

// As many figures as an estimate is worth.
std::string about(double bursts) {
  const double step = std::pow(10, std::max(0.0, std::floor(std::log10(std::max(1.0, bursts))) - 1));
  return grouped(std::llround(std::round(bursts / step) * step));
}

std::string what_to_do(double needed_s) {
  const std::string first =
      "look at its tempo and its notes with \"burstloom song\": a length that nobody meant is damage; else "
      "cut it "
      "into songs";
  if (needed_s > kHighestLongest_s) return first;
  return first + ", or allow this one with --longest " +
         std::to_string(std::lround(std::ceil(needed_s / 60)));
}

}  // namespace

double most_bursts(double longest_s) {
  return longest_s * kMostBurstsPerSecond;
}

void require_within_ceiling(double length_s, double bursts, double longest_s, const std::string& where) {
  if (length_s <= longest_s && bursts <= most_bursts(longest_s)) return;
  const std::string and_bursts = bursts > 0 ? " and be some " + about(bursts) + " bursts" : "";
  throw bad_input("this song would last " + hours(length_s) + " (h:mm:ss)" + and_bursts + "; at most " +
                      hours(longest_s) + " and " + about(most_bursts(longest_s)) + " bursts are woven",
                  where, what_to_do(std::max(length_s, bursts / kMostBurstsPerSecond)));
}

}  // namespace burstloom
