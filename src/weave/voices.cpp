#include "voices.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>

#include "burstloom/weave/weave.hpp"

namespace burstloom::weave_detail {
namespace {

// Which of the notes sounding together satisfies `may` and comes last by `before`; nothing where none may.
template <class May, class Before>
std::optional<std::size_t> last_of(const std::vector<const Sounding*>& together, May may, Before before) {
  std::optional<std::size_t> best;
  for (std::size_t i = 0; i < together.size(); ++i)
    if (may(*together[i]) && (!best || !before(*together[i], *together[*best]))) best = i;
  return best;
}

bool is_inner_by_word(const Sounding& sounding) {
  return sounding.part == Part::inner && sounding.part_is_stated;
}

std::optional<std::size_t> bass_of(const std::vector<const Sounding*>& together,
                                   std::optional<std::size_t> lead) {
  const auto higher = [](const Sounding& a, const Sounding& b) { return a.key > b.key; };
  const auto stated = last_of(
      together, [](const Sounding& it) { return it.part == Part::bass && it.part_is_stated; }, higher);
  if (stated) return stated;
  const Sounding* leads = lead ? together[*lead] : nullptr;
  return last_of(
      together, [&](const Sounding& it) { return &it != leads && !is_inner_by_word(it); }, higher);
}

int standing_of(Part role) {
  return role == Part::lead ? 4 : role == Part::bass ? 3 : 2;
}

bool same_key(double a, double b) {
  return std::abs(a - b) < 0.25;  // closer than any two of their notes
}
bool octaves_apart(double a, double b) {
  return same_key(std::abs(std::remainder(a - b, 12.0)), 0);
}

// The notes sounding at a moment, as indices into the list of all that ever sound.
class Stage {
 public:
  Stage(const Score& score, int voices) : score_(score), taken_(static_cast<std::size_t>(voices), false) {}

  struct Entry {
    Sounding sounding;
    std::optional<std::size_t> stolen_by{};  ///< a note
  };
  [[nodiscard]] std::vector<Entry>& entries() { return all_; }

  void clear_until(double now_s) {
    std::erase_if(on_stage_, [&](std::size_t i) {
      if (all_[i].sounding.end_s > now_s) return false;
      leave(i);
      return true;
    });
  }

  void enter(const Sounding& newcomer) {
    all_.push_back({newcomer});
    const std::size_t entering = all_.size() - 1;
    on_stage_.push_back(entering);
    if (on_stage_.size() > taken_.size()) {
      const std::size_t leaving = who_gives_way();
      std::erase(on_stage_, leaving);
      all_[leaving].sounding.end_s = newcomer.start_s;
      all_[leaving].stolen_by = leaving == entering ? most_important() : newcomer.note;
      if (leaving == entering) return;
      leave(leaving);
    }
    all_[entering].sounding.voice = free_voice(newcomer.part);
  }

 private:
  void leave(std::size_t i) { taken_[static_cast<std::size_t>(all_[i].sounding.voice)] = false; }

  // Voices stand in order of importance (a player that weaves by itself makes the later ones give way): the
  // lead takes the first that is free, the bass the first after the lead's, the others the last.
  int free_voice(Part part) {
    const auto first = taken_.begin() + (part == Part::bass && taken_.size() > 1 ? 1 : 0);
    auto free = std::find(first, taken_.end(), false);
    if (part == Part::inner) free = std::find(taken_.rbegin(), taken_.rend(), false).base() - 1;
    if (free == taken_.end()) free = taken_.begin();
    *free = true;
    return static_cast<int>(free - taken_.begin());
  }

  [[nodiscard]] const Sounding& at(std::size_t place) const { return all_[on_stage_[place]].sounding; }
  [[nodiscard]] double velocity(std::size_t place) const { return score_.notes[at(place).note].velocity; }

  [[nodiscard]] std::vector<Part> roles() const {
    std::vector<const Sounding*> together;
    for (std::size_t place = 0; place < on_stage_.size(); ++place) together.push_back(&at(place));
    return roles_now(together);
  }

  // The note for which there is no voice left over: the one that stands highest.
  [[nodiscard]] std::size_t most_important() const {
    const std::vector<Part> roles = this->roles();
    const auto most = std::max_element(roles.begin(), roles.end(),
                                       [](Part a, Part b) { return standing_of(a) < standing_of(b); });
    return at(static_cast<std::size_t>(most - roles.begin())).note;
  }

