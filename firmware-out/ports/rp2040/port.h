/* RP2040 at 120 MHz: what the player's portable part and the table need to know of this chip. */
#ifndef BURST_PORT_H
#define BURST_PORT_H

#include "table.h"

#if BURST_TABLE_TICK_HZ != 2000000
#error "this port's clock counts 2 000 000 ticks a second (120 MHz / 60): export the table at that rate"
#endif
#if BURST_TABLE_ON_MAX_TICKS > 16000
#error "on-times above 8 ms would keep the program waiting for too long: this port refuses them"
#endif

/* The alarm rings this long before a rise (10 us): to wake up, look at the inputs and arm both edges. */
#define HARDWARE_LEAD_TICKS 20
/* 2 us: arming takes under half. */
#define CHIP_LEAST_LEAD_TICKS 4
#define CHIP_CYCLES_A_TICK 60UL

/* A step of reading a table of voices takes no longer than this: measured on eight bits at 16 MHz, which are
 * slower. */
#define HARDWARE_READ_TICKS 170

void hardware_begin(void);

#endif
