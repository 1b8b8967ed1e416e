/* The bytes of the table that was compiled in, and the numbers in it. */
#ifndef BURST_TABLE_BYTES_H
#define BURST_TABLE_BYTES_H

#include <stdint.h>

#ifndef BURST_TABLE_H
#define BURST_TABLE_LIMITS_ONLY
#include "burst_table.h"
#undef BURST_TABLE_LIMITS_ONLY
#endif

#ifdef BURST_TABLE_ANY_SIZE
typedef uint32_t table_index;
#elif BURST_TABLE_BYTES < 65536
typedef uint16_t table_index;
#else
typedef uint32_t table_index;
#endif

/* The table at hand lies from TABLE_FROM to before TABLE_UNTIL: all that was compiled in, or one of the
 * tables of a set's image (set.h). */
#ifdef BURST_SET_SONGS
struct table_place {
  table_index from, until;
};
extern struct table_place table_place;
#define TABLE_FROM table_place.from
#define TABLE_UNTIL table_place.until
#else
#define TABLE_FROM 0
#define TABLE_UNTIL BURST_TABLE_BYTES
#endif

/* No number of a table: they have 31 bits at most. */
#define TABLE_NO_NUMBER 0xFFFFFFFFUL

/* `at` must be less than BURST_TABLE_BYTES. */
uint8_t table_byte(table_index at);
/* Four bytes, least significant first; likewise. */
uint32_t table_word(table_index at);
/* One unsigned LEB128 number of at most 31 bits that ends before `end`, or TABLE_NO_NUMBER. Moves `at` on. */
uint32_t table_number(table_index* at, table_index end);

#endif
