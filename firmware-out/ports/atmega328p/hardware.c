/* The gate of an ATmega328P: PB1 (OC1A), active high. Arm input PD4, stop input PD5, both to ground, with the
 * internal pull-ups: an open wire reads as "not armed" and as "stop".
 *
 * Timer1 counts half microseconds and is never written to. Both edges of a burst are made by its output
 * compare, so they lie on their ticks whatever the processor does. What must never happen is a fall that is
 * armed too late: the compare would match a whole turn of the counter (32.8 ms) later, with the gate high all
 * that time. Therefore one section with interrupts off holds the whole burst:
 *
 *    alarm ...... [ look: time enough? > arm the rise > look again > RISE > arm the fall > FALL > gate_low ]
 *                  interrupts off                                                                 on again
 *
 * An interrupt that blocks before it makes the burst be skipped and counted; one that comes inside waits. The
 * end of the wait for the fall is read off the counter, not off the compare: even a lost match ends in
 * gate_low. */
#include "hardware.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#define GATE _BV(PB1)
#define ARM _BV(PD4)
#define STOP _BV(PD5)

/* Output compare modes of OC1A. */
#define FREE 0
#define FALL_ON_MATCH _BV(COM1A1)
#define RISE_ON_MATCH (_BV(COM1A1) | _BV(COM1A0))

/* A rise is armed when it is at least this far ahead as the section begins (4 us): arming takes under half.
 */
#define LEAST_LEAD_TICKS 8
/* The stop input is looked at until this close to the rise; then the program waits for the edge alone. */
#define LAST_LOOK_TICKS 3
/* The last moment for taking a byte from the serial line (4 us): that takes two ticks. */
#define LAST_TAKE_TICKS 8
/* Longest sleep (8 ms). An alarm that late by another 10 ms is still inside one turn of the counter (32.768
 * ms), and inside the watchdog's time of 32 ms, which runs from one hardware_now to the next. */
#define HOP_TICKS 16000
/* An alarm nearer than this is not worth setting. */
#define LEAST_SLEEP_TICKS 8

static uint32_t time_now; /* low half: the counter as last read */
static uint8_t clock_is_sound = 1;

EMPTY_INTERRUPT(TIMER1_COMPB_vect) /* the alarm: waking up is all it does */

/* Low at once, from every state. The compare unit keeps its level after it is cut off from the pin and would
 * show it when connected again: so it is forced to low by a strobe while connected, then cut off. */
static void gate_low(void) {
  TCCR1A = FALL_ON_MATCH;
  TCCR1C = _BV(FOC1A);
  TCCR1A = FREE;
  PORTB &= (uint8_t)~GATE;
}

/* Interrupts off. The counter's turns show in TOV1; one flag may stand for one turn at most, and a turn that
 * brings the counter past where it was means that nobody looked for more than 32.768 ms: the time is lost.
 * (Two turns cannot happen: the watchdog, 32 ms, at its slowest some 40, resets before.) */
static uint32_t now_masked(void) {
  uint8_t turned;
  uint16_t counter;
  do {
    turned = TIFR1 & _BV(TOV1);
    counter = TCNT1;
  } while (turned != (TIFR1 & _BV(TOV1)));
  if (turned) {
    TIFR1 = _BV(TOV1);
    if (counter >= (uint16_t)time_now) clock_is_sound = 0;
  }
  time_now += (uint16_t)(counter - (uint16_t)time_now);
  return time_now;
}

static uint8_t stop_is_open(void) {
  return PIND & STOP;
}

/* Interrupts off. Rise armed in time, and seen to be still ahead after that: 1. Else disarmed: 0. */
static uint8_t arm_rise(uint16_t rise) {
  if ((int16_t)(rise - TCNT1) < LEAST_LEAD_TICKS) return 0;
  OCR1A = rise;
  TIFR1 = _BV(OCF1A);
  TCCR1A = RISE_ON_MATCH;
  OCR1A = rise; /* nothing new for the chip; a simulator takes the mode over here */
  if ((int16_t)(rise - TCNT1) >= 1) return 1;
  gate_low();
  return 0;
}

