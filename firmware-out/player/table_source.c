/* A table as the player's source of bursts. */
#include "source.h"

#define CHECK_BYTES 64

static struct table_check check;
static struct table_reader reader;

void source_begin(void) {}

uint8_t source_offers(uint32_t now) {
  (void)now;
  return 1;
}

void source_check_begin(void) {
  table_check_begin(&check);
}

uint8_t source_check(void) {
  if (!table_check_some(&check, CHECK_BYTES)) return SOURCE_WAIT;
  return table_fault(&check); /* TABLE_SOUND is SOURCE_GOOD */
}

void source_start(void) {
  table_reader_begin(&reader);
}

uint8_t source_next(struct table_burst* burst) {
  switch (table_reader_next(&reader, burst)) {
    case TABLE_BURST:
      return SOURCE_GOOD;
    case TABLE_END:
      return SOURCE_END;
    default:
      return TABLE_MALFORMED;
  }
}

uint8_t source_trouble(uint32_t now) {
  (void)now;
  return 0;
}

void source_over(void) {}

uint32_t source_rest_ms(void) {
  return BURST_TABLE_REST_MS;
}

uint8_t source_work(uint32_t now) {
  (void)now;
  return 0;
}
