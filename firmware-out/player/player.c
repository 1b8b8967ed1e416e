#include "player.h"

#include "hardware.h"
#include "table.h"

#define TICKS_PER_MS (BURST_TABLE_TICK_HZ / 1000UL)
/* An arm input counts when it has been steady for this long: switches bounce for a few milliseconds. */
#define ARM_STEADY_TICKS (20UL * TICKS_PER_MS)
/* How often the inputs are looked at while nothing plays. */
#define IDLE_TICKS (2UL * TICKS_PER_MS)
/* From the start to the moment the table calls zero: the first burst may begin there. */
#define START_TICKS (2UL * TICKS_PER_MS)
#define CHECK_BYTES 64
/* A burst nearer than this is made at once: a sleep cut short by some other interrupt just before the alarm
 * would leave less than the lead, after one more turn of the loop. */
#define NEAR_TICKS (HARDWARE_LEAD_TICKS + HARDWARE_LEAD_TICKS / 2)

/* Bursts read ahead of the one that is due: where some stand close and take long to read, there is time for
 * them before. */
#define MOST_AHEAD 4
/* A step of reading may take so long on this chip: it is begun only where a burst that is due leaves the
 * time. */
#ifndef HARDWARE_READ_TICKS
#define HARDWARE_READ_TICKS 0
#endif

volatile struct player_status player_status;

static struct {
  uint32_t last_step;
  uint32_t arm_since; /* when the arm input last changed */
  uint32_t rest_left_ms, rest_ticks;
  uint32_t rise; /* of the next burst */
  struct table_burst burst;
  struct table_burst ahead[MOST_AHEAD]; /* those after it */
  uint8_t first_ahead, count_ahead;
  uint8_t ends; /* TABLE_MORE, or why there are no more to read */
  struct table_reader reader;
  struct table_check check;
  uint8_t arm_seen, arm; /* as last seen, and steady */
} player;

static void go(uint8_t state) {
  player_status.state = state;
}

static void rest(void) {
  hardware_gate_low();
  player.rest_left_ms = BURST_TABLE_REST_MS;
  player.rest_ticks = 0;
  go(PLAYER_RESTING);
}

static void end_with(uint8_t error) {
  player_status.error = error;
  rest();
}

void player_begin(void) {
  player_status.mark = PLAYER_STATUS_MARK;
  player_status.error = PLAYER_NO_ERROR;
  player_status.songs = 0;
  player_status.made = 0;
  player_status.missed = 0;
  player.last_step = player.arm_since = hardware_now();
  player.arm_seen = player.arm = 1; /* until it has been seen open */
  rest();
}

static void watch_arm(uint32_t now, uint8_t given) {
  if (given != player.arm_seen) {
    player.arm_seen = given;
    player.arm_since = now;
  } else if (given != player.arm && now - player.arm_since >= ARM_STEADY_TICKS) {
    player.arm = given;
  }
}

static void count_rest(uint32_t elapsed) {
  player.rest_ticks += elapsed;
  while (player.rest_ticks >= TICKS_PER_MS && player.rest_left_ms != 0) {
    player.rest_ticks -= TICKS_PER_MS;
    --player.rest_left_ms;
  }
  if (player.rest_left_ms == 0) go(PLAYER_RELEASE);
}

/* 1 when a burst has been read. */
static uint8_t read_step(struct table_burst* burst) {
  const uint8_t result = table_reader_step(&player.reader, burst);
  if (result == TABLE_BURST) return 1;
  if (result != TABLE_MORE) player.ends = result;
  return 0;
}

static void read_ahead(void) {
  const uint8_t last = (uint8_t)(player.first_ahead + player.count_ahead) % MOST_AHEAD;
  if (read_step(&player.ahead[last])) ++player.count_ahead;
}

static void end_song(void) {
  if (player.ends == TABLE_END) {
    ++player_status.songs;
    rest();
  } else {
    end_with(TABLE_MALFORMED);
  }
}