  // The smaller, the sooner it goes.
  [[nodiscard]] int standing(std::size_t place, const std::vector<Part>& roles) const {
    const int own = standing_of(roles[place]);
    int lowest = own;
    for (std::size_t other = 0; other < on_stage_.size(); ++other) {
      if (other == place) continue;
      const int others = standing_of(roles[other]);
      if (others >= own && same_key(at(place).key, at(other).key)) return 0;
      if (others > own && own == standing_of(Part::inner) && octaves_apart(at(place).key, at(other).key))
        lowest = 1;
    }
    return lowest;
  }

  [[nodiscard]] std::size_t who_gives_way() const {
    const std::vector<Part> roles = this->roles();
    std::size_t first = 0;
    const auto rank = [&](std::size_t place) {
      return std::make_tuple(standing(place, roles), velocity(place), at(place).start_s);
    };
    for (std::size_t place = 1; place < on_stage_.size(); ++place)
      if (rank(place) < rank(first)) first = place;
    return on_stage_[first];
  }

  const Score& score_;
  std::vector<bool> taken_;
  std::vector<Entry> all_;
  std::vector<std::size_t> on_stage_;
};

std::string reason_to_fold(int octaves) {
  return octaves < 0 ? "above the break rate that the coil can follow"
                     : "under 30 Hz, where single bursts are heard";
}

void write_fates(const Stage::Entry& entry, const Note& note, int octaves, std::vector<NoteFate>& fates) {
  const Sounding& it = entry.sounding;
  const auto index = static_cast<std::uint32_t>(it.note);
  if (it.end_s > it.start_s)
    fates.push_back(
        octaves == 0
            ? NoteFate{index, it.start_s, it.end_s, NoteFateKind::played, 0, "", {}}
            : NoteFate{
                  index, it.start_s, it.end_s, NoteFateKind::folded, octaves, reason_to_fold(octaves), {}});
  if (entry.stolen_by)
    fates.push_back({index, it.end_s, note.end_s, NoteFateKind::stolen, 0, "no voice left",
                     static_cast<std::uint32_t>(*entry.stolen_by)});
}

}  // namespace

std::vector<Part> roles_now(const std::vector<const Sounding*>& together) {
  const auto lead = last_of(
      together, [](const Sounding& it) { return it.part == Part::lead; },
      [](const Sounding& a, const Sounding& b) {
        return std::tie(a.start_s, a.key) < std::tie(b.start_s, b.key);
      });
  std::vector<Part> roles(together.size(), Part::inner);
  if (const auto bass = bass_of(together, lead)) roles[*bass] = Part::bass;
  if (lead) roles[*lead] = Part::lead;
  return roles;
}

Shared share_voices(const Score& score, int voices, const std::vector<Part>& parts,
                    const std::vector<int>& octaves) {
  Shared shared;
  Stage stage(score, voices);
  for (std::size_t i = 0; i < score.notes.size(); ++i) {
    const Note& note = score.notes[i];
    if (note.part == Part::drums) continue;
    if (!(note.end_s > note.start_s) || !(note.velocity > 0)) {
      shared.fates.push_back({static_cast<std::uint32_t>(i),
                              note.start_s,
                              note.end_s,
                              NoteFateKind::skipped,
                              0,
                              note.velocity > 0 ? "no length" : "no velocity",
                              {}});
      continue;
    }
    stage.clear_until(note.start_s);
    stage.enter({.note = i,
                 .start_s = note.start_s,
                 .end_s = note.end_s,
                 .key = note.key + 12.0 * octaves[i],
                 .part = parts[i],
                 .part_is_stated = note.part != Part::any});
  }
  for (Stage::Entry& entry : stage.entries()) {
    Sounding& it = entry.sounding;
    if (entry.stolen_by && it.end_s - it.start_s < kShortestSound_s) it.end_s = it.start_s;
    write_fates(entry, score.notes[it.note], octaves[it.note], shared.fates);
    if (it.end_s > it.start_s) shared.sounding.push_back(it);
  }
  return shared;
}

}  // namespace burstloom::weave_detail
