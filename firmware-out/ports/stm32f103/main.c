/* Burstloom's player on an STM32F103. Starts disarmed; see README.md beside it for the wiring. */
#include "hardware.h"
#include "player.h"

int main(void) {
  hardware_begin();
  player_begin();
  for (;;) player_step();
}
