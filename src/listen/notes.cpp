// Notes from a recording: how strongly each pitch sounds, followed over time.
#include <algorithm>
#include <cmath>

#include "burstloom/listen/listen.hpp"
#include "drum_hits.hpp"
#include "fine_key.hpp"
#include "note_tracking.hpp"
#include "thinned.hpp"
#include "usable.hpp"

namespace burstloom {
namespace {

constexpr double kSilence = 0.001;  // root of the mean square: -60 dBFS

// Weights are roots of amplitudes, and a velocity's square is an amplitude: they are in proportion.
Note note_of(const HeardNote& heard, double key, float loudest) {
  return {.start_s = static_cast<double>(heard.first) * kHop_s,
          .end_s = static_cast<double>(heard.past) * kHop_s,
          .key = key,
          .velocity = static_cast<double>(std::min(1.0f, heard.peak / loudest))};
}

// Each line on a channel of its own, as weaving and sequencers like it: what is highest when it begins, what
// is lowest and under the song's middle, and what is between. `notes` are in order of time.
void share_out(std::vector<Note>& notes) {
  constexpr double kTogether_s = 0.03;  // what begins so close begins at once
  double middle = 0;
  for (const Note& note : notes) middle += note.key / static_cast<double>(notes.size());
  std::vector<const Note*> sounding;
  std::size_t next = 0;
  for (Note& note : notes) {
    for (; next < notes.size() && notes[next].start_s <= note.start_s + kTogether_s; ++next)
      sounding.push_back(&notes[next]);
    std::erase_if(sounding, [&](const Note* it) { return it->end_s <= note.start_s; });
    bool highest = true, lowest = true;
    for (const Note* other : sounding) {
      if (other->end_s <= note.start_s + kTogether_s) continue;
      highest &= other->key <= note.key;
      lowest &= other->key >= note.key;
    }
    note.part = highest ? Part::lead : lowest && note.key < middle ? Part::bass : Part::inner;
    note.channel = note.part == Part::lead ? 0 : note.part == Part::inner ? 1 : 2;
  }
}

void sort_by_time(std::vector<Note>& notes) {
  std::stable_sort(notes.begin(), notes.end(), [](const Note& a, const Note& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : a.key < b.key;
  });
}

}  // namespace

Heard listen_notes(const SoundSource& sound) {
  require_usable_rate(sound.rate_hz());
  Score score;
  score.length_s = sound.length_s();
  if (sound.figures().rms < kSilence) return score;
  Thinned thinned(sound);
  {
    const NoteView view = note_view(thinned, sound.length_s());
    const float loudest = *std::max_element(view.loudest.begin(), view.loudest.end());
    const std::vector<HeardNote> heard = track_notes(view);
    const std::vector<double> keys = fine_keys(thinned, heard);
    for (std::size_t i = 0; i < heard.size(); ++i) score.notes.push_back(note_of(heard[i], keys[i], loudest));
  }
  for (Note& note : score.notes) note.end_s = std::min(note.end_s, score.length_s);
  sort_by_time(score.notes);
  share_out(score.notes);
  for (const Note& hit : drum_hits(sound))
    if (hit.end_s <= score.length_s) score.notes.push_back(hit);
  sort_by_time(score.notes);
  return score;
}

}  // namespace burstloom
