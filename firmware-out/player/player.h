/* The player: who may start a song, when, and which burst comes next. The same code on every chip and on a
 * PC.
 *
 *      +-- a set's next song: pause passed, arm and stop closed all the while ----------+
 *      |                                                                                v
 *      |     rest passed             arm open             arm closed (and stop closed)
 *   RESTING -------------> RELEASE ------------> READY ---------------------------> CHECKING
 *      ^                      ^                    |  arm closed, stop open            |  |
 *      |                      +--------------------+  or no song on offer        sound |  | bad table
 *      |  end, stop open, arm open, clock lost, table broken, link lost or starved     v  v
 *      +--------------------------------------------------------------------- PLAYING   FAULT
 *
 * The gate can rise in PLAYING only. Must never happen: a start that nobody gave. So each start needs an arm
 * input seen open after the rest and then closed; a stuck or held switch, or a stop input closed again,
 * starts nothing. The songs of a set (set.h) share one start, as long as neither input opens and nothing
 * goes wrong. Where bursts come from, a table or a link, is source.h's. FAULT is left by a reset alone.
 * After a reset the rest is kept too: the player cannot know what ran before. */
#ifndef BURST_PLAYER_H
#define BURST_PLAYER_H

#include <stdint.h>

enum { PLAYER_RESTING, PLAYER_RELEASE, PLAYER_READY, PLAYER_CHECKING, PLAYER_PLAYING, PLAYER_FAULT };

/* Why the last song ended before its end, or did not start. */
enum {
  PLAYER_NO_ERROR = 0,
  /* 1 to 7: what is wrong with the table, as in table.h */
  PLAYER_STOP_OPENED = 16,
  PLAYER_DISARMED = 17,
  PLAYER_CLOCK_LOST = 18,
  PLAYER_LINK_LOST = 19,   /* the computer has not been heard for too long */
  PLAYER_STARVED = 20,     /* the next burst was not there when the one before had ended; live: nothing was
                              told for PLAYER_UNTOLD_MS */
  PLAYER_HOST_STOPPED = 21 /* the computer asked for it */
};

enum { PLAYER_STATUS_MARK = 0xB5 };

/* For a debugger or a simulator to read; nothing in the player depends on it. */
struct player_status {
  uint8_t mark;     /* PLAYER_STATUS_MARK once the player runs */
  uint8_t state;    /* PLAYER_RESTING... */
  uint8_t error;    /* last one since reset */
  uint8_t songs;    /* played to their end */
  uint32_t made;    /* bursts since the last start */
  uint32_t missed;  /* bursts since the last start whose rise could not be armed in time */
  uint32_t refused; /* bursts since the last start that the guard kept back: never of a sound table */
};
extern volatile struct player_status player_status;

/* A song is over when what was told of it lies back so long: moments are compared on a counter that turns
 * over. */
enum { PLAYER_UNTOLD_MS = 2000 };

/* 0 when it does not rest. */
uint32_t player_rest_left_ms(void);
/* Ticks since the moment that the song playing, or played last, calls zero; modulo 2^32. */
uint32_t player_song_time(void);

void player_begin(void);
/* Does what is due now and sleeps until there is more; to be called for ever. */
void player_step(void);

#endif
