#include "voices.h"

#include "table.h"

/* What a correction says. */
enum { AS_WOVEN, SHIFT, DROP, SET_ON, SHIFT_AND_SET_ON };

enum { HEAD_BYTES = 10, LENGTH_BYTES = 3, PERIOD_BYTES = 7 };

static uint32_t three_bytes(table_index at) {
  return (uint32_t)table_byte(at) | (uint32_t)table_byte(at + 1) << 8 | (uint32_t)table_byte(at + 2) << 16;
}

static uint32_t take_number(struct voice_program* program) {
  return table_number(&program->at, program->end);
}

static uint8_t set_period(struct voice_reader* reader, uint8_t voice, uint32_t index) {
  table_index at;
  if (index >= reader->periods) return 0;
  at = reader->periods_at + (table_index)(index * PERIOD_BYTES);
  weaver_set_period(&reader->weaver, voice, three_bytes(at), table_word(at + 3));
  return 1;
}

static uint8_t set_on(struct weaver_voice* voice, struct voice_program* program, uint8_t says) {
  const uint32_t on = take_number(program);
  int8_t fade = 0;
  if (on > TABLE_LONGEST_ON_TICKS) return 0;
  if (says & VOICE_SAYS_FADE) {
    if (program->at >= program->end) return 0;
    fade = (int8_t)table_byte(program->at++);
  }
  weaver_set_on(voice, (uint16_t)on, fade);
  return 1;
}

/* The next stretch of a voice's program, if there is one; 0 when it cannot be read. */
static uint8_t next_stretch(struct voice_reader* reader, uint8_t index) {
  struct weaver_voice* voice = &reader->weaver.voice[index];
  struct voice_program* program = &reader->program[index];
  uint32_t bursts, delay = 0;
  uint8_t head;
  if (program->at >= program->end) return 1;
  head = table_byte(program->at++);
  bursts = head >> 4;
  if (bursts == 0) bursts = take_number(program);
  if (bursts == 0 || bursts > 65535UL) return 0;
  if (head & VOICE_SAYS_START) {
    delay = take_number(program);
    if (delay >= TABLE_LONGEST_GAP_TICKS) return 0;
  }
  if ((head & VOICE_SAYS_PERIOD) && !set_period(reader, index, take_number(program))) return 0;
  if ((head & VOICE_SAYS_ON) && !set_on(voice, program, head)) return 0;
  if (head & VOICE_SAYS_START) {
    weaver_start(voice, delay);
  } else {
    weaver_go_on(voice);
  }
  voice->left = (uint16_t)bursts;
  return 1;
}

uint8_t voice_reader_begin(struct voice_reader* reader) {
  const table_index data = (table_index)TABLE_DATA_FROM;
  table_index at = data + HEAD_BYTES;
  uint32_t end;
  uint8_t voices, i;
  if (TABLE_UNTIL < TABLE_DATA_FROM + HEAD_BYTES) return 0;
  voices = table_byte(data);
  if (voices == 0 || voices > WEAVER_VOICES) return 0;
  if (TABLE_UNTIL < TABLE_DATA_FROM + HEAD_BYTES + (uint32_t)LENGTH_BYTES * voices) return 0;
  weaver_begin(&reader->weaver, voices, table_word(data + 4), table_byte(data + 1), table_byte(data + 2) & 1);
  reader->periods = (uint16_t)(table_byte(data + 8) | table_byte(data + 9) << 8);
  reader->periods_at = at + LENGTH_BYTES * voices;
  end = (uint32_t)reader->periods_at + (uint32_t)reader->periods * PERIOD_BYTES;
  for (i = 0; i < voices; ++i, at += LENGTH_BYTES) {
    reader->program[i].at = (table_index)end;
    end += three_bytes(at);
    if (end > TABLE_UNTIL) return 0;
    reader->program[i].end = (table_index)end;
  }
  reader->corrections.at = (table_index)end;
  reader->corrections.end = TABLE_UNTIL;
  reader->end = 0;
  reader->right = 0;
  reader->action = AS_WOVEN;
  reader->to_tell = WEAVER_NONE;
  reader->drops = 0;
  for (i = 0; i < voices; ++i) {
    if (!next_stretch(reader, i)) return 0;
  }
  return 1;
}

uint8_t voice_reader_tell(struct voice_reader* reader) {
  const uint8_t voice = reader->to_tell;
  reader->to_tell = WEAVER_NONE;
  return voice == WEAVER_NONE || next_stretch(reader, voice);
}

