// The account that a woven stream carries: its notes, and what the limits made of them.
#include <algorithm>
#include <cmath>
#include <limits>

#include "burstloom/common/words.hpp"
#include "burstloom/sets/weave_one.hpp"

namespace burstloom {
namespace {

// A stretch of sound as a note: its pitch is the rate at which it wants bursts.
std::vector<AccountedNote> notes_heard(const std::vector<WantedBurst>& wanted, std::int64_t tick_hz) {
  std::vector<AccountedNote> notes;
  std::vector<std::int64_t> bursts;
  for (const WantedBurst& burst : wanted) {
    if (burst.note >= notes.size()) {
      notes.resize(burst.note + 1, {.start = kEndOfTime, .end = 0});
      bursts.resize(burst.note + 1);
    }
    AccountedNote& note = notes[burst.note];
    note.start = std::min(note.start, burst.start);
    note.end = std::max(note.end, burst.start + burst.on);
    ++bursts[burst.note];
  }
  for (std::size_t i = 0; i < notes.size(); ++i) {
    AccountedNote& note = notes[i];
    if (bursts[i] == 0) note = {};
    const double seconds = static_cast<double>(note.end - note.start) / static_cast<double>(tick_hz);
    const double hz = std::max(1.0, static_cast<double>(bursts[i]) / std::max(seconds, 0.001));
    note.key = std::clamp(69 + 12 * std::log2(hz / 440), 0.0, 127.0);
  }
  return notes;
}

std::vector<AccountedNote> notes_read(const Score& score, const std::vector<WantedBurst>& wanted,
                                      std::int64_t tick_hz) {
  std::vector<AccountedNote> notes;
  notes.reserve(score.notes.size());
  for (const Note& note : score.notes)
    notes.push_back({.start = nearest_tick(note.start_s, tick_hz),
                     .end = nearest_tick(note.end_s, tick_hz),
                     .key = note.key,
                     .velocity = note.velocity,
                     .channel = note.channel,
                     .track = note.track});
  for (const WantedBurst& burst : wanted) notes[burst.note].voice = burst.voice;
  return notes;
}

// What happened to notes as a whole, in words beside them.
void tell_fates(const std::vector<NoteFate>& fates, std::vector<AccountedNote>& notes) {
  for (const NoteFate& fate : fates) {
    if (fate.what == NoteFateKind::played || fate.note >= notes.size()) continue;
    std::string& said = notes[fate.note].said;
    said += (said.empty() ? "" : "; ") + std::string(name_of(fate.what)) + " from " +
            clock_time(fate.from_s) + (fate.why.empty() ? "" : ": " + fate.why);
  }
}

}  // namespace

Account account_of(const std::optional<Score>& score, const Wanted& all_wanted, const Guarded& guarded,
                   const Profile& profile) {
  const std::vector<WantedBurst>& wanted = all_wanted.bursts;
  Account account;
  const std::int64_t tick_hz = guarded.stream.tick_hz;
  account.limits = limit_names(profile.limits);
  account.notes = score ? notes_read(*score, wanted, tick_hz) : notes_heard(wanted, tick_hz);
  tell_fates(all_wanted.fates, account.notes);
  constexpr auto kNone = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> burst_of(wanted.size(), kNone);
  account.note_of_burst.reserve(guarded.wanted_of.size());
  for (std::size_t i = 0; i < guarded.wanted_of.size(); ++i) {
    burst_of[guarded.wanted_of[i]] = static_cast<std::uint32_t>(i);
    account.note_of_burst.push_back(wanted[guarded.wanted_of[i]].note);
  }
  account.changes.reserve(guarded.ledger.entries.size());
  for (const LedgerEntry& entry : guarded.ledger.entries) {
    const std::uint32_t burst = burst_of[entry.wanted];
    account.changes.push_back({.note = entry.note,
                               .wanted_start = entry.wanted_start,
                               .wanted_on = entry.wanted_on,
                               .burst = burst == kNone ? std::nullopt : std::optional(burst),
                               .fate = entry.fate,
                               .causes = entry.causes});
  }
  return account;
}

}  // namespace burstloom
