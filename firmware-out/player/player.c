#include "player.h"

#include "guard.h"
#include "hardware.h"
#include "source.h"

#define TICKS_PER_MS (BURST_TABLE_TICK_HZ / 1000UL)
/* An arm input counts when it has been steady for this long: switches bounce for a few milliseconds. */
#define ARM_STEADY_TICKS (20UL * TICKS_PER_MS)
/* How often the inputs are looked at while nothing plays. */
#define IDLE_TICKS (2UL * TICKS_PER_MS)
/* From the start to the moment the table calls zero: the first burst may begin there. */
#define START_TICKS (2UL * TICKS_PER_MS)
/* A burst nearer than this is made at once: a sleep cut short by some other interrupt just before the alarm
 * would leave less than the lead, after one more turn of the loop. */
#define NEAR_TICKS (HARDWARE_LEAD_TICKS + HARDWARE_LEAD_TICKS / 2)
/* How far from now, either way, what is told of a song may end while nothing is at hand: with the longest gap
 * (under 2^30 ticks) all moments stay within half a turn of the counter. */
#define UNTOLD_TICKS ((int32_t)(PLAYER_UNTOLD_MS * TICKS_PER_MS))

/* The list ends with one that is none: it may be empty. */
#define BURST_GUARD_WINDOW(slot_ticks, allowance, forget_ticks, slots, first, counts_starts) \
  {slot_ticks, allowance, forget_ticks, slots, first, counts_starts, 0, 0, 0},
static struct guard_window guard_windows[] = {BURST_GUARD_WINDOWS{0, 0, 0, 0, 0, 0, 0, 0, 0}};
#define GUARD_WINDOWS (sizeof guard_windows / sizeof guard_windows[0] - 1)
static uint32_t guard_slots[BURST_GUARD_SLOTS + 1];
static struct guard guard = {guard_windows,
                             guard_slots,
                             BURST_TABLE_GAP_MIN_TICKS,
                             BURST_GUARD_MEMORY_TICKS,
                             BURST_TABLE_ON_MAX_TICKS,
                             BURST_GUARD_STRETCH_TICKS,
                             BURST_GUARD_SLOTS,
                             GUARD_WINDOWS,
                             1,
                             0};

/* The guard is asked so long before a burst is near: after a rest all its slots have to leave, and the source
 * may be at work. */
#define ASKING_TICKS (HARDWARE_SLOT_TICKS * (BURST_GUARD_SLOTS + 3UL * GUARD_WINDOWS + 1) + SOURCE_WORK_TICKS)

#define FORGET_MS (BURST_GUARD_MEMORY_TICKS / TICKS_PER_MS + 1)

volatile struct player_status player_status;

static struct {
  uint32_t last_step; /* of the rest */
  uint32_t arm_since; /* when the arm input last changed */
  uint32_t rest_left_ms, rest_ticks;
  uint32_t zero; /* of the song */
  uint32_t rise; /* of the next burst */
  uint32_t told; /* up to where the song is known: the end of that burst, or of a rest */
  struct table_burst burst;
  uint8_t arm_seen, arm; /* as last seen, and steady */
  uint8_t asked;         /* the guard, about `burst` */
  uint8_t waits;         /* no burst is at hand: the source has to be asked again */
} player;

static void go(uint8_t state) {
  player_status.state = state;
}

static void rest_for(uint32_t ms) {
  hardware_gate_low();
  player.rest_left_ms = ms;
  player.rest_ticks = 0;
  player.last_step = hardware_now();
  go(PLAYER_RESTING);
}

static void rest(uint8_t played) {
  source_over(played);
  rest_for(source_rest_ms());
}

static void end_with(uint8_t error) {
  player_status.error = error;
  rest(0);
}

uint32_t player_rest_left_ms(void) {
  return player_status.state == PLAYER_RESTING ? player.rest_left_ms : 0;
}

uint32_t player_song_time(void) {
  return hardware_now() - player.zero;
}

void player_begin(void) {
  player_status.mark = PLAYER_STATUS_MARK;
  player_status.error = PLAYER_NO_ERROR;
  player_status.songs = 0;
  player_status.made = 0;
  player_status.missed = 0;
  player_status.refused = 0;
  guard_begin(&guard);
  player.arm_since = hardware_now();
  player.arm_seen = player.arm = 1; /* until it has been seen open */
  source_begin();
  /* What ran before the reset is forgotten: the guard's longest window has to pass, too. */
  rest_for(BURST_TABLE_REST_MS > FORGET_MS ? BURST_TABLE_REST_MS : FORGET_MS);
}

static void watch_arm(uint32_t now, uint8_t given) {
  if (given != player.arm_seen) {
    player.arm_seen = given;
    player.arm_since = now;
  } else if (given != player.arm && now - player.arm_since >= ARM_STEADY_TICKS) {
    player.arm = given;
  }
}

static void begin_check(void) {
  source_check_begin();
  go(PLAYER_CHECKING);
}

static void count_rest(uint32_t now) {
  player.rest_ticks += now - player.last_step;
  player.last_step = now;
  while (player.rest_ticks >= TICKS_PER_MS && player.rest_left_ms != 0) {
    player.rest_ticks -= TICKS_PER_MS;
    --player.rest_left_ms;
  }
  if (player.rest_left_ms != 0) return;
  if (source_goes_on()) {
    begin_check();
  } else {
    go(PLAYER_RELEASE);
  }
}