uint8_t voice_reader_want(struct voice_reader* reader, uint8_t* voice, struct weaver_burst* burst) {
  *voice = weaver_first(&reader->weaver);
  if (*voice == WEAVER_NONE) return VOICES_END;
  weaver_take(&reader->weaver, *voice, burst);
  if (reader->weaver.voice[*voice].left == 0) reader->to_tell = *voice;
  return VOICES_BURST;
}

static uint32_t unfolded(uint32_t number) {
  return number & 1 ? ~(number >> 1) : number >> 1;
}

static uint8_t correct_on(struct voice_reader* reader) {
  const uint32_t on = take_number(&reader->corrections);
  reader->on = (uint16_t)on;
  return on <= TABLE_LONGEST_ON_TICKS;
}

/* What the next bursts are corrected by; 0 when it cannot be read. */
static uint8_t next_correction(struct voice_reader* reader) {
  struct voice_program* corrections = &reader->corrections;
  uint8_t code;
  reader->action = AS_WOVEN;
  if (corrections->at >= corrections->end) {
    reader->right = 255;
    return 1;
  }
  code = table_byte(corrections->at++);
  if (code < 0x80) { /* 0 rrrr sss, ssssssss: eleven bits of shift, two's complement */
    if (corrections->at >= corrections->end) return 0;
    reader->action = SHIFT;
    reader->right = code >> 3;
    reader->shift = (uint32_t)(code & 7) << 8 | table_byte(corrections->at++);
    if (code & 4) reader->shift -= 2048;
    return 1;
  }
  if (code < 0xC0) { /* 10 rrrrrr: a burst more than that */
    reader->right = (uint8_t)((code & 63) + 1);
    return 1;
  }
  if (code < 0xE0) { /* 110 rrrrr */
    reader->action = DROP;
    reader->right = code & 31;
    return 1;
  }
  reader->right = code & 15;
  if (code < 0xF0) { /* 1110 rrrr, on-time */
    reader->action = SET_ON;
  } else { /* 1111 rrrr, shift, on-time */
    const uint32_t shift = take_number(corrections);
    if (shift == TABLE_NO_NUMBER) return 0;
    reader->action = SHIFT_AND_SET_ON;
    reader->shift = unfolded(shift);
  }
  return correct_on(reader);
}

/* What becomes of a wanted burst: 1 when it is made. */
static uint8_t settle(struct voice_reader* reader, uint8_t voice, struct weaver_burst* burst) {
  const uint32_t wanted = burst->start;
  if (reader->action == SET_ON || reader->action == SHIFT_AND_SET_ON) burst->on = reader->on;
  if (reader->action == DROP) return 0;
  if (reader->action == SHIFT || reader->action == SHIFT_AND_SET_ON) {
    burst->start = wanted + reader->shift;
    return 1;
  }
  return weaver_settle(&reader->weaver, voice, burst);
}

/* The same with the corrections that stand before it: VOICES_BURST, or VOICES_MORE when it is dropped. */
static uint8_t settle_corrected(struct voice_reader* reader, uint8_t voice, struct weaver_burst* burst) {
  uint8_t made;
  while (reader->right == 0 && reader->action == AS_WOVEN) {
    if (!next_correction(reader)) return VOICES_BROKEN;
  }
  if (reader->right != 0) {
    --reader->right;
    made = weaver_settle(&reader->weaver, voice, burst);
  } else {
    made = settle(reader, voice, burst);
    reader->action = AS_WOVEN;
  }
  return made ? VOICES_BURST : VOICES_MORE;
}

uint8_t voice_reader_step(struct voice_reader* reader, uint32_t* gap, uint16_t* on) {
  struct weaver_burst burst;
  uint8_t voice, result;
  if (reader->to_tell != WEAVER_NONE) return voice_reader_tell(reader) ? VOICES_MORE : VOICES_BROKEN;
  result = voice_reader_want(reader, &voice, &burst);
  if (result != VOICES_BURST) return result;
  result = settle_corrected(reader, voice, &burst);
  if (result == VOICES_MORE && ++reader->drops > VOICES_MOST_DROPS) return VOICES_BROKEN;
  if (result != VOICES_BURST) return result;
  weaver_made(&reader->weaver, &burst);
  *gap = burst.start - reader->end;
  *on = (uint16_t)burst.on;
  reader->end = burst.start + burst.on;
  reader->drops = 0;
  return VOICES_BURST;
}
