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
  uint32_t heard; /* when its last frame came */
  uint16_t expected; /* number of the next frame of bursts */
  uint16_t accepted; /* bytes of bursts so far, modulo 2^16 */
  uint16_t head, tail; /* of the ring: bytes written and read, modulo 2^16 */
  uint16_t on;         /* of the burst before */
  uint8_t session;     /* its number; 0: none since reset */
  uint8_t offered, wanted, ended;
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

static struct {
  uint32_t status_sent;
  uint16_t damaged;
  uint8_t player_due, status_due;
  uint8_t bytes[32];
} answer;

/* CRC-16/IBM-3740: polynomial 0x1021, start 0xFFFF, highest bit first, four bits at a time. Over a message and
 * its checksum, high byte first, it comes to zero. */
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
      word_at(10) < BURST_TABLE_GAP_MIN_TICKS || frame.head[18] != 0) {
    player_status.error = TABLE_WRONG_LIMITS;
    return;
  }
  song.session = frame.head[1];
  song.rest_ms = word_at(14);
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
  if (frame.count > LINK_CRC_BYTES && !frame.bad && frame.group_left == 0 && frame.crc == 0) {
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

/* A message is written from the second byte on; the first is room for COBS. */
static uint8_t put_bytes(uint8_t at, uint32_t value, uint8_t count) {
  for (; count != 0; --count, value >>= 8) answer.bytes[at++] = (uint8_t)value;
  return at;
}

static void send_up_to(uint8_t end) {
  uint16_t crc = 0xFFFF;
  uint8_t at, zero = 0;
  for (at = 1; at < end; ++at) crc = crc_with(crc, answer.bytes[at]);
  answer.bytes[end++] = (uint8_t)(crc >> 8);
  answer.bytes[end++] = (uint8_t)crc;
  answer.bytes[end] = 0;
  for (at = 1; at <= end; ++at) {
    if (answer.bytes[at] != 0) continue;
    answer.bytes[zero] = (uint8_t)(at - zero);
    zero = at;
  }
  serial_send(answer.bytes, (uint8_t)(end + 1));
}

static void send_player(void) {
  uint8_t at = put_bytes(1, LINK_PLAYER, 1);
  at = put_bytes(at, LINK_VERSION, 1);
  at = put_bytes(at, BURST_TABLE_TICK_HZ, 4);
  at = put_bytes(at, BURST_TABLE_ON_MAX_TICKS, 4);
  at = put_bytes(at, BURST_TABLE_GAP_MIN_TICKS, 4);
  at = put_bytes(at, BURST_TABLE_REST_MS, 4);
  at = put_bytes(at, LINK_BUFFER_BYTES, 2);
  send_up_to(at);
}

static void send_status(void) {
  const uint32_t rest = (player_rest_left_ms() + 99) / 100;
  uint8_t at = put_bytes(1, LINK_STATUS, 1);
  at = put_bytes(at, song.session, 1);
  at = put_bytes(at, player_status.state, 1);
  at = put_bytes(at, player_status.error, 1);
  at = put_bytes(at, player_status.songs, 1);
  at = put_bytes(at, song.ask_again, 1);
  at = put_bytes(at, song.expected, 2);
  at = put_bytes(at, (uint16_t)(song.accepted + LINK_BUFFER_BYTES - used()), 2);
  at = put_bytes(at, player_status.made, 4);
  at = put_bytes(at, player_status.missed, 2);
  at = put_bytes(at, answer.damaged, 2);
  at = put_bytes(at, rest < 0xFFFF ? rest : 0xFFFF, 2);
  send_up_to(at);
}

static uint8_t send_something(uint32_t now) {
  if (!serial_idle()) return 0;
  if (answer.player_due) {
    answer.player_due = 0;
    send_player();
    return 1;
  }
  if (answer.status_due || (song.wanted && now - answer.status_sent >= LINK_STATUS_TICKS)) {
    answer.status_due = 0;
    answer.status_sent = now;
    send_status();
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
  return send_something(now);
}

void source_begin(void) {
  song.session = song.offered = song.wanted = song.stopped = 0;
  song.rest_ms = 0;
  answer.player_due = answer.status_due = 0;
  answer.damaged = 0;
  frame.bad = 1; /* until the first zero: what comes in the middle of a frame is none */
  serial_begin();
}

void source_check_begin(void) {
  song.wanted = 1;
}

uint8_t source_check(void) {
  const uint16_t room = (uint16_t)(LINK_BUFFER_BYTES - used());
  return song.ended || room < LINK_LONGEST_PAYLOAD ? SOURCE_GOOD : SOURCE_WAIT;
}

void source_start(void) {}

uint8_t source_trouble(uint32_t now) {
  if (song.stopped) return PLAYER_HOST_STOPPED;
  return is_silent(now) ? PLAYER_LINK_LOST : 0;
}

void source_over(void) {
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

uint8_t source_next(struct table_burst *burst) {
  uint32_t number;
  if (used() == 0) return song.ended ? SOURCE_END : PLAYER_STARVED;
  number = read_number();
  if (number > 2 * TABLE_LONGEST_GAP_TICKS - 1) return TABLE_MALFORMED;
  if (((uint8_t)number & 1) != 0 && !read_on()) return TABLE_MALFORMED;
  if (song.on == 0) return TABLE_MALFORMED;
  burst->gap = number >> 1;
  if (burst->gap < BURST_TABLE_GAP_MIN_TICKS) burst->gap = BURST_TABLE_GAP_MIN_TICKS;
  burst->listed_on = song.on;
  burst->on = song.on;
  if (burst->on > BURST_TABLE_ON_MAX_TICKS) burst->on = BURST_TABLE_ON_MAX_TICKS;
  return SOURCE_GOOD;
}
