// A still picture of what a coil does: current against time, and how long bursts may be at each break rate.
#pragma once

#include <string>

#include "burstloom/coil/profile.hpp"
#include "burstloom/preview/picture.hpp"

namespace burstloom {

/// The primary current of the longest burst that a stream may command and its ring-down, with streamers and without, against
/// the limit; and the longest on-time of a note that never ends against its break rate. The file's bytes. Throws Error
/// (bad_input) when the profile gives no model of the current.
[[nodiscard]] std::string coil_picture(const Profile& profile, PictureKind kind);

}  // namespace burstloom
