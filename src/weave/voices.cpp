#include "voices.hpp"

#include <algorithm>
#include <tuple>

namespace burstloom::weave_detail {
namespace {

// The notes sounding at a moment, as indices into the list of all that ever sound.
class Stage {
 public:
  Stage(const Score& score, int voices, std::vector<Sounding>& all)
      : score_(score), voices_(voices), all_(all), taken_(static_cast<std::size_t>(voices), false) {}

  void clear_until(double now_s) {
    std::erase_if(on_stage_, [&](std::size_t i) {
      if (all_[i].end_s > now_s) return false;
      leave(i);
      return true;
    });
  }

  // The newcomer enters; returns false when it is the one to give way.
  bool enter(Sounding newcomer) {
    all_.push_back(newcomer);
    const std::size_t entering = all_.size() - 1;
    on_stage_.push_back(entering);
    if (on_stage_.size() > static_cast<std::size_t>(voices_)) {
      const std::size_t leaving = who_gives_way();
      all_[leaving].stolen = true;
      std::erase(on_stage_, leaving);
      if (leaving == entering) {
        all_.pop_back();
        return false;
      }
      all_[leaving].end_s = newcomer.start_s;
      leave(leaving);
    }
    all_[entering].voice = free_voice();
    return true;
  }

 private:
  void leave(std::size_t i) { taken_[static_cast<std::size_t>(all_[i].voice)] = false; }

  int free_voice() {
    const auto free = std::find(taken_.begin(), taken_.end(), false);
    *free = true;
    return static_cast<int>(free - taken_.begin());
  }

  [[nodiscard]] bool lower(std::size_t a, std::size_t b) const { return all_[a].key < all_[b].key; }

  [[nodiscard]] Role role_of(std::size_t i) const {
    const auto by_key = [this](std::size_t a, std::size_t b) { return lower(a, b); };
    const auto [low, high] = std::minmax_element(on_stage_.begin(), on_stage_.end(), by_key);
    if (!lower(i, *high)) return Role::lead;
    return lower(*low, i) ? Role::inner : Role::bass;
  }

  [[nodiscard]] bool is_doubling(std::size_t i) const {
    return std::any_of(on_stage_.begin(), on_stage_.end(),
                       [&](std::size_t other) { return other != i && all_[other].key == all_[i].key; });
  }

  // The smaller, the sooner it goes: doublings, then inner voices, then the bass, the highest last.
  [[nodiscard]] std::size_t who_gives_way() const {
    const auto rank = [&](std::size_t i) {
      const Role role = role_of(i);
      const int standing = is_doubling(i) ? 0 : role == Role::inner ? 1 : role == Role::bass ? 2 : 3;
      return std::make_tuple(standing, score_.notes[all_[i].note].velocity, all_[i].start_s);
    };
    return *std::min_element(on_stage_.begin(), on_stage_.end(),
                             [&](std::size_t a, std::size_t b) { return rank(a) < rank(b); });
  }

  const Score& score_;
  int voices_;
  std::vector<Sounding>& all_;
  std::vector<bool> taken_;
  std::vector<std::size_t> on_stage_;
};

double folded_under(double key, double highest_hz) {
  while (key_hz(key) > highest_hz) key -= 12;
  return key;
}

// Roles at each note's onset, among all that sound right then, those that begin with it included.
void assign_roles(std::vector<Sounding>& all) {
  std::vector<std::size_t> sounding;
  for (std::size_t i = 0; i < all.size();) {
    const double now_s = all[i].start_s;
    std::erase_if(sounding, [&](std::size_t k) { return all[k].end_s <= now_s; });
    const std::size_t first = i;
    for (; i < all.size() && all[i].start_s == now_s; ++i) sounding.push_back(i);
    const auto [low, high] =
        std::minmax_element(sounding.begin(), sounding.end(),
                            [&](std::size_t a, std::size_t b) { return all[a].key < all[b].key; });
    for (std::size_t k = first; k < i; ++k)
      all[k].role = all[k].key >= all[*high].key  ? Role::lead
                    : all[k].key <= all[*low].key ? Role::bass
                                                  : Role::inner;
  }
}

}  // namespace

Shared share_voices(const Score& score, int voices, double highest_hz) {
  Shared shared;
  Stage stage(score, voices, shared.sounding);
  for (std::size_t i = 0; i < score.notes.size(); ++i) {
    const Note& note = score.notes[i];
    if (!(note.end_s > note.start_s) || !(note.velocity > 0) || note.part == Part::drums) {
      ++shared.skipped;
      continue;
    }
    stage.clear_until(note.start_s);
    const double key = folded_under(note.key, highest_hz);
    if (!stage.enter(
            {.note = i, .start_s = note.start_s, .end_s = note.end_s, .key = key, .folded = key != note.key}))
      ++shared.stolen;
  }
  shared.stolen += std::count_if(shared.sounding.begin(), shared.sounding.end(),
                                 [](const Sounding& sounding) { return sounding.stolen; });
  std::erase_if(shared.sounding,
                [](const Sounding& sounding) { return !(sounding.end_s > sounding.start_s); });
  assign_roles(shared.sounding);
  return shared;
}

}  // namespace burstloom::weave_detail
