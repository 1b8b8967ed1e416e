// What stands beside the cautions in everything that is built into a player.
#pragma once

#include <string_view>

#include "burstloom/common/cautions.hpp"

namespace burstloom::table_detail {

/// Of the gate output and its inputs, as every player has them.
inline constexpr std::string_view kPolarity[] = {
    "Gate output: ACTIVE HIGH, no other polarity is built in. In reset and without power the pin",
    "floats: a pull-down of 1 to 10 kOhm from the gate output to ground, at the gate driver's",
    "input, is a MUST. If your driver wants an active-low signal, invert it in hardware, such",
    "that an unpowered player means off. The player starts disarmed. It plays when its stop input",
    "is closed and its arm input, seen open before, is closed; either one opening ends the song",
    "at once, gate low.",
};

}  // namespace burstloom::table_detail
