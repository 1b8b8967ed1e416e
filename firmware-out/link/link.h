/* A serial link as the player's source of bursts (docs/reference/serial-link.md has it byte by byte). Nothing here
 * trusts the wire: a frame counts when its checksum, its length and its place in the sequence are right, and
 * every burst comes out inside the compiled limits or not at all.
 *
 *            BEGIN heard              player armed                buffer full, or the end is in it
 *   no song -------------> offered ----------------> bursts wanted -------------------------------> playing
 *      ^                      |                            |                                           |
 *      +--- 80 ms silence ----+--- song over: its end, 80 ms silence, STOP, no next burst, a switch ---+
 *
 * A live session is a song that plays as soon as the player is armed, with an empty buffer, and in which no
 * next burst means: wait.
 *
 * Must never happen: a song that plays on while nobody is at the other end, or one that starts because of
 * what is left of an earlier one. So each song needs a BEGIN of its own before the player is armed, bursts
 * are taken only once it is armed, and silence ends everything. */
#ifndef BURST_LINK_H
#define BURST_LINK_H

#include "source.h"

enum {
  LINK_VERSION = 2,
  LINK_LONGEST_PAYLOAD = 64, /* bytes of bursts in one frame */
  LINK_RING_BYTES = 1024,    /* a power of two */
  LINK_CRC_BYTES = 2,
  /* A checksum is written behind the bursts before it is known to be one. */
  LINK_BUFFER_BYTES = LINK_RING_BYTES - LINK_CRC_BYTES
};

/* Frames, by their first byte. */
enum {
  LINK_HELLO = 0x01,
  LINK_BEGIN = 0x02,
  LINK_BURSTS = 0x03,
  LINK_ALIVE = 0x04,
  LINK_STOP = 0x05,
  LINK_PLAYER = 0x81,
  LINK_STATUS = 0x82
};

/* What BEGIN offers, by its last byte. */
enum {
  LINK_SONG = 0, /* entries as in tables of pairs */
  LINK_LIVE = 1  /* the same, and rests: entries with an on-time of 0 */
};

/* Gate low 100 ms after the last frame at the latest: this much silence, one longest sleep of the player (8
 * ms), one longest burst (8 ms). */
#define LINK_SILENCE_TICKS (BURST_TABLE_TICK_HZ / 1000UL * 80)
/* A player that wants or plays bursts says how it stands this often. */
#define LINK_STATUS_TICKS (BURST_TABLE_TICK_HZ / 1000UL * 10)

#endif
