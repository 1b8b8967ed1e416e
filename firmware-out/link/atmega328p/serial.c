/* The serial line of an ATmega328P: RXD is PD0, TXD is PD1; 8 data bits, no parity, 1 stop bit.
 *
 * The receiver holds two bytes and one that is just coming in. At 115 200 baud a byte takes 87 us, so it
 * wants to be emptied every 170 us or so, and more often at higher rates. The player keeps interrupts off
 * around each burst for longer than that; so it empties the receiver itself while it waits for the edges.
 * What is left are stretches of under 10 us. */
#include "serial.h"

#include <avr/interrupt.h>

#include "port.h"

/* At double speed the line is sampled eight times a bit. */
#define BAUD_DIVISOR ((F_CPU / 8 + BURST_LINK_BAUD / 2) / BURST_LINK_BAUD)
#define BAUD_MADE (F_CPU / 8 / BAUD_DIVISOR)
#if BAUD_MADE * 1000 > BURST_LINK_BAUD * 1025 || BAUD_MADE * 1000 < BURST_LINK_BAUD * 975
#error "this baud rate cannot be made from the clock to within 2.5 %"
#endif

uint8_t serial_received[256];
volatile uint8_t serial_head, serial_tail;

static const uint8_t* volatile sending;
static volatile uint8_t left_to_send;

ISR(USART_RX_vect) {
  serial_take();
}

ISR(USART_UDRE_vect) {
  if (left_to_send == 0) {
    UCSR0B &= (uint8_t)~_BV(UDRIE0);
  } else {
    UDR0 = *sending++;
    --left_to_send;
  }
}

void serial_begin(void) {
  serial_head = serial_tail = left_to_send = 0;
  PORTD |= _BV(PD0); /* an open wire is a silent line */
  UCSR0A = _BV(U2X0);
  UBRR0 = BAUD_DIVISOR - 1;
  UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
  UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
}

uint8_t serial_receive(uint8_t* byte) {
  const uint8_t tail = serial_tail;
  if (tail == serial_head) return 0;
  *byte = serial_received[tail];
  serial_tail = (uint8_t)(tail + 1);
  return 1;
}

uint8_t serial_idle(void) {
  return left_to_send == 0;
}

void serial_send(const uint8_t* bytes, uint8_t count) {
  sending = bytes;
  left_to_send = count;
  cli();
  UCSR0B |= _BV(UDRIE0);
  sei();
}