/* A burst, a rest, nothing yet, or the end. */
static void take_next_burst(void) {
  const uint8_t result = source_next(&player.burst);
  player.asked = player.waits = 0;
  if (result == SOURCE_GOOD) {
    player.rise = player.told + player.burst.gap;
    player.told = player.rise + player.burst.listed_on;
    player.waits = player.burst.listed_on == 0;
    return;
  }
  if (result == SOURCE_WAIT) {
    player.waits = 1;
    return;
  }
  if (result == SOURCE_END) {
    ++player_status.songs;
  } else {
    player_status.error = result;
  }
  rest(result == SOURCE_END);
}

static void start(uint32_t now) {
  player_status.made = 0;
  player_status.missed = 0;
  player_status.refused = 0;
  player.zero = player.told = now + START_TICKS;
  source_start();
  go(PLAYER_PLAYING);
  take_next_burst();
}

static void check(uint32_t now) {
  const uint8_t result = source_check();
  if (result == SOURCE_GOOD) {
    start(now);
  } else if (result == SOURCE_WAIT) {
    (void)source_work(now);
  } else {
    player_status.error = result;
    go(PLAYER_FAULT);
  }
}

static void await_arm(uint32_t now, uint8_t run_allowed) {
  if (!player.arm) return;
  if (!run_allowed || !source_offers(now)) {
    go(PLAYER_RELEASE);
    return;
  }
  begin_check();
}

/* 0 when it was stopped. */
static uint8_t make_burst(void) {
  uint8_t result;
  if (player.burst.on == 0) {
    ++player_status.refused;
    return 1;
  }
  result = hardware_make_burst(player.rise, player.burst.on);
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

/* Live: nothing to make is known. */
static void await_burst(uint32_t now) {
  const int32_t ahead = (int32_t)(player.told - now);
  guard_rest(&guard, now);
  if (ahead < -UNTOLD_TICKS) {
    end_with(PLAYER_STARVED);
  } else {
    if (ahead <= UNTOLD_TICKS) take_next_burst();
    if (player.waits && !source_work(now)) hardware_rest_until(now + IDLE_TICKS);
  }
}

/* It came when its rise had passed: nothing is played late, and the guard is not asked for it. */
static void miss_burst(int32_t ahead) {
  ++player_status.missed;
  if (ahead < -UNTOLD_TICKS) {
    end_with(PLAYER_STARVED);
  } else {
    take_next_burst();
  }
}

static void play_burst(uint32_t now) {
  int32_t ahead = (int32_t)(player.rise - now);
  if (SOURCE_IS_LINK && !player.asked && ahead < 0) {
    miss_burst(ahead);
    return;
  }
  if (!player.asked && ahead <= (int32_t)(NEAR_TICKS + ASKING_TICKS)) {
    player.burst.on = guard_grant(&guard, player.rise, player.burst.on);
    player.asked = 1;
    if (GUARD_WINDOWS != 0) ahead = (int32_t)(player.rise - hardware_now()); /* it took its time */
  }
  if (ahead <= NEAR_TICKS) {
    if (make_burst()) take_next_burst();
  } else if (ahead <= (int32_t)(NEAR_TICKS + SOURCE_WORK_TICKS) || !source_work(now)) {
    hardware_rest_until(player.rise - HARDWARE_LEAD_TICKS - (player.asked ? 0 : ASKING_TICKS));
  }
}

static void play(uint32_t now) {
  if (SOURCE_IS_LINK && player.waits) {
    await_burst(now);
  } else {
    play_burst(now);
  }
}

/* 0 when a song that is starting or playing, or comes next in a set, had to end. */
static uint8_t may_go_on(uint32_t now, uint8_t conditions) {
  uint8_t error = source_trouble(now);
  if (!(conditions & HARDWARE_CLOCK_SOUND)) error = PLAYER_CLOCK_LOST;
  if (!player.arm) error = PLAYER_DISARMED;
  if (!(conditions & HARDWARE_RUN_ALLOWED)) error = PLAYER_STOP_OPENED;
  if (error == PLAYER_NO_ERROR) return 1;
  end_with(error);
  return 0;
}

static void idle(uint32_t now, uint8_t conditions) {
  hardware_gate_low();
  guard_rest(&guard, now);
  if (player_status.state == PLAYER_RESTING) {
    if (!source_goes_on() || may_go_on(now, conditions)) count_rest(now);
  } else if (player_status.state == PLAYER_RELEASE) {
    if (!player.arm) go(PLAYER_READY);
  } else if (player_status.state == PLAYER_READY) {
    await_arm(now, conditions & HARDWARE_RUN_ALLOWED);
  }
  if (!source_work(now)) hardware_rest_until(now + IDLE_TICKS);
}

void player_step(void) {
  const uint32_t now = hardware_now();
  const uint8_t conditions = hardware_conditions();
  watch_arm(now, conditions & HARDWARE_ARM_GIVEN);
  if (player_status.state == PLAYER_PLAYING) {
    if (may_go_on(now, conditions)) play(now);
  } else if (player_status.state == PLAYER_CHECKING) {
    if (may_go_on(now, conditions)) check(now);
  } else {
    idle(now, conditions);
  }
}
