/* Reading a pulse table (docs/reference/table-format.md). Nothing here trusts the table: what it says is compared with
 * what was compiled in, and every burst comes out inside the compiled limits or not at all. */
#ifndef BURST_TABLE_READER_H
#define BURST_TABLE_READER_H

#include <stdint.h>

#include "table_bytes.h"
#include "voices.h"

enum {
  TABLE_FORMAT_VERSION = 1,
  TABLE_HEADER_BYTES = 36,
  /* Byte 5 of the header. */
  TABLE_ENCODING_PAIRS = 0,
  TABLE_ENCODING_VOICES = 1,
  TABLE_ENCODING_DIRECTORY = 2 /* of a set: set.h */
};
#define TABLE_DATA_FROM (TABLE_FROM + TABLE_HEADER_BYTES)
/* A header says which encoding its table has, and what reads the other is left out. */
#if !defined BURST_TABLE_ENCODING || BURST_TABLE_ENCODING == 0
#define TABLE_READS_PAIRS 1
#else
#define TABLE_READS_PAIRS 0
#endif
#if !defined BURST_TABLE_ENCODING || BURST_TABLE_ENCODING == 1
#define TABLE_READS_VOICES 1
#else
#define TABLE_READS_VOICES 0
#endif
/* No rest is as long as this (nearly nine minutes at 2 MHz): it would confuse the 32-bit clock. */
#define TABLE_LONGEST_GAP_TICKS (1UL << 30)
/* A longer on-time in a table is no on-time but damage. */
#define TABLE_LONGEST_ON_TICKS 65535UL

/* What is wrong with a table. */
enum {
  TABLE_SOUND,
  TABLE_NO_MAGIC,
  TABLE_WRONG_VERSION,
  TABLE_WRONG_TICK_RATE,
  TABLE_WRONG_SIZE,
  TABLE_WRONG_LIMITS, /* it was made for wider limits than those compiled in */
  TABLE_WRONG_CRC,
  TABLE_MALFORMED /* numbers that no exporter writes, or an end in the middle of one */
};

/* A CRC-32 under way over the whole table. */
struct table_check {
  uint32_t crc;
  table_index at;
};

void table_check_begin(struct table_check* check);
/* Goes on by at most `bytes`; 1 when the end has been reached, 0 when there is more to do. */
uint8_t table_check_some(struct table_check* check, uint8_t bytes);
/* TABLE_SOUND or what is wrong, header and finished CRC together. */
uint8_t table_fault(const struct table_check* check);
#ifdef BURST_SET_SONGS
/* The rest after its song that the table itself asks for. */
uint32_t table_rest_ms(void);
#endif

/* Where in a table of pairs we are. */
struct pair_reader {
  table_index at;
  uint16_t on; /* of the burst before: an entry that does not name its on-time repeats it */
};

/* Where in the table we are. */
struct table_reader {
  uint32_t bursts_left;
#if TABLE_READS_PAIRS && TABLE_READS_VOICES
  uint8_t encoding;
#endif
  union {
#if TABLE_READS_PAIRS
    struct pair_reader pairs;
#endif
#if TABLE_READS_VOICES
    struct voice_reader voices;
#endif
  } as;
};

/* One entry: rest after the burst before, then the burst. Inside the compiled limits. */
struct table_burst {
  uint32_t gap;
  uint16_t listed_on; /* as the table says: the schedule counts with it */
  uint16_t on;        /* at most BURST_TABLE_ON_MAX_TICKS */
};

/* So many bursts are read ahead of the one that is due: where some stand close and take long to read, there
 * is time for them before. */
#define TABLE_MOST_AHEAD 4

enum { TABLE_BURST, TABLE_MORE, TABLE_END, TABLE_BROKEN };

/* 0 when the table cannot be read. */
uint8_t table_reader_begin(struct table_reader* reader);
/* One step of reading: TABLE_BURST with `burst` filled in, TABLE_MORE when there is more to do for it,
 * TABLE_END, or TABLE_BROKEN, after which nothing more is to be read. */
uint8_t table_reader_step(struct table_reader* reader, struct table_burst* burst);

#endif
