#include "burst_table.h"

#include "table_bytes.h"

uint8_t table_byte(table_index at) {
  return BURST_TABLE_BYTE(at);
}

uint32_t table_word(table_index at) {
  return (uint32_t)table_byte(at) | (uint32_t)table_byte(at + 1) << 8 | (uint32_t)table_byte(at + 2) << 16 |
         (uint32_t)table_byte(at + 3) << 24;
}

/* The third and later bytes of a number: long rests only, so it may take its time. */
static uint32_t read_long(table_index* at, table_index end, uint32_t value) {
  uint8_t shift;
  for (shift = 14; shift < 35; shift += 7) {
    uint8_t byte;
    if (*at >= end) return TABLE_NO_NUMBER;
    byte = table_byte((*at)++);
    if (shift == 28 && byte > 7) return TABLE_NO_NUMBER;
    value |= (uint32_t)(byte & 0x7F) << shift;
    if (byte < 0x80) return value;
  }
  return TABLE_NO_NUMBER;
}

/* One and two bytes are the daily case and get by without long shifts, which are slow on eight bits. */
uint32_t table_number(table_index* at, table_index end) {
  uint8_t low, high;
  uint16_t value;
  if (*at >= end) return TABLE_NO_NUMBER;
  low = table_byte((*at)++);
  if (low < 0x80) return low;
  if (*at >= end) return TABLE_NO_NUMBER;
  high = table_byte((*at)++);
  value = (uint16_t)((uint16_t)((uint16_t)(high & 0x7F) << 8) >> 1 | (low & 0x7F));
  return high < 0x80 ? value : read_long(at, end, value);
}
