#include "table.h"

/* CRC-32 (ISO-HDLC) four bits at a time: sixteen entries are a fair trade between flash and speed. */
static uint32_t crc_with(uint32_t crc, uint8_t byte) {
  static const uint32_t step[16] = {0x00000000, 0x1DB71064, 0x3B6E20C8, 0x26D930AC, 0x76DC4190, 0x6B6B51F4,
                                    0x4DB26158, 0x5005713C, 0xEDB88320, 0xF00F9344, 0xD6D6A3E8, 0xCB61B38C,
                                    0x9B64C2B0, 0x86D3D2D4, 0xA00AE278, 0xBDBDF21C};
  crc ^= byte;
  crc = crc >> 4 ^ step[crc & 15];
  return crc >> 4 ^ step[crc & 15];
}

enum {
  AT_VERSION = 4,
  AT_ENCODING = 5,
  AT_HEADER_BYTES = 6,
  AT_TICK_HZ = 8,
  AT_DATA_BYTES = 16,
  AT_COUNT = 12,
  AT_ON_MAX = 20,
  AT_GAP_MIN = 24,
  AT_REST_MS = 28,
  AT_CRC = 32
};

static uint8_t header_byte(uint8_t at) {
  return table_byte(TABLE_FROM + at);
}
static uint32_t header_word(uint8_t at) {
  return table_word(TABLE_FROM + at);
}

void table_check_begin(struct table_check* check) {
  check->crc = 0xFFFFFFFFUL;
  check->at = TABLE_FROM;
}

uint8_t table_check_some(struct table_check* check, uint8_t bytes) {
  for (; bytes != 0 && check->at < TABLE_UNTIL; --bytes) {
    check->crc = crc_with(check->crc, table_byte(check->at));
    ++check->at;
    if (check->at == TABLE_FROM + AT_CRC)
      check->at = (table_index)TABLE_DATA_FROM; /* the checksum does not cover itself */
  }
  return check->at >= TABLE_UNTIL;
}

static uint8_t can_be_read(uint8_t encoding) {
#ifdef BURST_SET_SONGS
  if (TABLE_FROM == 0) return encoding == TABLE_ENCODING_DIRECTORY;
#endif
  return (TABLE_READS_PAIRS && encoding == TABLE_ENCODING_PAIRS) ||
         (TABLE_READS_VOICES && encoding == TABLE_ENCODING_VOICES);
}

uint8_t table_fault(const struct table_check* check) {
  const uint32_t crc = check->crc ^ 0xFFFFFFFFUL;
  if (TABLE_UNTIL < TABLE_DATA_FROM) return TABLE_WRONG_SIZE;
  if (header_word(0) != 0x54504C42UL) return TABLE_NO_MAGIC; /* "BLPT" */
  if (header_byte(AT_VERSION) != TABLE_FORMAT_VERSION || !can_be_read(header_byte(AT_ENCODING)))
    return TABLE_WRONG_VERSION;
  if (header_word(AT_TICK_HZ) != BURST_TABLE_TICK_HZ) return TABLE_WRONG_TICK_RATE;
  if (header_byte(AT_HEADER_BYTES) != TABLE_HEADER_BYTES || header_byte(AT_HEADER_BYTES + 1) != 0 ||
      header_word(AT_DATA_BYTES) != (uint32_t)(TABLE_UNTIL - TABLE_DATA_FROM))
    return TABLE_WRONG_SIZE;
  if (header_word(AT_ON_MAX) > BURST_TABLE_ON_MAX_TICKS ||
      header_word(AT_GAP_MIN) < BURST_TABLE_GAP_MIN_TICKS || header_word(AT_REST_MS) > BURST_TABLE_REST_MS)
    return TABLE_WRONG_LIMITS;
  if (crc != header_word(AT_CRC)) return TABLE_WRONG_CRC;
  return TABLE_SOUND;
}

#ifdef BURST_SET_SONGS
uint32_t table_rest_ms(void) {
  return header_word(AT_REST_MS);
}
#endif

#if TABLE_READS_PAIRS
static uint8_t pair_reader_begin(struct pair_reader* reader) {
  reader->at = (table_index)TABLE_DATA_FROM;
  reader->on = 0;
  return 1;
}

static uint8_t pair_reader_next(struct pair_reader* reader, uint32_t* gap, uint16_t* on) {
  uint32_t number = table_number(&reader->at, TABLE_UNTIL);
  *gap = number >> 1;
  if (number == TABLE_NO_NUMBER) return 0;
  if (((uint8_t)number & 1) != 0) {
    number = table_number(&reader->at, TABLE_UNTIL);
    if (number > TABLE_LONGEST_ON_TICKS) return 0;
    reader->on = (uint16_t)number;
  }
  *on = reader->on;
  return 1;
}
#endif

#if TABLE_READS_PAIRS && TABLE_READS_VOICES
#define IS_OF_VOICES(reader) ((reader)->encoding == TABLE_ENCODING_VOICES)
#else
#define IS_OF_VOICES(reader) TABLE_READS_VOICES
#endif

uint8_t table_reader_begin(struct table_reader* reader) {
  reader->bursts_left = header_word(AT_COUNT);
#if TABLE_READS_PAIRS && TABLE_READS_VOICES
  reader->encoding = header_byte(AT_ENCODING);
#endif
#if TABLE_READS_VOICES
  if (IS_OF_VOICES(reader)) return voice_reader_begin(&reader->as.voices);
#endif
#if TABLE_READS_PAIRS
  return pair_reader_begin(&reader->as.pairs);
#endif
}

#if TABLE_READS_VOICES
#if TABLE_READS_PAIRS && defined __GNUC__
/* Not inlined: its registers would be saved for each entry of pairs, too, whose time is short. */
__attribute__((noinline))
#endif
static uint8_t
voices_step(struct voice_reader* reader, uint32_t* gap, uint16_t* on) {
  const uint8_t result = voice_reader_step(reader, gap, on);
  return result == VOICES_BURST ? TABLE_BURST : result == VOICES_MORE ? TABLE_MORE : TABLE_BROKEN;
}
#endif

/* One step: TABLE_BURST, TABLE_MORE or TABLE_BROKEN. */
static uint8_t step(struct table_reader* reader, uint32_t* gap, uint16_t* on) {
#if TABLE_READS_VOICES
  if (IS_OF_VOICES(reader)) return voices_step(&reader->as.voices, gap, on);
#endif
#if TABLE_READS_PAIRS
  return pair_reader_next(&reader->as.pairs, gap, on) ? TABLE_BURST : TABLE_BROKEN;
#endif
}

uint8_t table_reader_step(struct table_reader* reader, struct table_burst* burst) {
  uint16_t on;
  uint8_t result;
  if (reader->bursts_left == 0) return TABLE_END;
  result = step(reader, &burst->gap, &on);
  if (result != TABLE_BURST) return result;
  --reader->bursts_left;
  if (burst->gap >= TABLE_LONGEST_GAP_TICKS || on == 0) return TABLE_BROKEN;
  if (burst->gap < BURST_TABLE_GAP_MIN_TICKS) burst->gap = BURST_TABLE_GAP_MIN_TICKS;
  burst->listed_on = on;
  burst->on = on <= BURST_TABLE_ON_MAX_TICKS ? on : BURST_TABLE_ON_MAX_TICKS;
  return TABLE_BURST;
}
