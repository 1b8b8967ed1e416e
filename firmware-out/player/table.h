/* Reading a pulse table (docs/table-format.md). Nothing here trusts the table: what it says is compared with
 * what was compiled in, and every burst comes out inside the compiled limits or not at all. */
#ifndef BURST_TABLE_READER_H
#define BURST_TABLE_READER_H

#include <stdint.h>

#ifndef BURST_TABLE_H
#define BURST_TABLE_LIMITS_ONLY
#include "burst_table.h"
#undef BURST_TABLE_LIMITS_ONLY
#endif

enum {
  TABLE_FORMAT_VERSION = 1,
  TABLE_HEADER_BYTES = 36,
  TABLE_ENCODING_PAIRS = 0 /* byte 5 of the header; other numbers are room for more compact tables */
};
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

#if BURST_TABLE_BYTES < 65536
typedef uint16_t table_index;
#else
typedef uint32_t table_index;
#endif

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

/* Where in the table we are. */
struct table_reader {
  uint32_t bursts_left;
  table_index at;
  uint16_t on; /* of the burst before: an entry that does not name its on-time repeats it */
};

/* One entry: rest after the burst before, then the burst. Inside the compiled limits. */
struct table_burst {
  uint32_t gap;
  uint16_t listed_on; /* as the table says: the schedule counts with it */
  uint16_t on;        /* at most BURST_TABLE_ON_MAX_TICKS */
};

enum { TABLE_BURST, TABLE_END, TABLE_BROKEN };

void table_reader_begin(struct table_reader* reader);
/* TABLE_BURST with `burst` filled in, TABLE_END, or TABLE_BROKEN, after which nothing more is to be read. */
uint8_t table_reader_next(struct table_reader* reader, struct table_burst* burst);

#endif
