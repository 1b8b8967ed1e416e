/* Where the player's bursts come from: a table in flash (table_source.c), or a link over which a computer
 * sends them while they play (link.c). One of the two is compiled in. */
#ifndef BURST_SOURCE_H
#define BURST_SOURCE_H

#include <stdint.h>

#include "hardware.h"
#include "table.h"

/* What `source_check` and `source_next` answer; any other value is an error for player_status.error. */
enum {
  SOURCE_GOOD = 0,   /* the song may start; here is a burst */
  SOURCE_WAIT = 254, /* not known yet: ask again. A burst that is not known when it is due is not made */
  SOURCE_END = 255   /* the song is over */
};

void source_begin(void);
/* A song is there to be started now. */
uint8_t source_offers(uint32_t now);
/* The check before a start, some of it at each call after the first: WAIT, GOOD or an error. */
void source_check_begin(void);
uint8_t source_check(void);
/* Before the first burst of a song that was found GOOD. */
void source_start(void);
/* GOOD with `burst` filled in, inside the compiled limits; WAIT; END; or an error. With a `listed_on` of 0 it
 * is a rest: nothing is made, the next gap counts from its end. Who lets the player WAIT has to go on telling
 * of rests meanwhile (PLAYER_UNTOLD_MS). Only a link does either (SOURCE_IS_LINK). */
uint8_t source_next(struct table_burst* burst);
/* An error that ends a song which is checked or played at `now`, or 0. */
uint8_t source_trouble(uint32_t now);
/* The song that was started, or was about to, is over: played to its end, or for whatever other reason. */
void source_over(uint8_t played);
/* How long the player rests after that; after a reset BURST_TABLE_REST_MS. */
uint32_t source_rest_ms(void);
/* Another song comes when the rest is over, without being armed anew: only in a set (set.h). */
#ifdef BURST_SET_SONGS
uint8_t source_goes_on(void);
#else
#define source_goes_on() 0
#endif

/* Does a little of what the source has to do beside: takes less than SOURCE_WORK_TICKS. 1 when there may be
 * more to do at once. */
uint8_t source_work(uint32_t now);
#ifdef BURST_LINK_BAUD
#define SOURCE_IS_LINK 1
#define SOURCE_WORK_TICKS (BURST_TABLE_TICK_HZ / 1000000UL * 40)
#else
#define SOURCE_IS_LINK 0 /* what only a live session needs is left out */
#ifdef HARDWARE_READ_TICKS
#define SOURCE_WORK_TICKS HARDWARE_READ_TICKS
#else
#define SOURCE_WORK_TICKS 0
#endif
#endif

#endif
