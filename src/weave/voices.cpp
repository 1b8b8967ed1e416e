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
std::optional<std::size_t> last_of(std::span<const Sounding* const> together, May may, Before before) {
  std::optional<std::size_t> best;
  for (std::size_t i = 0; i < together.size(); ++i)
    if (may(*together[i]) && (!best || !before(*together[i], *together[*best]))) best = i;
  return best;
}

bool is_inner_by_word(const Sounding& sounding) {
  return sounding.part == Part::inner && sounding.part_is_stated;
}

std::optional<std::size_t> bass_of(std::span<const Sounding* const> together,
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

std::string reason_to_fold(int octaves) {
  return octaves < 0 ? "above the break rate that the coil can follow"
                     : "under 30 Hz, where single bursts are heard";
}

// A note that got onto the stage, and what became of it.
struct Entry {
  Sounding sounding;
  std::optional<std::size_t> stolen_by{};  // a note
};

void write_fates(const Entry& entry, const Note& note, int octaves, std::vector<NoteFate>& fates) {
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

void roles_now(std::span<const Sounding* const> together, std::span<Part> roles) {
  const auto lead = last_of(
      together, [](const Sounding& it) { return it.part == Part::lead; },
      [](const Sounding& a, const Sounding& b) {
        return std::tie(a.start_s, a.key) < std::tie(b.start_s, b.key);
      });
  std::fill(roles.begin(), roles.end(), Part::inner);
  if (const auto bass = bass_of(together, lead)) roles[*bass] = Part::bass;
  if (lead) roles[*lead] = Part::lead;
}

Stage::Stage(int voices) : taken_(static_cast<std::size_t>(voices), false) {
  const std::size_t most = taken_.size() + 1;
  on_stage_.reserve(most);
  together_.reserve(most);
  roles_.reserve(most);
}

void Stage::clear_until(double now_s) {
  std::erase_if(on_stage_, [&](const Sounding& it) {
    if (it.end_s > now_s) return false;
    free(it);
    return true;
  });
}

void Stage::leave(std::size_t note) {
  std::erase_if(on_stage_, [&](const Sounding& it) {
    if (it.note != note) return false;
    free(it);
    return true;
  });
}

Stage::Entered Stage::enter(Sounding newcomer) {
  Entered entered;
  on_stage_.push_back(newcomer);
  if (on_stage_.size() > taken_.size()) {
    find_roles();
    const std::size_t leaving = who_gives_way();
    const bool itself = leaving + 1 == on_stage_.size();
    entered.gave_way = on_stage_[leaving];
    on_stage_.erase(on_stage_.begin() + static_cast<std::ptrdiff_t>(leaving));
    if (itself) {
      find_roles();
      entered.by = most_important();
      return entered;
    }
    entered.by = newcomer.note;
    free(*entered.gave_way);
  }
  entered.voice = on_stage_.back().voice = free_voice(newcomer.part);
  return entered;
}

// Voices stand in order of importance (a player that weaves by itself makes the later ones give way): the
// lead takes the first that is free, the bass the first after the lead's, the others the last.
int Stage::free_voice(Part part) {
  const auto first = taken_.begin() + (part == Part::bass && taken_.size() > 1 ? 1 : 0);
  auto found = std::find(first, taken_.end(), false);
  if (part == Part::inner) found = std::find(taken_.rbegin(), taken_.rend(), false).base() - 1;
  if (found == taken_.end()) found = taken_.begin();
  *found = true;
  return static_cast<int>(found - taken_.begin());
}

void Stage::find_roles() {
  together_.clear();
  for (const Sounding& it : on_stage_) together_.push_back(&it);
  roles_.resize(together_.size());
  roles_now(together_, roles_);
}

// The note for which there is no voice left over: the one that stands highest.
std::size_t Stage::most_important() const {
  const auto most = std::max_element(roles_.begin(), roles_.end(),
                                     [](Part a, Part b) { return standing_of(a) < standing_of(b); });
  return on_stage_[static_cast<std::size_t>(most - roles_.begin())].note;
}

// The smaller, the sooner it goes.
int Stage::standing(std::size_t place) const {
  const Sounding& it = on_stage_[place];
  const int own = standing_of(roles_[place]);
  int lowest = own;
  for (std::size_t other = 0; other < on_stage_.size(); ++other) {
    if (other == place) continue;
    const int others = standing_of(roles_[other]);
    if (others >= own && same_key(it.key, on_stage_[other].key)) return 0;
    if (others > own && own == standing_of(Part::inner) && octaves_apart(it.key, on_stage_[other].key))
      lowest = 1;
  }
  return lowest;
}

std::size_t Stage::who_gives_way() const {
  std::size_t first = 0;
  const auto rank = [&](std::size_t place) {
    return std::make_tuple(standing(place), on_stage_[place].velocity, on_stage_[place].start_s);
  };
  for (std::size_t place = 1; place < on_stage_.size(); ++place)
    if (rank(place) < rank(first)) first = place;
  return first;
}

Shared share_voices(const Score& score, int voices, const std::vector<Part>& parts,
                    const std::vector<int>& octaves) {
  Shared shared;
  Stage stage(voices);
  std::vector<Entry> entries;
  std::vector<std::size_t> entry_of(score.notes.size());
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
    Sounding newcomer{.note = i,
                      .start_s = note.start_s,
                      .end_s = note.end_s,
                      .key = note.key + 12.0 * octaves[i],
                      .velocity = note.velocity,
                      .channel = note.channel,
                      .part = parts[i],
                      .part_is_stated = note.part != Part::any};
    const Stage::Entered entered = stage.enter(newcomer);
    newcomer.voice = entered.voice.value_or(0);
    entry_of[i] = entries.size();
    entries.push_back({newcomer});
    if (!entered.gave_way) continue;
    Entry& gone = entries[entry_of[entered.gave_way->note]];
    gone.sounding.end_s = note.start_s;
    gone.stolen_by = entered.by;
  }
  for (Entry& entry : entries) {
    Sounding& it = entry.sounding;
    if (entry.stolen_by && it.end_s - it.start_s < kShortestSound_s) it.end_s = it.start_s;
    write_fates(entry, score.notes[it.note], octaves[it.note], shared.fates);
    if (it.end_s > it.start_s) shared.sounding.push_back(it);
  }
  return shared;
}

}  // namespace burstloom::weave_detail
