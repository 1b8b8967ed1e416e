/* stub [STOP]: an ESP32 for its player: time, RMT channel 0 and the switches, as the Technical Reference
 * Manual has them. Each access to a register takes four cycles of 80 MHz; stop opens at cycle STOP. Prints
 * `cycle,level` for each edge of the gate, after a heading. Its exit code is the player's error. */
#include <stdio.h>
#include <stdlib.h>

#include "esp32.h"
#include "hardware.h"
#include "player.h"

enum { APB_CYCLES_AN_ACCESS = 4, RMT_SIG_OUT0 = 87 };

static unsigned long long cycle;
static uint32_t timer_config, timer_latched, ram[2], out_sel, watchdog_config, wdt_hold;
static unsigned long long watchdog_fed, rise, fall, stop_opens;
static int high;

static unsigned long long from_ms(unsigned long ms) {
  return ms * 80000ULL;
}

static void fail(const char* what) {
  fprintf(stderr, "%s at cycle %llu\n", what, cycle);
  exit(1);
}

static void show(unsigned long long at, int level) {
  if (level == high) return;
  high = level;
  printf("%llu,%d\n", at, level);
}

/* The pin shows RMT only while it is connected with it. */
static void pass_access(void) {
  cycle += APB_CYCLES_AN_ACCESS;
  if (out_sel == RMT_SIG_OUT0 && cycle >= rise && cycle < fall) show(rise, 1);
  if (cycle >= fall) show(fall, 0);
}

static void connect(uint32_t signal) {
  out_sel = signal;
  if (signal != RMT_SIG_OUT0) show(cycle, 0);
}

/* One item of low and high, then an end. */
static void transmit(void) {
  const unsigned long long divider = 40;
  const uint32_t low = ram[0] & 0x7FFF, on = ram[0] >> 16 & 0x7FFF;
  if ((ram[0] & 0x8000) != 0 || (ram[0] >> 31) != 1 || ram[1] != 0) fail("no burst in the item");
  if (out_sel != RMT_SIG_OUT0) fail("RMT started with the pin elsewhere");
  rise = cycle + low * divider;
  fall = rise + on * divider;
}

static uint32_t inputs(void) {
  return (cycle >= from_ms(50) ? 0 : 1UL << 21) | (cycle < stop_opens ? 0 : 1UL << 19); /* arm, stop */
}

uint32_t esp32_read(uint32_t address) {
  pass_access();
  if (address == 0x3FF60004UL) return timer_latched;
  if (address == 0x3FF4403CUL) return inputs();
  return 0;
}

void esp32_write(uint32_t address, uint32_t value) {
  pass_access();
  if (watchdog_config >> 31 && cycle > watchdog_fed + wdt_hold * 40000ULL) fail("the watchdog has bitten");
  switch (address) {
    case 0x3FF60000UL:
      timer_config = value;
      break;
    case 0x3FF6000CUL:
      if (timer_config != (1UL << 31 | 1UL << 30 | 40UL << 13)) fail("the timer does not count ticks");
      timer_latched = (uint32_t)(cycle / 40);
      break;
    case 0x3FF60048UL:
      watchdog_config = value;
      break;
    case 0x3FF60050UL:
      wdt_hold = value;
      break;
    case 0x3FF60060UL:
      watchdog_fed = cycle;
      break;
    case 0x3FF56800UL:
      ram[0] = value;
      break;
    case 0x3FF56804UL:
      ram[1] = value;
      break;
    case 0x3FF44578UL:
      connect(value & 0x1FF);
      break;
    case 0x3FF56024UL:
      if (value & 1) transmit();
      break;
    default:
      break;
  }
}

int main(int count, char** words) {
  stop_opens = count > 1 ? strtoull(words[1], NULL, 10) : ~0ULL;
  printf("cycle,level\n");
  hardware_begin();
  player_begin();
  while (player_status.songs == 0 && player_status.error == PLAYER_NO_ERROR) player_step();
  if (!(watchdog_config >> 31) || wdt_hold != 64) fail("no watchdog of 32 ms");
  return player_status.error;
}
