// The account that a woven stream carries: its notes, and what the limits made of them.
#include <algorithm>
#include <cmath>

#include "burstloom/sets/weave_one.hpp"
#include "burstloom/weave/note_sums.hpp"

namespace burstloom {
namespace {

// A stretch of sound as a note: its pitch is the rate at which it wants bursts.
std::vector<AccountedNote> notes_heard(const Guarded& guarded) {
  std::vector<AccountedNote> notes;
  std::vector<std::int64_t> bursts;
  for_each_outcome(guarded, [&](const Outcome& burst) {
    if (burst.note >= notes.size()) {
      notes.resize(burst.note + 1, {.start = kEndOfTime, .end = 0});
      bursts.resize(burst.note + 1);
    }
    AccountedNote& note = notes[burst.note];
    note.start = std::min(note.start, burst.wanted_start);
    note.end = std::max(note.end, burst.wanted_start + burst.wanted_on);
    ++bursts[burst.note];
  });
  for (std::size_t i = 0; i < notes.size(); ++i) {
    AccountedNote& note = notes[i];
    if (bursts[i] == 0) note = {};
    const double seconds = guarded.stream.seconds(note.end - note.start);
    const double hz = std::max(1.0, static_cast<double>(bursts[i]) / std::max(seconds, 0.001));
    note.key = std::clamp(69 + 12 * std::log2(hz / 440), 0.0, 127.0);
  }
  return notes;
}

std::vector<AccountedNote> notes_read(const Score& score, const Guarded& guarded) {
  const std::int64_t tick_hz = guarded.stream.tick_hz;
  std::vector<AccountedNote> notes;
  notes.reserve(score.notes.size());
  for (const Note& note : score.notes)
    notes.push_back({.start = nearest_tick(note.start_s, tick_hz),
                     .end = nearest_tick(note.end_s, tick_hz),
                     .key = note.key,
                     .velocity = note.velocity,
                     .channel = note.channel,
                     .track = note.track});
  for_each_outcome(guarded, [&](const Outcome& burst) { notes[burst.note].voice = burst.voice; });
  return notes;
}

// What happened to notes as a whole, in words beside them.
void tell_fates(const std::vector<NoteFate>& fates, std::vector<AccountedNote>& notes) {
  for (const NoteFate& fate : fates) {
    if (fate.what == NoteFateKind::played || fate.note >= notes.size()) continue;
    std::string& said = notes[fate.note].said;
    said += (said.empty() ? "" : "; ") + words_of(fate);
  }
}

}  // namespace

Account account_of(const std::optional<Score>& score, const std::vector<NoteFate>& fates,
                   const Guarded& guarded, const Profile& profile) {
  Account account;
  account.limits = limit_names(profile.limits);
  account.notes = score ? notes_read(*score, guarded) : notes_heard(guarded);
  tell_fates(fates, account.notes);
  account.changes.reserve(guarded.ledger.entries.size());
  for_each_outcome(guarded, [&](const Outcome& it) {
    if (it.entry == nullptr) return;
    account.changes.push_back({.note = it.note,
                               .wanted_start = it.wanted_start,
                               .wanted_on = it.wanted_on,
                               .burst = it.burst,
                               .fate = it.entry->fate,
                               .causes = it.entry->causes});
  });
  account.note_of_burst = guarded.note_of;
  return account;
}

}  // namespace burstloom
