// One song all the way: from what it wants of a coil to a judged stream with its account.
#pragma once

#include <optional>
#include <string>

#include "burstloom/check/judge.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/stream/files.hpp"
#include "burstloom/weave/song.hpp"

namespace burstloom {

struct Woven {
  Song song;
  Guarded guarded;
  Judgement judgement;
};

/// Places the song's bursts inside the profile's limits and judges the result. Throws Error (machine, naming
/// `input`) when the stream does not pass its own check; and what `place` throws.
[[nodiscard]] Woven weave_one(Song song, const Profile& profile, std::int64_t tick_hz, Placing placing,
                              const std::string& input);

/// The account that a woven stream carries; `score` where there is one, else the notes are what was heard.
[[nodiscard]] Account account_of(const std::optional<Score>& score, const Wanted& wanted,
                                 const Guarded& guarded, const Profile& profile);

/// The file of a woven song.
[[nodiscard]] BurstFile burst_file_of(const Woven& woven, const Profile& profile);

}  // namespace burstloom
