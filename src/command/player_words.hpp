// What is said of a player on a link, for one song or live.
#pragma once

#include <cmath>
#include <random>
#include <string>

#include "burstloom/link/frames.hpp"
#include "command_line.hpp"

namespace burstloom::command {

/// Tells this song from one that a sender before has left on the player.
[[nodiscard]] inline std::uint8_t new_session() {
  std::random_device dice;
  return static_cast<std::uint8_t>(1 + dice() % 255);
}

/// What it waits for, or a person has to do, before it plays.
[[nodiscard]] inline std::string waiting_for(const PlayerStatus& status) {
  switch (status.state) {
    case PlayerState::resting:
      return "the player rests for another " + figure(std::ceil(status.rest_left_s)) + " s";
    case PlayerState::release:
      return "open the arm switch (and see that the stop input is closed)";
    case PlayerState::ready:
      return "ready: close the arm switch to begin";
    case PlayerState::fault:
      return "the player has a fault: reset it";
    default:
      return "the player plays another song";
  }
}

}  // namespace burstloom::command
