/* The stand-in chip of the link's tests. */
#ifndef BURST_PORT_H
#define BURST_PORT_H
#define HARDWARE_LEAD_TICKS 40
#endif
