// An arrangement put to a score.
#include <algorithm>
#include <cmath>

#include "burstloom/score/arrangement.hpp"

namespace burstloom {
namespace {

// Fades are drawn in steps as fine as hearing has them.
constexpr double kFadeStep_s = 0.02;

const Line* line_of(const std::vector<Line>& lines, int number) {
  const auto found =
      std::find_if(lines.begin(), lines.end(), [&](const Line& line) { return line.number == number; });
  return found == lines.end() ? nullptr : &*found;
}

// Loudness goes with 40 log10 of velocity.
void raise(Note& note, double semitones, double gain_db) {
  if (note.part != Part::drums) note.key += semitones;
  note.velocity = std::min(1.0, note.velocity * std::pow(10, gain_db / 40));
}

// What one line says of a note; a track's word comes after its channel's.
void put(const Line& line, Note& note) {
  if (line.role) note.part = *line.role;
  raise(note, line.transpose, line.gain_db);
  if (line.envelope) note.envelope = *line.envelope;
}

// Keeps at most `voices` of the notes that `belongs` at once: of those that sound when one more begins, an
// inner one ends, the softer of two; a bass keeps its lowest, all others their highest.
template <class Belongs>
std::int64_t hold_voices(std::vector<Note>& notes, int voices, Belongs belongs) {
  std::vector<std::size_t> sounding;
  std::int64_t left_out = 0;
  for (std::size_t i = 0; i < notes.size(); ++i) {
    if (!belongs(notes[i])) continue;
    std::erase_if(sounding, [&](std::size_t k) { return notes[k].end_s <= notes[i].start_s; });
    sounding.push_back(i);
    if (sounding.size() <= static_cast<std::size_t>(voices)) continue;
    const auto worth = [&](std::size_t k) {
      return notes[k].part == Part::bass ? -notes[k].key : notes[k].key;
    };
    const auto least = *std::min_element(sounding.begin(), sounding.end(),
                                         [&](std::size_t a, std::size_t b) { return worth(a) < worth(b); });
    notes[least].end_s = least == i ? notes[i].start_s : std::min(notes[least].end_s, notes[i].start_s);
    std::erase(sounding, least);
    ++left_out;
  }
  std::erase_if(notes, [&](const Note& note) {
    return belongs(note) && !(note.end_s > note.start_s) && note.part != Part::drums;
  });
  return left_out;
}

void put_voices(Score& score, const Arrangement& arrangement) {
  std::int64_t left_out = 0;
  for (const Line& line : arrangement.channels)
    if (line.voices)
      left_out += hold_voices(score.notes, *line.voices,
                              [&](const Note& note) { return note.channel + 1 == line.number; });
  for (const Line& line : arrangement.tracks)
    if (line.voices)
      left_out += hold_voices(score.notes, *line.voices,
                              [&](const Note& note) { return note.track + 1 == line.number; });
  if (left_out > 0)
    score.remarks.push_back(std::to_string(left_out) +
                            " notes ended early or were left out by the arrangement's voices");
}

// From the file's time to the time that is played.
struct Clock {
  double start_s, end_s, factor;
  [[nodiscard]] double operator()(double at_s) const {
    return (std::clamp(at_s, start_s, end_s) - start_s) / factor;
  }
};

void put_time(StepCurve& curve, const Clock& clock) {
  StepCurve moved;
  for (const Step& step : curve) {
    if (step.at_s > clock.end_s) break;
    const double at_s = clock(step.at_s);
    if (!moved.empty() && moved.back().at_s >= at_s) moved.pop_back();
    moved.push_back({at_s, step.value});
  }
  curve = std::move(moved);
}

void put_time(Score& score, const Arrangement& arrangement) {
  const Clock clock{arrangement.start_s,
                    arrangement.end_s.value_or(std::max(score.length_s, arrangement.start_s)),
                    arrangement.tempo_factor};
  std::erase_if(score.notes,
                [&](const Note& note) { return note.end_s <= clock.start_s || note.start_s >= clock.end_s; });
  for (Note& note : score.notes) {
    note.start_s = clock(note.start_s);
    note.end_s = clock(note.end_s);
  }
  for (ChannelCurves& curves : score.channels)
    for (StepCurve* curve : {&curves.bend, &curves.gain, &curves.vibrato}) put_time(*curve, clock);
  score.length_s = clock(std::min(score.length_s, clock.end_s));
}

// The curve times what `fade` says, in fine steps where that changes.
template <class Fade>
void multiply(StepCurve& curve, double from_s, double until_s, Fade fade) {
  StepCurve result;
  for (const Step& step : curve)
    if (step.at_s < from_s) result.push_back(step);
  const auto steps = std::max<std::int64_t>(1, std::llround((until_s - from_s) / kFadeStep_s));
  for (std::int64_t i = 0; i <= steps; ++i) {
    const double at_s = from_s + (until_s - from_s) * static_cast<double>(i) / static_cast<double>(steps);
    result.push_back(
        {at_s, value_at(curve, at_s, 1) * fade(static_cast<double>(i) / static_cast<double>(steps))});
  }
  for (const Step& step : curve)
    if (step.at_s > until_s) result.push_back({step.at_s, step.value * fade(1.0)});
  curve = std::move(result);
}

void put_fades(Score& score, const Arrangement& arrangement) {
  const double in_s = std::min(arrangement.fade_in_s, score.length_s),
               out_s = std::min(arrangement.fade_out_s, score.length_s);
  for (ChannelCurves& curves : score.channels) {
    if (in_s > 0) multiply(curves.gain, 0, in_s, [](double part) { return part; });
    if (out_s > 0)
      multiply(curves.gain, score.length_s - out_s, score.length_s, [](double part) { return 1 - part; });
  }
}

void put_lines(std::vector<Note>& notes, const Arrangement& arrangement) {
  std::erase_if(notes, [&](Note& note) {
    const std::optional<Note> put = arranged_note(note, arrangement);
    if (put) note = *put;
    return !put;
  });
}

}  // namespace

std::optional<Note> arranged_note(Note note, const Arrangement& arrangement) {
  for (const Line* line :
       {line_of(arrangement.channels, note.channel + 1), line_of(arrangement.tracks, note.track + 1)}) {
    if (line == nullptr) continue;
    if (!line->on) return std::nullopt;
    put(*line, note);
  }
  raise(note, arrangement.transpose, arrangement.gain_db);
  if (note.key < 0 || note.key > 127) return std::nullopt;
  if (note.part != Part::drums) return note;
  const auto found = arrangement.drums.find(static_cast<int>(note.key));
  if (found == arrangement.drums.end()) return note;
  if (!found->second) return std::nullopt;
  note.key = *found->second;
  return note;
}

Score arranged(Score score, const Arrangement& arrangement) {
  put_lines(score.notes, arrangement);
  put_voices(score, arrangement);
  put_time(score, arrangement);
  put_fades(score, arrangement);
  std::stable_sort(score.notes.begin(), score.notes.end(), [](const Note& a, const Note& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : a.key < b.key;
  });
  return score;
}

}  // namespace burstloom
