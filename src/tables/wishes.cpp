#include "wishes.hpp"

#include <algorithm>
#include <tuple>

namespace burstloom::table_detail {
namespace {

// Of two wanted by a voice at one moment the made one first.
bool comes_before(const Wish& a, const Wish& b) {
  return std::tuple(a.start, a.voice, !a.made) < std::tuple(b.start, b.voice, !b.made);
}

// The made ones as the stream has them, in its order: where two were wanted at one moment the stream may have
// them the other way round.
void hand_out(const std::vector<Burst>& bursts, std::vector<Wish>& wishes) {
  auto next = bursts.begin();
  for (Wish& wish : wishes)
    if (wish.made) wish.made = &*next++;
}

}  // namespace

std::vector<Wish> wishes_of(const BurstStream& stream, const Account& account) {
  const auto voice_of = [&](std::uint32_t note) {
    return static_cast<std::uint16_t>(account.notes[note].voice);
  };
  const auto wish_of = [&](std::size_t burst, Tick start) {
    return Wish{start, account.empty() ? std::uint16_t{0} : voice_of(account.note_of_burst[burst]),
                &stream.bursts[burst]};
  };
  std::vector<Wish> changed;
  changed.reserve(account.changes.size());
  std::vector<bool> is_changed(stream.bursts.size(), false);
  // Backwards: of two changes of one burst the last counts.
  for (auto change = account.changes.rbegin(); change != account.changes.rend(); ++change) {
    if (!change->burst) {
      if (change->wanted_start >= 0) changed.push_back({change->wanted_start, voice_of(change->note)});
    } else if (!is_changed[*change->burst]) {
      changed.push_back(wish_of(*change->burst, std::max<Tick>(0, change->wanted_start)));
      is_changed[*change->burst] = true;
    }
  }
  std::reverse(changed.begin(), changed.end());
  // An account tells its changes in the order in which they were wanted, or nearly.
  if (!std::is_sorted(changed.begin(), changed.end(), comes_before))
    std::sort(changed.begin(), changed.end(), comes_before);
  std::vector<Wish> wishes;
  wishes.reserve(stream.bursts.size() + changed.size());
  auto next = changed.begin();
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    if (is_changed[i]) continue;
    const Wish as_wanted = wish_of(i, stream.bursts[i].start);
    while (next != changed.end() && comes_before(*next, as_wanted)) wishes.push_back(*next++);
    wishes.push_back(as_wanted);
  }
  wishes.insert(wishes.end(), next, changed.end());
  hand_out(stream.bursts, wishes);
  return wishes;
}

}  // namespace burstloom::table_detail
