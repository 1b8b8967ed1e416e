/* A table as the player's source of bursts. */
#include "set.h"
#include "source.h"

#define CHECK_BYTES 64

static struct {
  struct table_check check;
  struct table_reader reader;
  struct table_burst ahead[TABLE_MOST_AHEAD];
  uint8_t first_ahead, count_ahead;
  uint8_t ends; /* TABLE_MORE, or why there are no more to read */
} table;

void source_begin(void) {
  set_begin();
  table.ends = TABLE_END;
}

uint8_t source_offers(uint32_t now) {
  (void)now;
  return 1;
}

void source_check_begin(void) {
  set_open_directory();
  table_check_begin(&table.check);
}

uint8_t source_check(void) {
  uint8_t fault;
  if (!table_check_some(&table.check, CHECK_BYTES)) return SOURCE_WAIT;
  fault = table_fault(&table.check); /* TABLE_SOUND is SOURCE_GOOD */
  if (fault != TABLE_SOUND || !set_is_at_directory()) return fault;
  if (!set_open_song()) return TABLE_WRONG_SIZE;
  table_check_begin(&table.check);
  return SOURCE_WAIT;
}

void source_start(void) {
  table.count_ahead = 0;
  table.ends = table_reader_begin(&table.reader) ? TABLE_MORE : TABLE_BROKEN;
}

/* 1 when a burst has been read. */
static uint8_t read_step(struct table_burst* burst) {
  const uint8_t result = table_reader_step(&table.reader, burst);
  if (result == TABLE_BURST) return 1;
  if (result != TABLE_MORE) table.ends = result;
  return 0;
}

uint8_t source_next(struct table_burst* burst) {
  if (table.count_ahead != 0) {
    *burst = table.ahead[table.first_ahead];
    table.first_ahead = (uint8_t)(table.first_ahead + 1) % TABLE_MOST_AHEAD;
    --table.count_ahead;
    return SOURCE_GOOD;
  }
  while (table.ends == TABLE_MORE) {
    if (read_step(burst)) return SOURCE_GOOD;
  }
  return table.ends == TABLE_END ? SOURCE_END : TABLE_MALFORMED;
}

uint8_t source_trouble(uint32_t now) {
  (void)now;
  return 0;
}

void source_over(uint8_t played) {
  set_song_over(played);
  table.ends = TABLE_END;
}

uint32_t source_rest_ms(void) {
  return set_rest_ms();
}

/* Reads ahead. */
uint8_t source_work(uint32_t now) {
  const uint8_t last = (uint8_t)(table.first_ahead + table.count_ahead) % TABLE_MOST_AHEAD;
  (void)now;
  if (table.ends != TABLE_MORE || table.count_ahead == TABLE_MOST_AHEAD) return 0;
  if (read_step(&table.ahead[last])) ++table.count_ahead;
  return 1;
}
