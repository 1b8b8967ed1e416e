#include "parts.hpp"

#include <algorithm>
#include <functional>
#include <map>
#include <optional>
#include <queue>
#include <set>
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

// The pitched notes that sound at a moment, ready to be asked for the highest and the lowest however many
// they are.
class NowSounding {
 public:
  explicit NowSounding(const std::vector<Note>& notes) : notes_(notes) {}

  void end_until(double now_s) {
    for (; !ends_.empty() && ends_.top().first <= now_s; ends_.pop()) {
      const std::size_t i = ends_.top().second;
      all_.erase(key_of(i));
      --count_[line_of(notes_[i])];
      if (notes_[i].part == Part::any) of_any_[line_of(notes_[i])].erase(key_of(i));
      if (notes_[i].part == Part::bass) --stated_basses_;
    }
  }
  void begin(std::size_t i) {
    ends_.push({notes_[i].end_s, i});
    all_.insert(key_of(i));
    ++count_[line_of(notes_[i])];
    if (notes_[i].part == Part::any) of_any_[line_of(notes_[i])].insert(key_of(i));
    if (notes_[i].part == Part::bass) ++stated_basses_;
  }

  [[nodiscard]] bool is_empty() const { return all_.empty(); }
  [[nodiscard]] std::size_t highest() const { return all_.rbegin()->second; }
  [[nodiscard]] std::size_t lowest() const { return all_.begin()->second; }
  [[nodiscard]] bool has_stated_bass() const { return stated_basses_ > 0; }
  [[nodiscard]] std::size_t count_in(const Line& line) const { return count_.at(line); }
  /// The highest of the line's notes whose part nobody stated.
  [[nodiscard]] std::optional<std::size_t> highest_of_any(const Line& line) const {
    const auto found = of_any_.find(line);
    if (found == of_any_.end() || found->second.empty()) return std::nullopt;
    return found->second.rbegin()->second;
  }

 private:
  using Keys = std::set<std::pair<double, std::size_t>>;  // key, note
  using End = std::pair<double, std::size_t>;

  [[nodiscard]] std::pair<double, std::size_t> key_of(std::size_t i) const { return {notes_[i].key, i}; }

  const std::vector<Note>& notes_;
  std::priority_queue<End, std::vector<End>, std::greater<>> ends_;
  Keys all_;
  std::map<Line, Keys> of_any_;
  std::map<Line, std::size_t> count_;
  std::size_t stated_basses_ = 0;
};

// Calls `at_onset(first, last, sounding)` for each moment at which pitched notes begin: notes[first, last)
// begin, and `sounding` has all pitched ones that sound then, these included.
template <class AtOnset>
void by_onsets(const std::vector<Note>& notes, AtOnset at_onset) {
  NowSounding sounding(notes);
  for (std::size_t i = 0; i < notes.size();) {
    const std::size_t first = i;
    const double now_s = notes[i].start_s;
    sounding.end_until(now_s);
    for (; i < notes.size() && notes[i].start_s == now_s; ++i)
      if (is_pitched(notes[i])) sounding.begin(i);
    if (!sounding.is_empty()) at_onset(first, i, sounding);
  }
}

std::map<Line, double> melodiousness(const std::vector<Note>& notes) {
  std::map<Line, double> melodic;
  by_onsets(notes, [&](std::size_t first, std::size_t last, const NowSounding& sounding) {
    const std::size_t top = sounding.highest();
    if (top < first || top >= last) return;
    const Line line = line_of(notes[top]);
    melodic[line] += notes[top].velocity / static_cast<double>(sounding.count_in(line));
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
  std::map<Line, double> until_s_;  // a line's rest included
  double stated_until_s_ = 0;
};

}  // namespace

std::vector<Part> parts_of(const Score& score) {
  const std::vector<Note>& notes = score.notes;
  std::vector<Part> parts;
  for (const Note& note : notes) parts.push_back(note.part == Part::any ? Part::inner : note.part);
  LeadingLine leading(melodiousness(notes));
  by_onsets(notes, [&](std::size_t first, std::size_t last, const NowSounding& sounding) {
    const double now_s = notes[first].start_s;
    for (std::size_t i = first; i < last; ++i)
      if (is_pitched(notes[i]) && (notes[i].part == Part::any || notes[i].part == Part::lead))
        leading.hear(notes[i]);
    const auto begins = [&](std::size_t k) { return k >= first && k < last; };
    std::optional<std::size_t> lead;
    if (!leading.stated_lead_goes_on(now_s)) lead = sounding.highest_of_any(leading.at(now_s));
    if (lead && begins(*lead)) parts[*lead] = Part::lead;
    const std::size_t lowest = sounding.lowest();
    const bool free = !sounding.has_stated_bass() && notes[lowest].part == Part::any;
    if (free && lowest != lead && begins(lowest)) parts[lowest] = Part::bass;
  });
  return parts;
}

}  // namespace burstloom::weave_detail
