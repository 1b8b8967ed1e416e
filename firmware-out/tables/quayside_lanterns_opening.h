/*
 * Pulse table made by Burstloom for an ATmega328P at 16 MHz.
 * Song: Quayside Lanterns
 * Coil: Tern, table-top
 * judged by the limits of "Tern, table-top" from --coil bench-36v.toml: on-time at most 40
 *   us, gap at least 120 us, duty at most 14 % of any 10 ms and 7 % of any 1000 ms, peak
 *   current at most 70 A
 * not judged: switch voltage
 * 2765 bursts in 3 s. Limits compiled in: on-time at most 39.5 us, gap at least 121 us,
 * rest before the song may start again 0.001 s.
 * Any 10 ms: 14 % at most; of a damaged table, at most 1.23 times that.
 * Any 1000 ms: 7 % at most; of a damaged table, at most 1.23 times that.
 *
 * A Tesla coil can kill. Mains and the bus behind it are lethal, and the bus capacitors stay
 * charged after the plug is out. The spark is no harmless one: high voltage, and
 * radio-frequency currents that burn deep. It makes ozone and nitrogen oxides (air the room),
 * noise that harms hearing, and fire: keep what burns away and an extinguisher at hand. Nobody
 * with a pacemaker, hearing aid, insulin pump or other implant or medical device may come
 * near. Its fields disturb and destroy electronics. Keep people and animals at a distance and
 * never work on it alone.
 *
 * Follow your local codes, on radio interference too, and leave work that wants a licence to
 * those who hold one. The figures here are a prediction from a profile that somebody wrote: a
 * prediction is no permission. Try the gate signal on an oscilloscope before the bus is on,
 * then with a low bus, from a distance.
 *
 * Gate output: ACTIVE HIGH, no other polarity is built in. In reset and without power the pin
 * floats: a pull-down of 1 to 10 kOhm from the gate output to ground, at the gate driver's
 * input, is a MUST. If your driver wants an active-low signal, invert it in hardware, such
 * that an unpowered player means off. The player starts disarmed. It plays when its stop input
 * is closed and its arm input, seen open before, is closed; either one opening ends the song
 * at once, gate low.
 */
#ifndef BURST_TABLE_H
#define BURST_TABLE_H
#define BURST_TABLE_VERSION 1
#define BURST_TABLE_TICK_HZ 2000000UL
#define BURST_TABLE_COUNT 2765UL
#define BURST_TABLE_BYTES 405UL
#define BURST_TABLE_ENCODING 1
#define BURST_TABLE_VOICES 3
#define BURST_TABLE_CRC32 0x535D9080UL
#define BURST_TABLE_ON_MAX_TICKS 79UL
#define BURST_TABLE_GAP_MIN_TICKS 242UL
#define BURST_TABLE_REST_MS 1UL
#define BURST_GUARD_STRETCH_TICKS 1UL
#define BURST_GUARD_MEMORY_TICKS 2512560UL
#define BURST_GUARD_SLOTS 12
#define BURST_GUARD_WINDOWS BURST_GUARD_WINDOW(5025UL, 2786UL, 30150UL, 4, 0, 0) BURST_GUARD_WINDOW(251256UL, 139303UL, 2512560UL, 8, 4, 0)
#endif

#if !defined BURST_TABLE_LIMITS_ONLY && !defined BURST_TABLE_DATA
#define BURST_TABLE_DATA
#include <stdint.h>
#ifdef __AVR__
#include <avr/pgmspace.h>
#define BURST_TABLE_FLASH PROGMEM
#define BURST_TABLE_BYTE(at) pgm_read_byte(burst_table + (at))
#else
#define BURST_TABLE_FLASH
#define BURST_TABLE_BYTE(at) (burst_table[at])
#endif
static const uint8_t burst_table[BURST_TABLE_BYTES] BURST_TABLE_FLASH = {
66,76,80,84,1,1,36,0,128,132,30,0,205,10,0,0,113,1,0,0,79,0,0,0,
242,0,0,0,1,0,0,0,128,144,93,83,3,26,0,0,242,0,0,0,6,0,42,0,
0,29,0,0,36,0,0,193,17,0,28,125,115,116,217,11,0,30,107,25,186,77,13,0,
203,6,77,62,47,11,0,39,224,249,116,189,44,0,83,47,230,211,52,53,0,143,180,50,
249,7,199,2,0,2,12,4,180,1,11,4,107,12,7,135,1,224,162,8,0,8,7,237,
2,191,204,30,3,11,7,134,1,228,185,4,0,8,1,97,171,243,30,7,154,1,184,2,
5,8,164,15,12,67,8,242,3,92,192,158,12,4,84,17,4,92,8,84,17,4,39,8,
7,135,1,242,235,67,0,8,3,177,2,185,207,30,1,4,40,10,5,203,1,160,247,71,
8,4,142,1,9,3,131,1,200,152,4,2,191,191,191,191,191,191,191,191,191,191,191,146,
7,245,63,233,63,222,63,209,63,198,63,186,191,191,191,191,191,160,7,255,39,253,47,251,
47,248,39,246,47,244,47,241,39,239,47,237,47,234,39,232,47,230,47,228,39,225,47,223,
31,237,15,221,39,218,47,216,31,213,15,214,39,211,47,209,31,190,15,207,39,205,47,202,
31,167,15,62,39,71,47,78,31,130,15,86,39,95,47,102,31,169,15,110,39,118,55,207,
87,245,191,191,191,191,191,191,191,191,191,162,7,245,162,7,195,155,7,221,163,7,233,148,
7,205,55,198,55,147,185,7,174,191,7,118,170,7,211,119,135,55,157,155,7,245,161,7,
195,145,7,220,150,7,234,145,7,197,169,7,173,169,7,119,168,7,236,181,7,171,147,7,
235,147,7,201,103,156,147,7,172,147,7,235,181,7,173,146,7,234,157,7,254,
};
#endif
