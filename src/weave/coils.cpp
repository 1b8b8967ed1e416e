#include "burstloom/weave/coils.hpp"

#include <algorithm>
#include <string>

#include "parts.hpp"

namespace burstloom {
namespace {

template <class T>
bool has(const std::vector<T>& list, T value) {
  return std::find(list.begin(), list.end(), value) != list.end();
}

// The index of the share that a note goes to; the number of shares where none takes it.
std::size_t taker_of(const Note& note, Part part, const std::vector<CoilShare>& shares) {
  const auto first = [&](auto takes) {
    return static_cast<std::size_t>(std::find_if(shares.begin(), shares.end(), takes) - shares.begin());
  };
  if (const auto i = first([&](const CoilShare& it) { return has(it.channels, note.channel); });
      i < shares.size())
    return i;
  if (const auto i = first([&](const CoilShare& it) { return has(it.parts, part); }); i < shares.size())
    return i;
  return first([](const CoilShare& it) { return it.parts.empty() && it.channels.empty(); });
}

}  // namespace

std::vector<Score> split_for_coils(const Score& score, const std::vector<CoilShare>& shares) {
  const std::vector<Part> parts = weave_detail::parts_of(score);
  Score empty = score;
  empty.notes.clear();
  std::vector<Score> scores(shares.size(), empty);
  std::size_t untaken = 0;
  for (std::size_t i = 0; i < score.notes.size(); ++i) {
    const std::size_t taker = taker_of(score.notes[i], parts[i], shares);
    if (taker == shares.size()) {
      ++untaken;
      continue;
    }
    scores[taker].notes.push_back(score.notes[i]);
    scores[taker].notes.back().part = parts[i];
  }
  if (untaken > 0 && !scores.empty())
    scores.front().remarks.push_back(std::to_string(untaken) + " notes are assigned to no coil");
  return scores;
}

}  // namespace burstloom
