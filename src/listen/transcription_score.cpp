#include "burstloom/listen/transcription_score.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

namespace burstloom {
namespace {

constexpr double kOnset_s = 0.05, kOffset_s = 0.05, kOffsetOfLength = 0.2, kPitch = 0.5, kFrame_s = 0.01;

Scores scores_of(double matched, double estimated, double reference) {
  Scores scores;
  if (estimated > 0) scores.precision = matched / estimated;
  if (reference > 0) scores.recall = matched / reference;
  if (matched > 0) scores.f = 2 * scores.precision * scores.recall / (scores.precision + scores.recall);
  return scores;
}

bool matches(const Note& reference, const Note& estimate, const NoteRules& rules) {
  // To a tenth of a millisecond, as mir_eval compares times.
  const auto within = [](double a, double b, double tolerance) {
    return std::abs(std::round((a - b) * 1e4) / 1e4) <= tolerance;
  };
  const double offset_s = std::max(kOffset_s, kOffsetOfLength * (reference.end_s - reference.start_s));
  return (!rules.onset || within(reference.start_s, estimate.start_s, kOnset_s)) &&
         (!rules.pitch || std::abs(reference.key - estimate.key) <= kPitch) &&
         (!rules.offset || within(reference.end_s, estimate.end_s, offset_s));
}

std::vector<Note> by_start(std::vector<Note> notes) {
  std::stable_sort(notes.begin(), notes.end(),
                   [](const Note& a, const Note& b) { return a.start_s < b.start_s; });
  return notes;
}

// Of all estimates, in order of time, those that each reference note matches.
std::vector<std::vector<std::size_t>> partners_of(const std::vector<Note>& reference,
                                                  const std::vector<Note>& estimated,
                                                  const NoteRules& rules) {
  const auto starts_before = [](const Note& note, double at_s) { return note.start_s < at_s; };
  std::vector<std::vector<std::size_t>> all;
  for (const Note& note : reference) {
    auto it = estimated.begin();
    if (rules.onset) it = std::lower_bound(it, estimated.end(), note.start_s - 2 * kOnset_s, starts_before);
    std::vector<std::size_t>& partners = all.emplace_back();
    for (; it != estimated.end() && !(rules.onset && it->start_s > note.start_s + 2 * kOnset_s); ++it)
      if (matches(note, *it, rules)) partners.push_back(static_cast<std::size_t>(it - estimated.begin()));
  }
  return all;
}

// The largest number of pairs: augmenting paths (Kuhn 1955).
std::size_t largest_matching(const std::vector<std::vector<std::size_t>>& partners, std::size_t estimates) {
  constexpr std::size_t kNobody = static_cast<std::size_t>(-1);
  std::vector<std::size_t> taken_by(estimates, kNobody), seen_for(estimates, kNobody);
  std::size_t matched = 0;
  for (std::size_t i = 0; i < partners.size(); ++i) {
    const std::function<bool(std::size_t)> find = [&](std::size_t note) {
      for (const std::size_t k : partners[note]) {
        if (seen_for[k] == i) continue;
        seen_for[k] = i;
        if (taken_by[k] != kNobody && !find(taken_by[k])) continue;
        taken_by[k] = note;
        return true;
      }
      return false;
    };
    matched += find(i) ? 1 : 0;
  }
  return matched;
}

// The keys that sound in one frame after the other; frames must be asked for in order.
class Sounding {
 public:
  explicit Sounding(const std::vector<Note>& notes) : notes_(by_start(notes)) {}
  std::vector<double> at(double at_s) {
    for (; next_ < notes_.size() && notes_[next_].start_s <= at_s; ++next_) now_.push_back(notes_[next_]);
    std::erase_if(now_, [&](const Note& note) { return note.end_s <= at_s; });
    std::vector<double> keys;
    for (const Note& note : now_) keys.push_back(note.key);
    std::sort(keys.begin(), keys.end());
    return keys;
  }

 private:
  std::vector<Note> notes_, now_;
  std::size_t next_ = 0;
};

}  // namespace

Scores note_scores(const std::vector<Note>& reference, const std::vector<Note>& estimated,
                   const NoteRules& rules) {
  const auto partners = partners_of(by_start(reference), by_start(estimated), rules);
  return scores_of(static_cast<double>(largest_matching(partners, estimated.size())),
                   static_cast<double>(estimated.size()), static_cast<double>(reference.size()));
}

Scores frame_scores(const std::vector<Note>& reference, const std::vector<Note>& estimated, double length_s) {
  Sounding references(reference), estimates(estimated);
  double matched = 0, in_estimate = 0, in_reference = 0;
  for (double at_s = kFrame_s / 2; at_s < length_s; at_s += kFrame_s) {
    const std::vector<double> wanted = references.at(at_s), heard = estimates.at(at_s);
    in_reference += static_cast<double>(wanted.size());
    in_estimate += static_cast<double>(heard.size());
    // Sorted and one-dimensional: the nearest free one is a largest matching.
    for (std::size_t i = 0, k = 0; i < wanted.size() && k < heard.size();) {
      if (std::abs(wanted[i] - heard[k]) <= kPitch)
        ++matched, ++i, ++k;
      else
        wanted[i] < heard[k] ? ++i : ++k;
    }
  }
  return scores_of(matched, in_estimate, in_reference);
}

std::vector<Note> pitched(const Score& score) {
  std::vector<Note> notes;
  for (const Note& note : score.notes)
    if (note.part != Part::drums && note.end_s > note.start_s) notes.push_back(note);
  return notes;
}

}  // namespace burstloom
