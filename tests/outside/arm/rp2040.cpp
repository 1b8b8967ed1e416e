#include <nlohmann/json.hpp>

#include "bench.hpp"

namespace arm_check {

std::uint32_t status_address(const std::string& elf) {
  const std::string line = avr_check::shell("arm-none-eabi-nm '" + elf + "' | grep ' player_status$'");
  return static_cast<std::uint32_t>(std::stoul(line, nullptr, 16));
}

Playback play_rp2040(const std::string& elf, const Bench& bench) {
  const std::string stem = elf.substr(0, elf.size() - 3);
  std::string words = std::to_string(status_address(elf)) + " " + std::to_string(bench.seconds) + " " +
                      std::to_string(bench.stall_cycles) + " " + std::to_string(bench.songs);
  for (const auto& hand : bench.switches)
    words += " " + std::to_string(hand.at_s) + ":" + (hand.arm_closed ? "1" : "0") + ":" +
             (hand.stop_closed ? "1" : "0");
  const auto told =
      nlohmann::json::parse(avr_check::shell("cd '" BURSTLOOM_ARM_NODE "' && '" BURSTLOOM_NODE
                                             "' '" BURSTLOOM_ARM_SOURCES "/play_in_rp2040js.mjs' '" +
                                             stem + "uf2' '" + stem + "csv' " + words));
  Playback playback;
  playback.gate = avr_check::read_edges(stem + "csv");
  playback.status = {0xB5, told["state"], told["error"], told["songs"], told["made"], told["missed"]};
  playback.was_reset = told["reset"];
  playback.cycles = told["cycles"];
  playback.deepest_stack = told["deepest_stack"];
  return playback;
}

}  // namespace arm_check
