/* STM32F103 at 72 MHz: what the player's portable part and the table need to know of this chip. */
#ifndef BURST_PORT_H
#define BURST_PORT_H

#include "table.h"

#if BURST_TABLE_TICK_HZ != 2000000
#error "TIM2 of this port counts 2 000 000 ticks a second (72 MHz / 36): export the table at that rate"
#endif
#if BURST_TABLE_ON_MAX_TICKS > 16000
#error "on-times above 8 ms do not fit the 16 bits that TIM1 counts them with: this port refuses them"
#endif

/* The alarm rings this long before a rise (15 us): to wake up, look at the inputs and arm both edges. */
#define HARDWARE_LEAD_TICKS 30
/* 4 us: arming takes under half. */
#define CHIP_LEAST_LEAD_TICKS 8
#define CHIP_CYCLES_A_TICK 36UL

/* A step of reading a table of voices takes no longer than this: measured on eight bits at 16 MHz, which are
 * slower. */
#define HARDWARE_READ_TICKS 170

void hardware_begin(void);

#endif
