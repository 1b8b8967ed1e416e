#include "burst_table.h"

#include "table.h"

static uint8_t byte_at(table_index at) {
  return BURST_TABLE_BYTE(at);
}

static uint32_t word_at(table_index at) {
  return (uint32_t)byte_at(at) | (uint32_t)byte_at(at + 1) << 8 | (uint32_t)byte_at(at + 2) << 16 |
         (uint32_t)byte_at(at + 3) << 24;
}

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

void table_check_begin(struct table_check* check) {
  check->crc = 0xFFFFFFFFUL;
  check->at = 0;
}

uint8_t table_check_some(struct table_check* check, uint8_t bytes) {
  for (; bytes != 0 && check->at < BURST_TABLE_BYTES; --bytes) {
    check->crc = crc_with(check->crc, byte_at(check->at));
    ++check->at;
    if (check->at == AT_CRC) check->at = TABLE_HEADER_BYTES; /* the checksum does not cover itself */
  }
  return check->at >= BURST_TABLE_BYTES;
}

uint8_t table_fault(const struct table_check* check) {
  const uint32_t crc = check->crc ^ 0xFFFFFFFFUL;
  if (BURST_TABLE_BYTES < TABLE_HEADER_BYTES) return TABLE_WRONG_SIZE;
  if (word_at(0) != 0x54504C42UL) return TABLE_NO_MAGIC; /* "BLPT" */
  if (byte_at(AT_VERSION) != TABLE_FORMAT_VERSION || byte_at(AT_ENCODING) != TABLE_ENCODING_PAIRS)
    return TABLE_WRONG_VERSION;
  if (word_at(AT_TICK_HZ) != BURST_TABLE_TICK_HZ) return TABLE_WRONG_TICK_RATE;
  if (byte_at(AT_HEADER_BYTES) != TABLE_HEADER_BYTES || byte_at(AT_HEADER_BYTES + 1) != 0 ||
      word_at(AT_DATA_BYTES) != BURST_TABLE_BYTES - TABLE_HEADER_BYTES)
    return TABLE_WRONG_SIZE;
  if (word_at(AT_ON_MAX) > BURST_TABLE_ON_MAX_TICKS || word_at(AT_GAP_MIN) < BURST_TABLE_GAP_MIN_TICKS ||
      word_at(AT_REST_MS) > BURST_TABLE_REST_MS)
    return TABLE_WRONG_LIMITS;
  if (crc != word_at(AT_CRC)) return TABLE_WRONG_CRC;
  return TABLE_SOUND;
}

void table_reader_begin(struct table_reader* reader) {
  reader->bursts_left = word_at(AT_COUNT);
  reader->at = TABLE_HEADER_BYTES;
  reader->on = 0;
}

/* No number of a table: they have 31 bits at most. */
#define NO_NUMBER 0xFFFFFFFFUL

/* The third and later bytes of a number: long rests only, so it may take its time. */
static uint32_t read_long(struct table_reader* reader, uint32_t value) {
  uint8_t shift;
  for (shift = 14; shift < 35; shift += 7) {
    uint8_t byte;
    if (reader->at >= BURST_TABLE_BYTES) return NO_NUMBER;
    byte = byte_at(reader->at++);
    if (shift == 28 && byte > 7) return NO_NUMBER;
    value |= (uint32_t)(byte & 0x7F) << shift;
    if (byte < 0x80) return value;
  }
  return NO_NUMBER;
}

/* One unsigned LEB128 number of at most 31 bits, or NO_NUMBER. One and two bytes are the daily case and get
 * by without long shifts, which are slow on eight bits. */
static uint32_t read_number(struct table_reader* reader) {
  uint8_t low, high;
  uint16_t value;
  if (reader->at >= BURST_TABLE_BYTES) return NO_NUMBER;
  low = byte_at(reader->at++);
  if (low < 0x80) return low;
  if (reader->at >= BURST_TABLE_BYTES) return NO_NUMBER;
  high = byte_at(reader->at++);
  value = (uint16_t)((uint16_t)((uint16_t)(high & 0x7F) << 8) >> 1 | (low & 0x7F));
  return high < 0x80 ? value : read_long(reader, value);
}

static uint8_t read_on(struct table_reader* reader) {
  const uint32_t on = read_number(reader);
  if (on > TABLE_LONGEST_ON_TICKS) return 0;
  reader->on = (uint16_t)on;
  return 1;
}

uint8_t table_reader_next(struct table_reader* reader, struct table_burst* burst) {
  uint32_t number;
  if (reader->bursts_left == 0) return TABLE_END;
  --reader->bursts_left;
  number = read_number(reader);
  if (number > 2 * TABLE_LONGEST_GAP_TICKS - 1) return TABLE_BROKEN;
  if (((uint8_t)number & 1) != 0 && !read_on(reader)) return TABLE_BROKEN;
  if (reader->on == 0) return TABLE_BROKEN;
  burst->gap = number >> 1;
  if (burst->gap < BURST_TABLE_GAP_MIN_TICKS) burst->gap = BURST_TABLE_GAP_MIN_TICKS;
  burst->listed_on = reader->on;
  burst->on = reader->on;
  if (burst->on > BURST_TABLE_ON_MAX_TICKS) burst->on = BURST_TABLE_ON_MAX_TICKS;
  return TABLE_BURST;
}
