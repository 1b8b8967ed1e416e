/* The causal weaver: several voices, each wanting a burst a period, take turns at one spark. Integers only,
 * the same code on every chip and on a PC, so that both make the same bursts to the tick.
 *
 * A burst that is due while the coil is not free waits. It is dropped when it would wait for longer than its
 * voice's cap, and (where the weaver yields) when making it would bring a voice before it past its own cap:
 * voices stand in order of importance, the first is heard best.
 *
 * All moments are ticks modulo 2^32; those that are compared lie less than 2^31 apart. */
#ifndef BURST_WEAVER_H
#define BURST_WEAVER_H

#include <stdint.h>

/* How many voices there is room for. */
#ifndef WEAVER_VOICES
#ifdef BURST_TABLE_VOICES
#define WEAVER_VOICES BURST_TABLE_VOICES
#else
#define WEAVER_VOICES 17
#endif
#endif

/* No voice at all. */
#define WEAVER_NONE 255

struct weaver_voice {
  uint32_t next, fraction;          /* when its next burst is wanted: ticks, and parts of 2^32 of a tick */
  uint32_t period, period_fraction; /* likewise */
  uint32_t on;                      /* of its next burst, in parts of 2^16 of a tick */
  uint32_t cap;                     /* how long a burst may wait, ticks */
  uint16_t left;                    /* bursts until it has to be told more; 0: it is not sounding */
  int8_t fade;                      /* each on-time is the one before less fade / 2^14 of it */
};

struct weaver {
  uint32_t now;       /* when the last burst taken was wanted */
  uint32_t free_from; /* from when the coil is free */
  uint32_t gap;       /* from a burst's end to the next one's start, ticks */
  uint8_t voices;
  uint8_t cap; /* of every voice, in 1/256 of its period */
  uint8_t yields;
  struct weaver_voice voice[WEAVER_VOICES];
};

struct weaver_burst {
  uint32_t start, on;
};

/* No voice sounds; the coil is free. At most WEAVER_VOICES voices. */
void weaver_begin(struct weaver* weaver, uint8_t voices, uint32_t gap, uint8_t cap, uint8_t yields);

/* A period of `period` + `fraction` / 2^32 ticks from the last burst on; the train stands at the middle of
 * that burst's tick. */
void weaver_set_period(struct weaver* weaver, uint8_t voice, uint32_t period, uint32_t fraction);
/* The next burst is wanted `delay` ticks after the last one, whatever the period. */
void weaver_start(struct weaver_voice* voice, uint32_t delay);
/* The next burst is wanted a period after the last one. */
void weaver_go_on(struct weaver_voice* voice);
/* The on-time of the next burst, in ticks, and how it goes on from there. */
void weaver_set_on(struct weaver_voice* voice, uint16_t on, int8_t fade);
/* One step of the fade. */
void weaver_fade(struct weaver_voice* voice);

/* The voice that wants the next burst, of two at one moment the first; WEAVER_NONE when none sounds. */
uint8_t weaver_first(const struct weaver* weaver);
/* Takes that voice's burst as it is wanted. The voice goes on by itself while it has bursts left. */
void weaver_take(struct weaver* weaver, uint8_t voice, struct weaver_burst* burst);
/* What becomes of the burst taken last: 1 with its start as it is to be, or 0 when it is dropped. */
uint8_t weaver_settle(const struct weaver* weaver, uint8_t voice, struct weaver_burst* burst);
/* This burst is being made. */
void weaver_made(struct weaver* weaver, const struct weaver_burst* burst);

#endif
