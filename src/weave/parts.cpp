#include "parts.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace burstloom::weave_detail {
namespace {

using Line = std::pair<int, int>;  // track, channel

Line line_of(const Note& note) {
  return {note.track, note.channel};
}

bool is_pitched(const Note& note) {
  return note.part != Part::drums && note.end_s > note.start_s && note.velocity > 0;
}

// Calls `at_onset(first, last, sounding)` for each moment at which pitched notes begin: notes[first, last)
// begin, and `sounding` are the indices of all pitched ones that sound then, these included.
template <class AtOnset>
void by_onsets(const std::vector<Note>& notes, AtOnset at_onset) {
  std::vector<std::size_t> sounding;
  for (std::size_t i = 0; i < notes.size();) {
    const std::size_t first = i;
    const double now_s = notes[i].start_s;
    std::erase_if(sounding, [&](std::size_t k) { return notes[k].end_s <= now_s; });
    for (; i < notes.size() && notes[i].start_s == now_s; ++i)
      if (is_pitched(notes[i])) sounding.push_back(i);
    if (!sounding.empty()) at_onset(first, i, sounding);
  }
}

std::map<Line, double> melodiousness(const std::vector<Note>& notes) {
  std::map<Line, double> melodic;
  by_onsets(notes, [&](std::size_t first, std::size_t last, const std::vector<std::size_t>& sounding) {
    const auto top = *std::max_element(sounding.begin(), sounding.end(),
                                       [&](auto a, auto b) { return notes[a].key < notes[b].key; });
    if (top < first || top >= last) return;
    const Line line = line_of(notes[top]);
    const auto companions = std::count_if(sounding.begin(), sounding.end(),
                                          [&](std::size_t k) { return line_of(notes[k]) == line; });
    melodic[line] += notes[top].velocity / static_cast<double>(companions);
  });
  return melodic;
}

// Which of the lines going on is the most melodic.
class LeadingLine {
 public:
  explicit LeadingLine(std::map<Line, double> melodic) : melodic_(std::move(melodic)) {}

  void hear(const Note& note) {
    double& until = note.part == Part::lead ? stated_until_s_ : until_s_[line_of(note)];
    until = std::max(until, note.end_s + kLineRest_s);
  }
  [[nodiscard]] bool stated_lead_goes_on(double now_s) const { return stated_until_s_ > now_s; }
  [[nodiscard]] Line at(double now_s) const {
    Line best{};
    double most = -1;
    for (const auto& [line, until_s] : until_s_) {
      const auto found = melodic_.find(line);
      const double melodic = found == melodic_.end() ? 0 : found->second;
      if (until_s > now_s && melodic > most) best = line, most = melodic;
    }
    return best;
  }

 private:
  std::map<Line, double> melodic_;
  std::map<Line, double> until_s_;  // a lines's rest included
  double stated_until_s_ = 0;
};

}  // namespace

std::vector<Part> parts_of(const Score& score) {
  const std::vector<Note>& notes = score.notes;
  std::vector<Part> parts;
  for (const Note& note : notes) parts.push_back(note.part == Part::any ? Part::inner : note.part);
  LeadingLine leading(melodiousness(notes));
  by_onsets(notes, [&](std::size_t first, std::size_t last, const std::vector<std::size_t>& sounding) {
    const double now_s = notes[first].start_s;
    for (std::size_t i = first; i < last; ++i)
      if (is_pitched(notes[i]) && (notes[i].part == Part::any || notes[i].part == Part::lead))
        leading.hear(notes[i]);
    const auto of_any = [&](std::size_t k) { return notes[k].part == Part::any; };
    const auto begins = [&](std::size_t k) { return k >= first && k < last; };
    std::size_t lead = notes.size();
    if (!leading.stated_lead_goes_on(now_s)) {
      const Line line = leading.at(now_s);
      for (const std::size_t k : sounding)
        if (of_any(k) && line_of(notes[k]) == line &&
            (lead == notes.size() || notes[k].key >= notes[lead].key))
          lead = k;
    }
    if (lead < notes.size() && begins(lead)) parts[lead] = Part::lead;
    const bool bass_stated = std::any_of(sounding.begin(), sounding.end(),
                                         [&](std::size_t k) { return notes[k].part == Part::bass; });
    const auto lowest = *std::min_element(sounding.begin(), sounding.end(),
                                          [&](auto a, auto b) { return notes[a].key < notes[b].key; });
    if (!bass_stated && lowest != lead && begins(lowest) && of_any(lowest)) parts[lowest] = Part::bass;
  });
  return parts;
}

}  // namespace burstloom::weave_detail
