#include "wishes.hpp"

#include <algorithm>
#include <tuple>

namespace burstloom::table_detail {
namespace {

// The made ones as the stream has them, in its order: where two were wanted at one moment the stream may have
// them the other way round.
void hand_out(const std::vector<Burst>& bursts, std::vector<Wish>& wishes) {
  auto next = bursts.begin();
  for (Wish& wish : wishes)
    if (wish.made) wish.made = *next++;
}

}  // namespace

std::vector<Wish> wishes_of(const BurstStream& stream, const Account& account) {
  std::vector<Wish> wishes;
  wishes.reserve(stream.bursts.size() + account.changes.size());
  const auto voice_of = [&](std::uint32_t note) {
    return static_cast<std::uint16_t>(account.notes[note].voice);
  };
  for (std::size_t i = 0; i < stream.bursts.size(); ++i)
    wishes.push_back({stream.bursts[i].start,
                      account.empty() ? std::uint16_t{0} : voice_of(account.note_of_burst[i]), Burst{}});
  for (const Change& change : account.changes) {
    if (change.burst)
      wishes[*change.burst].start = std::max<Tick>(0, change.wanted_start);
    else if (change.wanted_start >= 0)
      wishes.push_back({change.wanted_start, voice_of(change.note), {}});
  }
  std::stable_sort(wishes.begin(), wishes.end(), [](const Wish& a, const Wish& b) {
    return std::tie(a.start, a.voice) < std::tie(b.start, b.voice);
  });
  hand_out(stream.bursts, wishes);
  return wishes;
}

}  // namespace burstloom::table_detail
