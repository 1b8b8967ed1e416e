/* Reading a voice table (docs/reference/table-format.md): each voice's program feeds the weaver, and corrections say
 * where the stream is not what the weaver makes of it. Nothing here trusts the table. */
#ifndef BURST_VOICES_H
#define BURST_VOICES_H

#include "table_bytes.h"
#include "weaver.h"

/* So many bursts wanted one after the other may be dropped; a table with more of them is broken. It bounds
 * the work for a burst. */
#define VOICES_MOST_DROPS 24

/* A stretch of a program begins with a byte: what it says, and in its upper half how many bursts it has (0: a
 * number follows). */
enum { VOICE_SAYS_START = 1, VOICE_SAYS_PERIOD = 2, VOICE_SAYS_ON = 4, VOICE_SAYS_FADE = 8 };

/* Where one voice's program is being read. */
struct voice_program {
  table_index at, end;
};

struct voice_reader {
  struct weaver weaver;
  struct voice_program program[WEAVER_VOICES];
  struct voice_program corrections;
  table_index periods_at;
  uint16_t periods;
  uint32_t end;   /* of the last burst, ticks since the start of the song */
  uint32_t shift; /* of the corrected burst, modulo 2^32 */
  uint16_t on;    /* of the corrected burst */
  uint8_t right;  /* bursts until the correction at hand applies */
  uint8_t action;
  uint8_t to_tell; /* the voice that has to be told how it goes on, or WEAVER_NONE */
  uint8_t drops;   /* since the last burst that was made */
};

enum { VOICES_BURST, VOICES_MORE, VOICES_END, VOICES_BROKEN };

/* 0 when the table's voices cannot be read. */
uint8_t voice_reader_begin(struct voice_reader* reader);
/* Tells the voice that has to be told; 0 when that cannot be read. */
uint8_t voice_reader_tell(struct voice_reader* reader);
/* The next burst that some voice wants, which is then to be settled: VOICES_BURST with `voice` and `burst`,
 * or VOICES_END. All voices have been told. */
uint8_t voice_reader_want(struct voice_reader* reader, uint8_t* voice, struct weaver_burst* burst);
/* One step towards the next burst that is made: VOICES_BURST with the rest before it, or VOICES_MORE when
 * there is more to do. Short steps find their time between bursts that stand close. */
uint8_t voice_reader_step(struct voice_reader* reader, uint32_t* gap, uint16_t* on);

#endif
