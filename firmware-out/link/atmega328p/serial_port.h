/* The serial line of an ATmega328P, from the receiver's two bytes into memory. */
#ifndef BURST_SERIAL_PORT_H
#define BURST_SERIAL_PORT_H

#include <avr/io.h>
#include <stdint.h>

/* As many as an index of eight bits can tell, less one. What comes while they are full is lost, and the frame
 * with it: its checksum tells. */
extern uint8_t serial_received[256];
extern volatile uint8_t serial_head, serial_tail;

/* Takes a byte off the receiver, if there is one. Interrupts off. */
static inline void serial_take(void) {
  if (UCSR0A & _BV(RXC0)) {
    const uint8_t byte = UDR0, head = serial_head;
    if ((uint8_t)(head + 1) != serial_tail) {
      serial_received[head] = byte;
      serial_head = (uint8_t)(head + 1);
    }
  }
}

#endif
