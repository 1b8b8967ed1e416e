/* A neighbour's interrupt that keeps all others out, for BLOCK_US at a time, at moments that look random: the
 * fault that the player must survive. Timer2 decides when; PD7 is high while it blocks. Compiled in by the
 * tests only. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <stdint.h>
#include <util/delay_basic.h>

#ifndef BLOCK_SEED
#define BLOCK_SEED 1
#endif

static uint16_t dice = 40503U * BLOCK_SEED;
static uint8_t turns_left = 200; /* of at most 16 ms each: the first block comes when the song plays */

/* A 16-bit xorshift (7, 9, 8): cheap, so that the interrupt lasts little longer than its block. */
static uint8_t throw_dice(void) {
  dice ^= dice << 7;
  dice ^= dice >> 9;
  dice ^= dice << 8;
  return (uint8_t)(dice >> 4);
}

ISR(TIMER2_COMPA_vect) {
  if (turns_left != 0 && --turns_left != 0) return;
  PORTD |= _BV(PD7);
#if BLOCK_US >= 10
  {
    uint16_t tens;
    for (tens = 0; tens < BLOCK_US / 10; ++tens) _delay_loop_2(40); /* 4 cycles each */
  }
#endif
  PORTD &= (uint8_t)~_BV(PD7);
  OCR2A = throw_dice() | 15; /* 1 to 16 ms a turn */
  turns_left = throw_dice() & BLOCK_SPREAD;
  TCNT2 = 0; /* no block at the heels of another */
  TIFR2 = _BV(OCF2A);
}

__attribute__((constructor)) static void begin(void) {
  DDRD |= _BV(PD7);
  OCR2A = 20;
  TCCR2A = _BV(WGM21);
  TCCR2B = _BV(CS22) | _BV(CS21) | _BV(CS20);
  TIMSK2 = _BV(OCIE2A);
}
