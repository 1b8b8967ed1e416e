/* A template: five functions and a beginning. Each says what a chip has to do in its place; the lines below
 * it stand in for a chip, with a clock that goes on when it is asked, and an arm switch that is closed after
 * 50 ms.
 *
 * What must never happen: the gate high for longer than one on-time. So both edges are armed before the rise,
 * by a timer in one-pulse mode, a state machine or a peripheral that takes a pulse as a whole. Two compare
 * matches set by software, one after the other, are second best: a fall that is set too late comes a whole
 * turn of the counter later. */
#include "hardware.h"

#include <stdio.h>

#define TICKS_A_CALL 2
#define ARM_CLOSES_AT (50UL * BURST_TABLE_TICK_HZ / 1000UL)

static uint32_t now;
static uint32_t first_rise;
static uint8_t any_burst;

/* The chip: pin low first, then an output. Watchdog on, at 32 ms. Inputs with pull-ups. A counter of
 * BURST_TABLE_TICK_HZ from a crystal, free-running and never written to. */
void hardware_begin(void) {
  now = 0;
  any_burst = 0;
}

/* The chip: reads the counter, and widens it to 32 bits when it has fewer; feeds the watchdog. Interrupts off
 * while the two halves are read. */
uint32_t hardware_now(void) {
  now += TICKS_A_CALL;
  return now;
}

/* The chip: reads both inputs as they are. HARDWARE_CLOCK_SOUND is left out when the counter may have made a
 * whole turn unseen. */
uint8_t hardware_conditions(void) {
  const uint8_t arm = now >= ARM_CLOSES_AT ? HARDWARE_ARM_GIVEN : 0;
  return arm | HARDWARE_RUN_ALLOWED | HARDWARE_CLOCK_SOUND;
}

/* The chip, with interrupts off until the burst is over, or until both edges are armed:
 *   1. clamps `on` to BURST_TABLE_ON_MAX_TICKS;
 *   2. leaves the burst out, HARDWARE_TOO_LATE, when its rise is not far enough ahead to be armed in time;
 *   3. arms both edges, looks at the counter again, and disarms when the rise is no longer ahead, unless the
 *      timer has begun with it: HARDWARE_TOO_LATE;
 *   4. looks at the stop input until the fall: when it opens, takes the pin low at once, HARDWARE_STOPPED;
 *   5. takes the pin low in any case. */
uint8_t hardware_make_burst(uint32_t rise, uint16_t on) {
  if (on > BURST_TABLE_ON_MAX_TICKS) on = BURST_TABLE_ON_MAX_TICKS;
  if (rise - now > 2 * HARDWARE_LEAD_TICKS)
    return HARDWARE_TOO_LATE; /* what is past is huge as an unsigned number */
  if (!any_burst) first_rise = rise;
  any_burst = 1;
  printf("%lu,%u\n", (unsigned long)(rise - first_rise), (unsigned)on);
  now = rise + on;
  return HARDWARE_MADE;
}

/* The chip: sleeps until an alarm at `moment`, for at most a quarter of the watchdog's time; returns at once
 * when the moment is near or past. It may return early, never late. */
void hardware_rest_until(uint32_t moment) {
  const int32_t ahead = (int32_t)(moment - now);
  if (ahead > 0) now += ahead < 16000 ? (uint32_t)ahead : 16000;
}

/* The chip: pin low at once, whatever the timer is about to do, and nothing left armed. */
void hardware_gate_low(void) {}
