/* The gate of an ESP32: GPIO18, active high. Arm input GPIO21, stop input GPIO19, both to ground, with the
 * internal pull-ups: an open wire reads as "not armed" and as "stop".
 *
 * NEVER RUN ON A CHIP. It was compiled, and played against a stand-in for the registers.
 *
 * A burst is handed to the RMT peripheral as one item: so long low, so long high, the end. The peripheral
 * makes both edges; once it has started, nothing that the processor does or fails to do can keep the gate
 * high, and the on-time is exact. The start is the program's: it waits for the timer to go on by a tick and
 * starts RMT then, so that a rise is some accesses to registers late, less than a tick, and not always by the
 * same time.
 *
 * While no burst is under way the pin does not belong to RMT: it is a plain output, low. */
#include "hardware.h"

#include "esp32.h"

enum { GATE = 18, STOP = 19, ARM = 21 };

#define APB_CYCLES_A_TICK 40UL
/* A rise is armed when it is at least this far ahead (10 us). */
#define LEAST_LEAD_TICKS 20
#define WATCHDOG_PRESCALER 40000UL /* of 80 MHz: 0.5 ms */
#define WATCHDOG_COUNTS 64UL       /* 32 ms */

#define CONF1 (RMT_CONF1_FROM_APB | RMT_CONF1_IDLE_OUT_LOW)

static uint32_t clock_now(void) {
  esp32_write(TIMG1_T0UPDATE, 1);
  return esp32_read(TIMG1_T0LO);
}

static uint32_t at_next_tick(void) {
  const uint32_t before = clock_now();
  uint32_t now;
  do now = clock_now();
  while (now == before);
  return now;
}

static uint8_t stop_is_open(void) {
  return (esp32_read(GPIO_IN) & 1UL << STOP) != 0;
}

/* Low at once, whatever RMT does: the pin is taken away from it. What it still counts nobody sees; its next
 * read finds the end. */
static void gate_low(void) {
  esp32_write(GPIO_FUNC_OUT_SEL(GATE), GPIO_PLAIN_OUTPUT);
  esp32_write(RMT_CH0_RAM, 0);
  esp32_write(RMT_CH0CONF1, CONF1 | RMT_CONF1_MEM_RD_RST);
  esp32_write(RMT_CH0CONF1, CONF1);
}

/* After gate_low, interrupts off. Started in time: 1. Else nothing was started: 0. */
static uint8_t start(uint32_t rise, uint16_t on) {
  uint32_t ahead;
  esp32_write(RMT_CH0_RAM + 4, 0);
  esp32_write(GPIO_FUNC_OUT_SEL(GATE), GPIO_RMT_SIG_OUT0);
  ahead = rise - at_next_tick();
  if (ahead == 0 || ahead > 2 * HARDWARE_LEAD_TICKS) return 0;
  esp32_write(RMT_CH0_RAM, RMT_ITEM(ahead, on));
  esp32_write(RMT_CH0CONF1, CONF1 | RMT_CONF1_REF_CNT_RST | RMT_CONF1_TX_START);
  return 1;
}

/* Two ticks past the fall: it may come up to one late. */
static uint8_t watch_stop_until_past(uint32_t fall) {
  while ((int32_t)(clock_now() - fall) < 2) {
    if (stop_is_open()) return HARDWARE_STOPPED;
  }
  return HARDWARE_MADE;
}

uint8_t hardware_make_burst(uint32_t rise, uint16_t on) {
  uint8_t result = HARDWARE_TOO_LATE, started = 0;
  uint32_t ahead, before;
  if (on > BURST_TABLE_ON_MAX_TICKS) on = BURST_TABLE_ON_MAX_TICKS;
  gate_low();
  before = interrupts_off();
  ahead = rise - clock_now();
  /* What is past is huge as an unsigned number. */
  if (on != 0 && ahead >= LEAST_LEAD_TICKS && ahead <= 2 * HARDWARE_LEAD_TICKS) started = start(rise, on);
  interrupts_as(before);
  if (started) result = watch_stop_until_past(rise + on);
  gate_low();
  return result;
}

