/* What a Cortex-M chip gives to hardware.c, which has the order of things around a burst. All of it is called
 * with interrupts off. Beside it, port.h has CHIP_CYCLES_A_TICK, of the processor, and CHIP_LEAST_LEAD_TICKS:
 * a rise that is nearer is not armed. */
#ifndef BURST_CHIP_H
#define BURST_CHIP_H

#include "cortex_m.h"
#include "hardware.h"

uint32_t chip_now(void);
void chip_feed_watchdog(void);
uint8_t chip_stop_is_open(void);

/* Nothing is armed. Arms both edges, to be made by hardware; then looks again: 1 when the rise is still
 * ahead, or has come meanwhile; 0 when it was armed too late, with what is armed left to chip_gate_low. */
uint8_t chip_arm(uint32_t rise, uint16_t on);

/* Gate low at once, from every state, and nothing left armed. */
void chip_gate_low(void);

#endif
