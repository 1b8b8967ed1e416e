#include "link.h"

#include "player.h"
#include "serial.h"

#define RING_MASK (LINK_RING_BYTES - 1)
/* Of every frame the first bytes are kept; bursts go to the ring as they come. */
#define HEAD_BYTES 20
#define BURSTS_HEAD_BYTES 4
#define NO_NUMBER 0xFFFFFFFFUL

/* Lengths of whole frames without their checksum. */
enum { HELLO_BYTES = 2, BEGIN_BYTES = 19, ALIVE_BYTES = 4, STOP_BYTES = 1 };

/* The song that the other end offers, and what has come of it. */
static struct {
  uint32_t rest_ms;
  uint32_t heard;      /* when its last frame came */
  uint16_t expected;   /* number of the next frame of bursts */
  uint16_t accepted;   /* bytes of bursts so far, modulo 2^16 */
  uint16_t head, tail; /* of the ring: bytes written and read, modulo 2^16 */
  uint16_t on;         /* of the burst before */
  uint8_t session;     /* its number; 0: none since reset */
  uint8_t offered, wanted, ended, live;
  uint8_t stopped;
  uint8_t ask_again; /* a frame was damaged or is missing: the one expected is to be sent again */
} song;

static uint8_t ring[LINK_RING_BYTES];

/* The frame that is coming in. */
static struct {
  uint16_t crc;
  uint8_t group_left, group; /* COBS: bytes to come in this group, and its code */
  uint8_t count, bad, to_ring;
  uint8_t head[HEAD_BYTES];
} frame;

/* What is said in answer. It is written from the second byte on (the first is room for COBS), then gets its
 * checksum a few bytes at a time, then goes out: all at once would take longer than there is between two
 * bursts. */
#define CRC_AT_A_TIME 6
static struct {
  uint32_t status_sent;
  uint16_t damaged;
  uint16_t crc;
  uint8_t player_due, status_due;
  uint8_t times_due;   /* of a status that has been begun */
  uint8_t summed, end; /* bytes under the checksum so far, and in all; no message: both 0 */
  uint8_t bytes[32];
} answer;

/* CRC-16/GENIBUS: polynomial 0x1021, start 0xFFFF, highest bit first, inverted at the end; four bits at a
 * time. Over a message and its checksum, high byte first, it comes to CRC_OF_SOUND before it is inverted.
 * (Were it not inverted, that would be zero, and would stay zero with each zero more behind it: a closing
 * zero hit on the way would pass.) */
#define CRC_OF_SOUND 0x1D0F
static uint16_t crc_with(uint16_t crc, uint8_t byte) {
  static const uint16_t step[16] = {0x0000, 0x1021, 0x2042, 0x3063, 0x4084, 0x50A5, 0x60C6, 0x70E7,
                                    0x8108, 0x9129, 0xA14A, 0xB16B, 0xC18C, 0xD1AD, 0xE1CE, 0xF1EF};
  crc = (uint16_t)(crc << 4) ^ step[(uint8_t)(crc >> 12) ^ byte >> 4];
  return (uint16_t)(crc << 4) ^ step[(uint8_t)(crc >> 12) ^ (byte & 15)];
}

static uint16_t half_at(uint8_t at) {
  return (uint16_t)(frame.head[at] | (uint16_t)frame.head[at + 1] << 8);
}
static uint32_t word_at(uint8_t at) {
  return (uint32_t)half_at(at + 2) << 16 | half_at(at);
}

static uint16_t used(void) {
  return (uint16_t)(song.head - song.tail);
}

static uint8_t is_of_song(void) {
  return song.offered && frame.head[1] == song.session;
}

static void ask_again(void) {
  if (!song.wanted || song.ended) return;
  song.ask_again = 1;
  answer.status_due = 1;
}

static void hear_begin(uint32_t now) {
  if (song.wanted) return; /* one song at a time */
  if (word_at(2) != BURST_TABLE_TICK_HZ || word_at(6) > BURST_TABLE_ON_MAX_TICKS ||
      word_at(10) < BURST_TABLE_GAP_MIN_TICKS || frame.head[18] > LINK_LIVE) {
    player_status.error = TABLE_WRONG_LIMITS;
    return;
  }
  song.session = frame.head[1];
  song.rest_ms = word_at(14);
  song.live = frame.head[18];
  song.expected = song.accepted = song.head = song.tail = song.on = 0;
  song.ended = song.stopped = song.ask_again = 0;
  song.offered = 1;
  song.heard = now;
}

static void hear_bursts(uint8_t bytes) {
  if (!frame.to_ring) {
    if ((int16_t)(half_at(2) - song.expected) > 0) ask_again();
    return; /* what came before has come twice */
  }
  ++song.expected;
  song.ask_again = 0;
  song.head += bytes;
  song.accepted += bytes;
  song.ended = bytes == 0;
}