void hardware_gate_low(void) {
  gate_low();
}

uint32_t hardware_now(void) {
  esp32_write(TIMG1_WDTFEED, 1);
  return clock_now();
}

/* The timer has 64 bits: it cannot be lost. */
uint8_t hardware_conditions(void) {
  const uint32_t inputs = esp32_read(GPIO_IN);
  uint8_t conditions = HARDWARE_CLOCK_SOUND;
  if (!(inputs & 1UL << ARM)) conditions |= HARDWARE_ARM_GIVEN;
  if (!(inputs & 1UL << STOP)) conditions |= HARDWARE_RUN_ALLOWED;
  return conditions;
}

/* No sleep: the player has a core to itself, and waking one is a matter of the environment that boots the
 * chip. */
void hardware_rest_until(uint32_t moment) {
  (void)moment;
}

static void begin_clock(void) {
  esp32_write(TIMG1_T0CONFIG, 0);
  esp32_write(TIMG1_T0LOADLO, 0);
  esp32_write(TIMG1_T0LOADHI, 0);
  esp32_write(TIMG1_T0LOAD, 1);
  esp32_write(TIMG1_T0CONFIG, TIMG_T0_INCREASE | TIMG_T0_DIVIDER(APB_CYCLES_A_TICK));
  esp32_write(TIMG1_T0CONFIG, TIMG_T0_EN | TIMG_T0_INCREASE | TIMG_T0_DIVIDER(APB_CYCLES_A_TICK));
}

static void begin_watchdog(void) {
  esp32_write(TIMG1_WDTWPROTECT, TIMG_WDT_UNLOCK);
  esp32_write(TIMG1_WDTCONFIG1, WATCHDOG_PRESCALER << 16);
  esp32_write(TIMG1_WDTCONFIG2, WATCHDOG_COUNTS);
  esp32_write(TIMG1_WDTFEED, 1);
  esp32_write(TIMG1_WDTCONFIG0, TIMG_WDT_EN | TIMG_WDT_STAGE0_RESETS_SYSTEM | TIMG_WDT_RESET_3_2_US);
  /* Feeding is protected as well: it stays unlocked. */
}

static void begin_pins(void) {
  esp32_write(GPIO_OUT_W1TC, 1UL << GATE);
  esp32_write(GPIO_FUNC_OUT_SEL(GATE), GPIO_PLAIN_OUTPUT);
  esp32_write(IO_MUX_GPIO18, IO_MUX_IS_GPIO | IO_MUX_PULL_DOWN);
  esp32_write(GPIO_ENABLE_W1TS, 1UL << GATE);
  esp32_write(IO_MUX_GPIO19, IO_MUX_IS_GPIO | IO_MUX_INPUT | IO_MUX_PULL_UP);
  esp32_write(IO_MUX_GPIO21, IO_MUX_IS_GPIO | IO_MUX_INPUT | IO_MUX_PULL_UP);
}

static void begin_rmt(void) {
  esp32_write(RMT_APB_CONF, RMT_APB_CONF_RAM_DIRECT);
  esp32_write(RMT_CH0CONF0, RMT_CONF0_CLK_EN | RMT_CONF0_ONE_BLOCK | APB_CYCLES_A_TICK);
  esp32_write(RMT_CH0CONF1, CONF1);
}

void hardware_begin(void) {
  const uint32_t used = DPORT_RMT | DPORT_TIMERGROUP1;
  begin_pins();
  esp32_write(DPORT_PERIP_CLK_EN, esp32_read(DPORT_PERIP_CLK_EN) | used);
  esp32_write(DPORT_PERIP_RST_EN, esp32_read(DPORT_PERIP_RST_EN) & ~used);
  begin_clock();
  begin_watchdog();
  begin_rmt();
}
