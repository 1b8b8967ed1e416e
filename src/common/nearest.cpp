#include "burstloom/common/nearest.hpp"

#include <algorithm>

#include "burstloom/common/words.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLongestName = 60;  // no name is longer; the distance costs the product of the lengths

}  // namespace

// Optimal string alignment distance: Levenshtein's with swaps of neighbours (Damerau 1964).
std::size_t edit_distance(std::string_view one, std::string_view other) {
  const std::size_t width = other.size() + 1;
  std::vector<std::size_t> before_last(width), last(width), now(width);
  for (std::size_t j = 0; j < width; ++j) last[j] = j;
  for (std::size_t i = 1; i <= one.size(); ++i) {
    now[0] = i;
    for (std::size_t j = 1; j < width; ++j) {
      const std::size_t replaced = last[j - 1] + (one[i - 1] == other[j - 1] ? 0 : 1);
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, replaced});
      if (i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1])
        now[j] = std::min(now[j], before_last[j - 2] + 1);
    }
    before_last.swap(last);
    last.swap(now);
  }
  return last[width - 1];
}

std::string nearest(std::string_view name, const std::vector<std::string>& known) {
  if (name.size() > kLongestName) return {};
  const std::string small = in_small_letters(name);
  std::size_t best = std::min<std::size_t>(3, name.size() / 2) + 1;
  std::string found;
  for (const std::string& one : known) {
    if (one.size() > kLongestName) continue;
    const std::size_t distance = edit_distance(small, in_small_letters(one));
    if (distance >= best) continue;
    best = distance;
    found = one;
  }
  return found;
}

std::string did_you_mean(std::string_view name, const std::vector<std::string>& known,
                         const std::string& otherwise) {
  const std::string meant = nearest(name, known);
  return meant.empty() ? otherwise : "did you mean " + meant + "?";
}

}  // namespace burstloom