static void hear(uint32_t now, uint8_t bytes) {
  const uint8_t type = frame.head[0];
  if (type == LINK_HELLO && bytes == HELLO_BYTES) {
    answer.player_due = 1;
  } else if (type == LINK_BEGIN && bytes == BEGIN_BYTES) {
    hear_begin(now);
    answer.status_due = 1;
  } else if (type == LINK_STOP && bytes == STOP_BYTES) {
    song.stopped = 1;
    song.offered = 0;
    answer.status_due = 1;
  } else if (type == LINK_ALIVE && bytes == ALIVE_BYTES) {
    if (is_of_song()) {
      song.heard = now;
      song.ask_again = 0;
      if (half_at(2) != song.expected) ask_again();
    }
    answer.status_due = 1;
  } else if (type == LINK_BURSTS && bytes >= BURSTS_HEAD_BYTES) {
    if (!is_of_song()) return;
    song.heard = now;
    hear_bursts((uint8_t)(bytes - BURSTS_HEAD_BYTES));
  }
}

static void put(uint8_t byte) {
  const uint8_t at = frame.count;
  frame.crc = crc_with(frame.crc, byte);
  if (at < HEAD_BYTES) frame.head[at] = byte;
  if (at == BURSTS_HEAD_BYTES)
    frame.to_ring = frame.head[0] == LINK_BURSTS && is_of_song() && song.wanted && !song.ended &&
                    half_at(2) == song.expected;
  if (frame.to_ring) {
    const uint8_t offset = (uint8_t)(at - BURSTS_HEAD_BYTES);
    if (used() + offset >= LINK_RING_BYTES) {
      frame.bad = 1;
    } else {
      ring[(uint16_t)(song.head + offset) & RING_MASK] = byte;
    }
  }
  if (at < BURSTS_HEAD_BYTES + LINK_LONGEST_PAYLOAD + LINK_CRC_BYTES) {
    ++frame.count;
  } else {
    frame.bad = 1;
  }
}

static void end_frame(uint32_t now) {
  if (frame.count > LINK_CRC_BYTES && !frame.bad && frame.group_left == 0 && frame.crc == CRC_OF_SOUND) {
    hear(now, (uint8_t)(frame.count - LINK_CRC_BYTES));
  } else if (frame.group != 0) {
    ++answer.damaged;
    ask_again();
  } /* else a lone zero: it parts frames */
  frame.count = frame.bad = frame.to_ring = 0;
  frame.group = frame.group_left = 0;
  frame.crc = 0xFFFF;
}

/* COBS (Cheshire and Baker 1999): a group's code is its length, itself included; a zero stands between two
 * groups, but after the longest ones. */
static void take(uint32_t now, uint8_t byte) {
  if (byte == 0) {
    end_frame(now);
  } else if (frame.group_left != 0) {
    put(byte);
    --frame.group_left;
  } else {
    if (frame.group != 0 && frame.group != 0xFF) put(0);
    frame.group = byte;
    frame.group_left = (uint8_t)(byte - 1);
  }
}

static void say_byte(uint8_t byte) {
  answer.bytes[++answer.end] = byte;
}
static void say_half(uint16_t value) {
  say_byte((uint8_t)value);
  say_byte((uint8_t)(value >> 8));
}
static void say_word(uint32_t value) {
  say_half((uint16_t)value);
  say_half((uint16_t)(value >> 16));
}

static void say_player(void) {
  say_byte(LINK_PLAYER);
  say_byte(LINK_VERSION);
  say_word(BURST_TABLE_TICK_HZ);
  say_word(BURST_TABLE_ON_MAX_TICKS);
  say_word(BURST_TABLE_GAP_MIN_TICKS);
  say_word(BURST_TABLE_REST_MS);
  say_half(LINK_BUFFER_BYTES);
}

static void say_times(void) {
  answer.times_due = 0;
  say_word(player_rest_left_ms());
  say_word(player_song_time());
}

static void say_status(void) {
  say_byte(LINK_STATUS);
  say_byte(song.session);
  say_byte(player_status.state);
  say_byte(player_status.error);
  say_byte(player_status.songs);
  say_byte(song.ask_again);
  say_half(song.expected);
  say_half((uint16_t)(song.accepted + LINK_BUFFER_BYTES - used()));
  say_word(player_status.made);
  say_half((uint16_t)player_status.missed);
  say_half(answer.damaged);
  answer.times_due = 1;
}