/* Interrupts off, rise armed. */
static uint8_t rise_and_fall(uint16_t rise, uint16_t on) {
  const uint16_t fall = rise + on;
  uint8_t result = HARDWARE_MADE;
  while ((int16_t)(rise - TCNT1) > LAST_TAKE_TICKS) {
    if (stop_is_open()) return HARDWARE_STOPPED;
    HARDWARE_WHILE_WAITING();
  }
  while ((int16_t)(rise - TCNT1) > LAST_LOOK_TICKS) {
    if (stop_is_open()) return HARDWARE_STOPPED;
  }
  while (!(TIFR1 & _BV(OCF1A))) {
  }
  TCCR1A = FALL_ON_MATCH;
  OCR1A = fall;
  while ((uint16_t)(TCNT1 - rise) <= on) {
    if (stop_is_open()) {
      result = HARDWARE_STOPPED;
      break;
    }
    HARDWARE_WHILE_WAITING();
  }
  return result;
}

uint8_t hardware_make_burst(uint32_t rise, uint16_t on) {
  uint8_t result = HARDWARE_TOO_LATE;
  uint32_t ahead;
  cli();
  if (on > BURST_TABLE_ON_MAX_TICKS) on = BURST_TABLE_ON_MAX_TICKS;
  ahead = rise - now_masked();
  /* What is past is huge as an unsigned number. */
  if (ahead <= 2 * HARDWARE_LEAD_TICKS && arm_rise((uint16_t)rise)) {
    result = rise_and_fall((uint16_t)rise, on);
    gate_low();
  }
  sei();
  return result;
}

void hardware_gate_low(void) {
  cli();
  gate_low();
  sei();
}

uint32_t hardware_now(void) {
  uint32_t now;
  cli();
  now = now_masked();
  sei();
  wdt_reset();
  return now;
}

uint8_t hardware_conditions(void) {
  const uint8_t inputs = PIND;
  uint8_t conditions = 0;
  if (!(inputs & ARM)) conditions |= HARDWARE_ARM_GIVEN;
  if (!(inputs & STOP)) conditions |= HARDWARE_RUN_ALLOWED;
  if (clock_is_sound) conditions |= HARDWARE_CLOCK_SOUND;
  clock_is_sound = 1;
  return conditions;
}

void hardware_rest_until(uint32_t moment) {
  int32_t ahead;
  uint16_t alarm;
  cli();
  ahead = (int32_t)(moment - now_masked());
  if (ahead >= LEAST_SLEEP_TICKS) {
    alarm = (uint16_t)time_now + (ahead < HOP_TICKS ? (uint16_t)ahead : HOP_TICKS);
    OCR1B = alarm;
    TIFR1 = _BV(OCF1B);
    /* An alarm set too late would ring a turn later: then there is no sleep. From here on a ring is kept as a
     * flag and ends the sleep, which begins in the same moment as interrupts are let in. */
    if ((int16_t)(alarm - TCNT1) >= 1) {
      sleep_enable();
      sei();
      sleep_cpu();
      sleep_disable();
    }
  }
  sei();
}

void hardware_begin(void) {
  cli();
  /* After a watchdog reset the watchdog runs on at its shortest time: the flag goes first, then the time is
   * set. */
  MCUSR = 0;
  wdt_enable(WDTO_30MS);
  set_sleep_mode(SLEEP_MODE_IDLE);
  PORTD |= ARM | STOP;
  TCCR1A = FREE;
  TCCR1B = _BV(CS11);
  TIMSK1 = _BV(OCIE1B);
  gate_low();
  DDRB |= GATE; /* the pin drives low from here on; until now the pull-down outside did */
  sei();
}
