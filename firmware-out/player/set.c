#include "set.h"

#ifdef BURST_SET_SONGS

#include "player.h"
#include "source.h"

#define DIRECTORY_END (TABLE_HEADER_BYTES + SET_ENTRY_BYTES * BURST_SET_SONGS)

struct table_place table_place;

static struct {
  uint32_t rest_ms;
  uint8_t song; /* the one at hand, or to be played next */
  uint8_t goes_on;
} set;

static uint32_t entry_word(uint8_t at) {
  return table_word((table_index)(TABLE_HEADER_BYTES + SET_ENTRY_BYTES * set.song + at));
}

void set_begin(void) {
  set.song = 0;
  set.goes_on = 0;
}

void set_open_directory(void) {
  table_place.from = 0;
  table_place.until = (table_index)(BURST_TABLE_BYTES < DIRECTORY_END ? BURST_TABLE_BYTES : DIRECTORY_END);
}

uint8_t set_is_at_directory(void) {
  return table_place.from == 0;
}

uint8_t set_open_song(void) {
  const uint32_t from = entry_word(SET_AT_TABLE), bytes = entry_word(SET_AT_BYTES);
  if (from < DIRECTORY_END || from > BURST_TABLE_BYTES || bytes > BURST_TABLE_BYTES - from) return 0;
  table_place.from = (table_index)from;
  table_place.until = (table_index)(from + bytes);
  return 1;
}

static uint32_t pause_ms(void) {
  uint32_t pause = entry_word(SET_AT_PAUSE);
  if (pause < table_rest_ms()) pause = table_rest_ms();
  return pause < BURST_SET_PAUSE_MIN_MS ? BURST_SET_PAUSE_MIN_MS : pause;
}

void set_song_over(uint8_t played) {
  set.goes_on = played && set.song + 1 < BURST_SET_SONGS;
  set.rest_ms = set.goes_on ? pause_ms() : BURST_TABLE_REST_MS;
  if (played) set.song = set.goes_on ? (uint8_t)(set.song + 1) : 0;
}

uint32_t set_rest_ms(void) {
  return set.rest_ms;
}

uint8_t source_goes_on(void) {
  return set.goes_on;
}

uint8_t player_choose(uint8_t song) {
  const uint8_t state = player_status.state;
  if (song >= BURST_SET_SONGS || set.goes_on || state == PLAYER_CHECKING || state == PLAYER_PLAYING) return 0;
  set.song = song;
  return 1;
}

#endif
