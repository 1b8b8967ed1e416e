/* Burstloom's player on an ESP32. Starts disarmed; see README.md beside it for the wiring. */
#include "hardware.h"
#include "player.h"

void burst_player_run(void) {
  hardware_begin();
  player_begin();
  for (;;) player_step();
}
