// A sound file that cannot be half-written unnoticed.
#pragma once

#include <sndfile.h>

#include <memory>
#include <string>

#include "burstloom/common/files.hpp"

namespace burstloom {

using SoundOut = std::unique_ptr<SNDFILE, decltype(&sf_close)>;

/// A sound to be written into `file`, which must outlive it. libsndfile forgets that the last write, of the
/// header, has failed; `file` does not. Throws Error (machine) when it cannot be begun; `path` is what
/// messages call it.
[[nodiscard]] SoundOut open_sound(FileInPieces& file, SF_INFO format, const std::string& path);

}  // namespace burstloom
