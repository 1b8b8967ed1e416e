/* The songs of a set, one after the other, from one image (docs/reference/table-format.md): a directory, then the table
 * of each song. One arming lasts for the evening, as long as nothing happens:
 *
 *   a song's end, arm and stop closed:  its pause, then the next song, checked before it starts
 *   arm or stop opened, a fault:        the longest rest, arm open and closed again, then the same song anew
 *   the last song's end, a reset:       likewise, then the first song
 *
 * The pause is the planned one; never shorter than the song's own rest, nor than the shortest pause compiled
 * in. Without BURST_SET_SONGS, a single song was compiled in, and none of this costs anything. */
#ifndef BURST_SET_H
#define BURST_SET_H

#include "table.h"

/* An entry of the directory, and what it says: numbers of four bytes, then the title, filled up with zeros.
 */
enum {
  SET_AT_TABLE = 0,  /* where the song's table begins in the image */
  SET_AT_BYTES = 4,  /* and how long it is */
  SET_AT_LENGTH = 8, /* of the song, ms; for people */
  SET_AT_PAUSE = 12, /* after it, ms */
  SET_AT_TITLE = 16,
  SET_ENTRY_BYTES = 48
};

#ifdef BURST_SET_SONGS
/* The song to start with when armed next; 0 is the first. 1 when it is taken; 0 when there is none of that
 * number, or while songs play: open the arm switch first. To be called between two calls of player_step. */
uint8_t player_choose(uint8_t song);

void set_begin(void);
/* The directory becomes the table at hand. */
void set_open_directory(void);
uint8_t set_is_at_directory(void);
/* The song's table does, of a directory that was found sound; 0 when it lies outside the image. */
uint8_t set_open_song(void);
/* The song was played to its end, or ended otherwise. */
void set_song_over(uint8_t played);
/* The rest after that. */
uint32_t set_rest_ms(void);
#else
#define set_begin() ((void)0)
#define set_open_directory() ((void)0)
#define set_is_at_directory() 0
#define set_open_song() 1
#define set_song_over(played) ((void)(played))
#define set_rest_ms() BURST_TABLE_REST_MS
#endif

#endif
