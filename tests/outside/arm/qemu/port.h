/* The player on QEMU's Cortex-M0 board: tests only. */
#ifndef BURST_PORT_H
#define BURST_PORT_H

#include "table.h"

#define HARDWARE_LEAD_TICKS 80

void hardware_begin(void);

#endif