/* 0 when there is none. */
static uint8_t next_burst(void) {
  if (player.count_ahead != 0) {
    player.burst = player.ahead[player.first_ahead];
    player.first_ahead = (uint8_t)(player.first_ahead + 1) % MOST_AHEAD;
    --player.count_ahead;
    return 1;
  }
  while (player.ends == TABLE_MORE) {
    if (read_step(&player.burst)) return 1;
  }
  return 0;
}

static void take_next_burst(void) {
  const uint32_t end = player.rise + player.burst.listed_on;
  if (next_burst()) {
    player.rise = end + player.burst.gap;
  } else {
    end_song();
  }
}

static void start(uint32_t now) {
  player_status.made = 0;
  player_status.missed = 0;
  player.burst.listed_on = 0;
  player.rise = now + START_TICKS;
  player.count_ahead = 0;
  player.ends = table_reader_begin(&player.reader) ? TABLE_MORE : TABLE_BROKEN;
  go(PLAYER_PLAYING);
  take_next_burst();
}

static void check_table(uint32_t now) {
  uint8_t fault;
  if (!table_check_some(&player.check, CHECK_BYTES)) return;
  fault = table_fault(&player.check);
  if (fault == TABLE_SOUND) {
    start(now);
  } else {
    player_status.error = fault;
    go(PLAYER_FAULT);
  }
}

static void await_arm(uint8_t run_allowed) {
  if (!player.arm) return;
  if (!run_allowed) {
    go(PLAYER_RELEASE);
    return;
  }
  table_check_begin(&player.check);
  go(PLAYER_CHECKING);
}

/* 0 when it was stopped. */
static uint8_t make_burst(void) {
  const uint8_t result = hardware_make_burst(player.rise, player.burst.on);
  if (result == HARDWARE_STOPPED) {
    end_with(PLAYER_STOP_OPENED);
    return 0;
  }
  if (result == HARDWARE_MADE) {
    ++player_status.made;
  } else {
    ++player_status.missed;
  }
  return 1;
}

static void play(uint32_t now) {
  const int32_t ahead = (int32_t)(player.rise - now);
  if (ahead > NEAR_TICKS + HARDWARE_READ_TICKS && player.ends == TABLE_MORE &&
      player.count_ahead < MOST_AHEAD) {
    read_ahead();
  } else if (ahead > NEAR_TICKS) {
    hardware_rest_until(player.rise - HARDWARE_LEAD_TICKS);
  } else if (make_burst()) {
    take_next_burst();
  }
}

/* 0 when a song that is starting or playing had to end. */
static uint8_t may_go_on(uint8_t conditions) {
  if (!(conditions & HARDWARE_RUN_ALLOWED)) {
    end_with(PLAYER_STOP_OPENED);
  } else if (!player.arm) {
    end_with(PLAYER_DISARMED);
  } else if (!(conditions & HARDWARE_CLOCK_SOUND)) {
    end_with(PLAYER_CLOCK_LOST);
  } else {
    return 1;
  }
  return 0;
}

static void idle(uint32_t now, uint8_t conditions) {
  hardware_gate_low();
  if (player_status.state == PLAYER_RESTING) {
    count_rest(now - player.last_step);
  } else if (player_status.state == PLAYER_RELEASE) {
    if (!player.arm) go(PLAYER_READY);
  } else if (player_status.state == PLAYER_READY) {
    await_arm(conditions & HARDWARE_RUN_ALLOWED);
  }
  hardware_rest_until(now + IDLE_TICKS);
}

void player_step(void) {
  const uint32_t now = hardware_now();
  const uint8_t conditions = hardware_conditions();
  watch_arm(now, conditions & HARDWARE_ARM_GIVEN);
  if (player_status.state == PLAYER_PLAYING) {
    if (may_go_on(conditions)) play(now);
  } else if (player_status.state == PLAYER_CHECKING) {
    if (may_go_on(conditions)) check_table(now);
  } else {
    idle(now, conditions);
  }
  player.last_step = now;
}
