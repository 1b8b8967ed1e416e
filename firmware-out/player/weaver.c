#include "weaver.h"

/* The middle of a tick: what is wanted at a whole tick stays there when it is rounded down. */
#define HALF 0x80000000UL
/* An on-time just short of the next tick up, so that a fade that is none keeps it. */
#define ON_HALF 0x8000UL

void weaver_begin(struct weaver* weaver, uint8_t voices, uint32_t gap, uint8_t cap, uint8_t yields) {
  uint8_t i;
  weaver->now = 0;
  weaver->free_from = 0;
  weaver->gap = gap;
  weaver->voices = voices <= WEAVER_VOICES ? voices : WEAVER_VOICES;
  weaver->cap = cap;
  weaver->yields = yields;
  for (i = 0; i < weaver->voices; ++i) {
    struct weaver_voice* voice = &weaver->voice[i];
    voice->next = 0;
    voice->fraction = HALF;
    voice->period = voice->period_fraction = 0;
    voice->on = 0;
    voice->cap = 0;
    voice->left = 0;
    voice->fade = 0;
  }
}

void weaver_set_period(struct weaver* weaver, uint8_t voice, uint32_t period, uint32_t fraction) {
  struct weaver_voice* it = &weaver->voice[voice];
  it->period = period;
  it->period_fraction = fraction;
  it->fraction = HALF;
  it->cap = (period >> 8) * weaver->cap + ((uint8_t)period * (uint16_t)weaver->cap >> 8);
}

void weaver_start(struct weaver_voice* voice, uint32_t delay) {
  voice->next += delay;
  voice->fraction = HALF;
}

void weaver_go_on(struct weaver_voice* voice) {
  const uint32_t fraction = voice->fraction + voice->period_fraction;
  voice->next += voice->period + (fraction < voice->fraction);
  voice->fraction = fraction;
}

void weaver_set_on(struct weaver_voice* voice, uint16_t on, int8_t fade) {
  voice->on = (uint32_t)on << 16 | ON_HALF;
  voice->fade = fade;
}

/* on * |fade| / 2^14, of the on-time's upper 24 bits: 24 + 7 bits fit into 32. */
static uint32_t part_of(uint32_t on, uint8_t fade) {
  return (on >> 8) * fade >> 6;
}

void weaver_fade(struct weaver_voice* voice) {
  if (voice->fade > 0) voice->on -= part_of(voice->on, (uint8_t)voice->fade);
  if (voice->fade < 0) voice->on += part_of(voice->on, (uint8_t)-voice->fade);
}

uint8_t weaver_first(const struct weaver* weaver) {
  const struct weaver_voice* voice = weaver->voice;
  const uint32_t now = weaver->now;
  uint32_t least = 0xFFFFFFFFUL;
  uint8_t first = WEAVER_NONE, i;
  for (i = 0; i < weaver->voices; ++i, ++voice) {
    uint32_t ahead;
    if (voice->left == 0) continue;
    ahead = voice->next - now;
    if (ahead >= least) continue;
    first = i;
    least = ahead;
  }
  return first;
}

void weaver_take(struct weaver* weaver, uint8_t voice, struct weaver_burst* burst) {
  struct weaver_voice* it = &weaver->voice[voice];
  burst->start = it->next;
  burst->on = it->on >> 16;
  weaver->now = it->next;
  --it->left;
  weaver_fade(it);
  if (it->left != 0) weaver_go_on(it);
}

static uint8_t would_make_late(const struct weaver_voice* voice, uint32_t free_from) {
  return voice->left != 0 && (int32_t)(free_from - voice->next) > (int32_t)voice->cap;
}

uint8_t weaver_settle(const struct weaver* weaver, uint8_t voice, struct weaver_burst* burst) {
  const int32_t late = (int32_t)(weaver->free_from - burst->start);
  uint32_t free_from;
  uint8_t i;
  if (late > 0) {
    if (late > (int32_t)weaver->voice[voice].cap) return 0;
    burst->start = weaver->free_from;
  }
  if (!weaver->yields) return 1;
  free_from = burst->start + burst->on + weaver->gap;
  for (i = 0; i < voice; ++i) {
    if (would_make_late(&weaver->voice[i], free_from)) return 0;
  }
  return 1;
}

void weaver_made(struct weaver* weaver, const struct weaver_burst* burst) {
  weaver->free_from = burst->start + burst->on + weaver->gap;
}
