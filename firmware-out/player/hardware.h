/* What the player asks of a chip: five functions and one constant. A port implements them; a test stands in
 * for them on a PC. All moments are ticks of BURST_TABLE_TICK_HZ, modulo 2^32, on one counter that never
 * stops. */
#ifndef BURST_HARDWARE_H
#define BURST_HARDWARE_H

#include <stdint.h>

/* How long before a rise `hardware_make_burst` wants to be called, in ticks: HARDWARE_LEAD_TICKS. */
#include "port.h"

/* What one of the guard's slots takes to leave, in ticks: enough for eight bits at 16 MHz (measured: 21). */
#ifndef HARDWARE_SLOT_TICKS
#define HARDWARE_SLOT_TICKS 32UL
#endif

/* What must all be true for the gate to rise. */
enum {
  HARDWARE_ARM_GIVEN = 1,   /* the arm input is closed, as the pin shows it now, bounces and all */
  HARDWARE_RUN_ALLOWED = 2, /* the stop input is closed; a broken wire reads as stop */
  HARDWARE_CLOCK_SOUND = 4  /* the counter has been followed without a loss since the last call */
};

/* What became of a burst. */
enum {
  HARDWARE_MADE,     /* it rose and fell on its ticks */
  HARDWARE_TOO_LATE, /* its rise could no longer be armed in time; the pin stayed low */
  HARDWARE_STOPPED   /* the stop input opened before or during it; the pin is low */
};

/* The time now. To be called at least every 32 ms, which also tells the watchdog that the player lives. */
uint32_t hardware_now(void);

/* The conditions above, or-ed. Asking clears a loss of the clock. */
uint8_t hardware_conditions(void);

/* Gate high at `rise` for `on` ticks, both edges made by a timer. Never longer than the limit compiled in,
 * pin low on every way out. To be called with `rise` at most twice HARDWARE_LEAD_TICKS ahead. */
uint8_t hardware_make_burst(uint32_t rise, uint16_t on);

/* Sleeps until `moment` at the latest; may return at any time before. */
void hardware_rest_until(uint32_t moment);

/* Gate low, whatever was under way. */
void hardware_gate_low(void);

#endif