/* What a status ends with; some bytes more under the checksum; or after the last one COBS, and out. */
static void go_on_answering(void) {
  uint8_t at, zero = 0;
  if (answer.times_due) {
    say_times();
    return;
  }
  for (at = 0; at < CRC_AT_A_TIME && answer.summed < answer.end; ++at)
    answer.crc = crc_with(answer.crc, answer.bytes[++answer.summed]);
  if (at != 0) return;
  say_byte((uint8_t) ~(uint8_t)(answer.crc >> 8));
  say_byte((uint8_t) ~(uint8_t)answer.crc);
  say_byte(0);
  for (at = 1; at <= answer.end; ++at) {
    if (answer.bytes[at] != 0) continue;
    answer.bytes[zero] = (uint8_t)(at - zero);
    zero = at;
  }
  serial_send(answer.bytes, (uint8_t)(answer.end + 1));
  answer.summed = answer.end = 0;
}

static uint8_t answer_something(uint32_t now) {
  if (answer.end != 0) {
    go_on_answering();
    return 1;
  }
  if (!serial_idle()) return 0;
  answer.crc = 0xFFFF;
  if (answer.player_due) {
    answer.player_due = 0;
    say_player();
    return 1;
  }
  if (answer.status_due || (song.wanted && now - answer.status_sent >= LINK_STATUS_TICKS)) {
    answer.status_due = 0;
    answer.status_sent = now;
    say_status();
    return 1;
  }
  return 0;
}

static uint8_t is_silent(uint32_t now) {
  return now - song.heard >= LINK_SILENCE_TICKS;
}

uint8_t source_offers(uint32_t now) {
  if (song.offered && is_silent(now)) song.offered = 0;
  return song.offered;
}

uint8_t source_work(uint32_t now) {
  uint8_t byte;
  (void)source_offers(now); /* an offer ends on time, not when it is asked for */
  if (serial_receive(&byte)) {
    take(now, byte);
    return 1;
  }
  return answer_something(now);
}

void source_begin(void) {
  song.session = song.offered = song.wanted = song.stopped = 0;
  song.rest_ms = 0;
  answer.player_due = answer.status_due = answer.times_due = answer.summed = answer.end = 0;
  answer.damaged = 0;
  frame.bad = 1; /* until the first zero: what comes in the middle of a frame is none */
  serial_begin();
}

void source_check_begin(void) {
  song.wanted = 1;
}

uint8_t source_check(void) {
  const uint16_t room = (uint16_t)(LINK_BUFFER_BYTES - used());
  return song.live || song.ended || room < LINK_LONGEST_PAYLOAD ? SOURCE_GOOD : SOURCE_WAIT;
}

void source_start(void) {}

uint8_t source_trouble(uint32_t now) {
  if (song.stopped) return PLAYER_HOST_STOPPED;
  return is_silent(now) ? PLAYER_LINK_LOST : 0;
}

void source_over(uint8_t played) {
  (void)played;
  song.offered = song.wanted = 0;
  answer.status_due = 1;
}

uint32_t source_rest_ms(void) {
  return song.rest_ms > BURST_TABLE_REST_MS ? song.rest_ms : BURST_TABLE_REST_MS;
}

/* One unsigned LEB128 number of at most 31 bits, or NO_NUMBER. */
static uint32_t read_number(void) {
  uint32_t value = 0;
  uint8_t shift;
  for (shift = 0; shift < 35 && used() != 0; shift += 7) {
    const uint8_t byte = ring[song.tail++ & RING_MASK];
    if (shift == 28 && byte > 7) return NO_NUMBER;
    value |= (uint32_t)(byte & 0x7F) << shift;
    if (byte < 0x80) return value;
  }
  return NO_NUMBER;
}

static uint8_t read_on(void) {
  const uint32_t on = read_number();
  if (on > TABLE_LONGEST_ON_TICKS) return 0;
  song.on = (uint16_t)on;
  return 1;
}

uint8_t source_next(struct table_burst* burst) {
  uint32_t number;
  if (used() == 0) return song.ended ? SOURCE_END : song.live ? SOURCE_WAIT : PLAYER_STARVED;
  number = read_number();
  if (number > 2 * TABLE_LONGEST_GAP_TICKS - 1) return TABLE_MALFORMED;
  if (((uint8_t)number & 1) != 0 && !read_on()) return TABLE_MALFORMED;
  if (song.on == 0 && !song.live) return TABLE_MALFORMED;
  burst->gap = number >> 1;
  /* Live nothing moves: what comes too close to the burst before is the guard's to refuse. */
  if (!song.live && burst->gap < BURST_TABLE_GAP_MIN_TICKS) burst->gap = BURST_TABLE_GAP_MIN_TICKS;
  burst->listed_on = song.on;
  burst->on = song.on;
  if (burst->on > BURST_TABLE_ON_MAX_TICKS) burst->on = BURST_TABLE_ON_MAX_TICKS;
  return SOURCE_GOOD;
}
