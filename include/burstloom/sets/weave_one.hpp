// One song all the way: what `weave` and `set` share after a song is known as wanted bursts.
#pragma once

#include <optional>
#include <string>

#include "burstloom/check/judge.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/stream/files.hpp"
#include "burstloom/weave/song.hpp"

namespace burstloom {

/// The account that a woven stream carries; `score` where there is one, else the notes are what was heard.
[[nodiscard]] Account account_of(const std::optional<Score>& score, const std::vector<NoteFate>& fates,
                                 const Guarded& guarded, const Profile& profile);

/// The file of a song that was placed for this profile.
[[nodiscard]] BurstFile burst_file_of(const Song& song, const Guarded& guarded, const Profile& profile);

/// Throws Error (machine, naming `input`) when a stream that was just woven did not pass its own check.
void require_own_check(const Judgement& judgement, const std::string& input,
                       const std::string& not_done = "nothing was written");

}  // namespace burstloom
