/* The player's hardware on a Cortex-M whose timers make both edges of a burst once they have been armed. One
 * section with interrupts off holds the whole burst, so that stop is looked at until the fall; that the gate
 * falls does not depend on it. */
#include "chip.h"

/* Longest sleep (8 ms). With another 10 ms of other interrupts it is still inside the watchdog's shortest
 * time, which runs from one hardware_now to the next, and inside the turn of a counter of 16 bits. */
#define HOP_TICKS 16000
#define LEAST_SLEEP_TICKS 4

/* One tick past the fall: the edges come a few cycles after their tick. */
static uint8_t watch_stop_until_past(uint32_t fall) {
  while ((int32_t)(chip_now() - fall) < 1) {
    if (chip_stop_is_open()) return HARDWARE_STOPPED;
  }
  return HARDWARE_MADE;
}

uint8_t hardware_make_burst(uint32_t rise, uint16_t on) {
  uint8_t result = HARDWARE_TOO_LATE;
  uint32_t ahead;
  interrupts_off();
  if (on > BURST_TABLE_ON_MAX_TICKS) on = BURST_TABLE_ON_MAX_TICKS;
  ahead = rise - chip_now();
  /* What is past is huge as an unsigned number. */
  if (on != 0 && ahead >= CHIP_LEAST_LEAD_TICKS && ahead <= 2 * HARDWARE_LEAD_TICKS) {
    if (chip_arm(rise, on)) result = watch_stop_until_past(rise + on);
    chip_gate_low();
  }
  interrupts_on();
  return result;
}

void hardware_gate_low(void) {
  interrupts_off();
  chip_gate_low();
  interrupts_on();
}

uint32_t hardware_now(void) {
  uint32_t now;
  interrupts_off();
  now = chip_now();
  chip_feed_watchdog();
  interrupts_on();
  return now;
}

void hardware_rest_until(uint32_t moment) {
  int32_t ahead;
  interrupts_off();
  ahead = (int32_t)(moment - chip_now());
  if (ahead > HOP_TICKS) ahead = HOP_TICKS;
  if (ahead >= LEAST_SLEEP_TICKS) sleep_for((uint32_t)(ahead - 1) * CHIP_CYCLES_A_TICK);
  interrupts_on();
}
