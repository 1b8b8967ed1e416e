/* Burstloom's player on a computer, for one song. On a chip: for (;;) player_step(); */
#include "hardware.h"
#include "player.h"

int main(void) {
  hardware_begin();
  player_begin();
  while (player_status.songs == 0 && player_status.error == PLAYER_NO_ERROR) player_step();
  return player_status.error;
}
