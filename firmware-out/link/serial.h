/* What the link asks of a chip: bytes in, bytes out. A port implements it; a test stands in for it on a PC.
 */
#ifndef BURST_SERIAL_H
#define BURST_SERIAL_H

#include <stdint.h>

void serial_begin(void);
/* The next byte received, if there is one: 1. Bytes that nobody fetched in time may be lost. */
uint8_t serial_receive(uint8_t* byte);
/* Whether the last message is out, so that its memory is free again. */
uint8_t serial_idle(void);
/* Sends `count` bytes, which must stay as they are until the line is idle again. Only while it is idle. */
void serial_send(const uint8_t* bytes, uint8_t count);

#endif
