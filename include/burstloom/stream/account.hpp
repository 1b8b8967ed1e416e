// What became of the music: which note each burst plays, and what was done to those that are not as wanted.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "burstloom/common/files.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// What became of a wanted burst: the last of these that applies (design: promise 3).
enum class Fate : std::uint8_t { kept, lengthened, shortened, shifted, dropped };
inline constexpr std::size_t kFates = 5;
[[nodiscard]] const char* name_of(Fate fate);

/// A note as it was to be played.
struct AccountedNote {
  Tick start = 0, end = 0;
  double key = 69;      ///< MIDI note number, to the cent, 0 to 1000
  double velocity = 1;  ///< 0 to 1, to 1 / 255
  int channel = 0, track = 0, voice = 0;
  std::string said{};  ///< what happened to the note as a whole, in words; mostly empty
  friend bool operator==(const AccountedNote&, const AccountedNote&) = default;
};

/// A wanted burst that did not come out as it was wanted.
struct Change {
  std::uint32_t note = 0;  ///< index among the notes
  Tick wanted_start = 0, wanted_on = 0;
  std::optional<std::uint32_t> burst;  ///< index in the stream; none when dropped
  Fate fate = Fate::kept;
  std::uint32_t causes = 0;  ///< bit i: `limits[i]` had a part in it
  friend bool operator==(const Change&, const Change&) = default;
};

/// The account of one stream, carried in its .burst file for previews. Empty for streams that no music made.
struct Account {
  std::vector<std::string> limits;  ///< names of the limits, at most 32
  std::vector<AccountedNote> notes;
  std::vector<std::uint32_t> note_of_burst;  ///< for each burst of the stream
  std::vector<Change> changes;               ///< in the order in which they were wanted

  [[nodiscard]] bool empty() const { return notes.empty(); }
  friend bool operator==(const Account&, const Account&) = default;
};

/// The account of `excerpt(stream, from, until)`, of an account of `stream`: its notes (moved, cut to the
/// excerpt), its bursts, and what was wanted of them.
[[nodiscard]] Account excerpt(const Account& account, const BurstStream& stream, Tick from, Tick until);

/// The account as the part NOTE of a .burst file (docs/reference/burst-format.md). Throws Error (usage) for
/// one that names notes, bursts or limits that are not there.
[[nodiscard]] Bytes note_part(const Account& account, const BurstStream& stream);
/// Nothing when the bytes are no account of this stream.
[[nodiscard]] std::optional<Account> from_note_part(std::span<const std::uint8_t> part,
                                                    const BurstStream& stream);

}  // namespace burstloom
