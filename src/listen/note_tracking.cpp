#include "note_tracking.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "burstloom/score/score.hpp"

namespace burstloom {
namespace {

// Weights are compressed: the root of an amplitude. What these stand for was found on the pieces of
// tests/outside/listening that are not held out; docs/reference/listening.md has the figures.
constexpr float kBegins = 0.40f, kGoesOn = 0.30f;  // of the loudest pitch around
constexpr float kOwn = 0.35f;                      // a note that dies away goes on until here of its own peak
constexpr float kFaintest = 0.20f;                 // of the loudest pitch of all
constexpr float kRooted = 0.32f;                   // of a note's peak: where it is traced back to
constexpr std::size_t kTracedBack = 20;            // frames
constexpr std::size_t kShortest = 7;
constexpr float kRise_db = 6, kStruckAgain_db = 10;
constexpr float kStruckAgain = 1.1f;  // over the weight before
constexpr std::size_t kEarly = 2;     // frames by which the steepest rise comes after the beginning
constexpr float kGhost = 0.65f;       // of the note that it is a harmonic of
constexpr float kTwin = 1.3f;         // the same, where both begin and end together

constexpr double kLobe_hz = 9;  // half the width of a line in the long window

// Semitones from a pitch to its harmonics, and to what it is a harmonic of.
constexpr std::array kHarmonics{12, 19, 24, 28, 31, 34, 36, -12, -19, -24};

std::vector<HeardNote> stretches_of(const NoteView& view) {
  const float faintest = kFaintest * *std::max_element(view.loudest.begin(), view.loudest.end());
  std::array<std::vector<HeardNote>, kPitches> ended;
  std::array<std::optional<HeardNote>, kPitches> opened;
  for (std::size_t n = 0; n < view.weights.size(); ++n) {
    const PitchFrame weights = view.weights[n].all();
    for (std::size_t p = 0; p < kPitches; ++p) {
      std::optional<HeardNote>& open = opened[p];
      const float weight = weights[p];
      const float needed =
          open ? std::min(kGoesOn * view.loudest[n], kOwn * open->peak) : kBegins * view.loudest[n];
      const bool sounds = weight > faintest && weight > needed;
      if (sounds && !open) open = HeardNote{p, n, n, 0};
      if (sounds) open->peak = std::max(open->peak, weight);
      if (sounds) open->past = n + 1;
      if (!sounds && open) ended[p].push_back(*std::exchange(open, std::nullopt));
    }
  }
  std::vector<HeardNote> all;
  for (std::size_t p = 0; p < kPitches; ++p) {
    all.insert(all.end(), ended[p].begin(), ended[p].end());
    if (opened[p]) all.push_back(*opened[p]);
  }
  return all;
}

// By how much the energy at a pitch's harmonics rises around a frame, in dB.
float rise_at(const NoteView& view, std::size_t pitch, std::size_t n) {
  const std::size_t before = n >= 3 ? n - 3 : 0, after = std::min(view.attack.size() - 1, n + 2);
  return view.attack[after][pitch] - view.attack[before][pitch];
}

// The frame of the steepest rise in [from, until) that is over `least`.
std::optional<std::size_t> steepest(const NoteView& view, std::size_t pitch, std::size_t from,
                                    std::size_t until, float least) {
  std::optional<std::size_t> best;
  for (std::size_t n = from; n < std::min(until, view.attack.size()); ++n)
    if (const float rise = rise_at(view, pitch, n); rise > least) least = rise, best = n;
  return best;
}

std::size_t earlier(std::size_t frame, std::size_t by) {
  return frame > by ? frame - by : 0;
}

// The long window sees a note before it begins, or after, where it begins softly beside others: the steepest
// rise in the short one is where it began.
void find_beginning(const NoteView& view, HeardNote& note) {
  const std::size_t seen = note.first;
  while (note.first > 0 && seen - note.first < kTracedBack &&
         view.weights[note.first - 1][note.pitch] > kRooted * note.peak)
    --note.first;
  const auto begin =
      steepest(view, note.pitch, earlier(note.first, 4), std::min(note.past, note.first + 14), kRise_db);
  if (begin) note.first = earlier(*begin, kEarly);
}

// Whether the pitch's weight grows again there, and not only something else at its harmonics.
bool grows_again(const NoteView& view, std::size_t pitch, std::size_t at) {
  float low = view.weights[at][pitch], high = low;
  for (std::size_t n = earlier(at, 10); n <= at; ++n) low = std::min(low, view.weights[n][pitch]);
  for (std::size_t n = at; n < std::min(view.weights.size(), at + 12); ++n)
    high = std::max(high, view.weights[n][pitch]);
  return high > kStruckAgain * low;
}

// One stretch may be the same note struck several times.
void split(const NoteView& view, HeardNote note, std::vector<HeardNote>& notes) {
  for (std::size_t n = note.first + 8; n + 6 < note.past; ++n) {
    const auto again = steepest(view, note.pitch, n, n + 6, kStruckAgain_db);
    if (!again || !grows_again(view, note.pitch, *again)) continue;
    const std::size_t begin = *again - kEarly;
    notes.push_back({note.pitch, note.first, begin, note.peak});
    note.first = begin;
    n = *again + 7;
  }
  notes.push_back(note);
}

double key_of(const HeardNote& note) {
  return kLowestKey + static_cast<double>(note.pitch);
}

std::size_t apart(std::size_t a, std::size_t b) {
  return a > b ? a - b : b - a;
}

// Whether `note` is no more than the harmonic of `other`, which sounds with it.
bool is_ghost_of(const HeardNote& note, const HeardNote& other) {
  const int above = static_cast<int>(note.pitch) - static_cast<int>(other.pitch);
  const std::size_t both_begin = std::max(note.first, other.first),
                    both_end = std::min(note.past, other.past);
  if (above != 0 && both_end > both_begin && note.peak <= other.peak &&
      std::abs(key_hz(key_of(note)) - key_hz(key_of(other))) < kLobe_hz)
    return true;  // low notes are wider than a semitone in spectra
  if (std::find(kHarmonics.begin(), kHarmonics.end(), above) == kHarmonics.end()) return false;
  const bool twins = apart(note.first, other.first) <= 4 && apart(note.past, other.past) <= 8;
  // Reeds have second, third and fifth harmonics that are stronger than the first.
  if (twins && (above == 12 || above == 19 || above == 28) && note.peak < kTwin * other.peak) return true;
  return note.peak <= kGhost * other.peak && both_end > both_begin &&
         both_end - both_begin > (note.past - note.first) / 2;
}

}  // namespace

std::vector<HeardNote> track_notes(const NoteView& view) {
  std::vector<HeardNote> notes;
  if (view.loudest.empty()) return notes;
  for (HeardNote stretch : stretches_of(view)) {
    find_beginning(view, stretch);
    split(view, stretch, notes);
  }
  std::erase_if(notes, [](const HeardNote& note) { return note.past < note.first + kShortest; });
  // In order of time, so that each is held against its neighbours only.
  std::sort(notes.begin(), notes.end(),
            [](const HeardNote& a, const HeardNote& b) { return a.first < b.first; });
  std::size_t longest = 0;
  for (const HeardNote& note : notes) longest = std::max(longest, note.past - note.first);
  const auto began_before = [](const HeardNote& note, std::size_t frame) { return note.first < frame; };
  std::vector<HeardNote> kept;
  for (const HeardNote& note : notes) {
    const auto from =
        std::lower_bound(notes.begin(), notes.end(), earlier(note.first, longest), began_before);
    const auto until = std::lower_bound(from, notes.end(), note.past, began_before);
    if (std::none_of(from, until, [&](const HeardNote& other) { return is_ghost_of(note, other); }))
      kept.push_back(note);
  }
  return kept;
}

}  // namespace burstloom
