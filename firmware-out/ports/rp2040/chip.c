/* The gate of an RP2040: GPIO15, active high. Arm input GPIO14, stop input GPIO13, both to ground, with the
 * internal pull-ups: an open wire reads as "not armed" and as "stop".
 *
 * Two state machines of PIO0 make the time and the bursts; the processor only tells them when and how long.
 * The first one is the clock: it counts a tick every 60 cycles, tells the count to whoever asks, and raises a
 * flag at one tick. The second one takes the on-time first, then waits for that flag, rises, counts, falls:
 *
 *    processor    on-time -> burst machine, rise -> clock machine, look again      look at stop ... gate_low
 *    clock        ....tick....tick....tick....tick [flag]
 *    burst                                         RISE ---- on-time ---- FALL
 *
 * So the fall is counted by hardware from the rise, and nothing that the processor does or fails to do after
 * arming can keep the gate high. A rise that was armed too late is seen by looking again, and disarmed. While
 * no burst is armed, the pin does not belong to PIO at all: it is a plain output, low. */
#include "chip.h"
#include "rp2040.h"

enum { GATE = 15, ARM = 14, STOP = 13 };
enum { CLOCK, BURST }; /* the state machines */

/* Rising and falling take two of the on-time's cycles. */
#define CYCLES_OF_EDGES 2UL
#define WATCHDOG_TICKS (2UL * 32000UL) /* 32 ms; it counts two a microsecond */

/* 3.4 Instruction set. Bits 12 to 8 are cycles of delay after the instruction. */
#define DELAY(cycles) ((cycles) << 8)
static const uint16_t program[] = {
    /* clock, a tick a turn: X is the rise that is waited for, Y the time; both count down */
    0x8080,             /*  0: pull noblock       a new rise; else OSR = X: the old one */
    0xA027 | DELAY(31), /*  1: mov x, osr */
    0x0083 | DELAY(22), /*  2: jmp y-- 3          time goes on, jump or not */
    0xA0CA,             /*  3: mov isr, ~y */
    0x8000,             /*  4: push noblock       for the processor; four wait to be read */
    0x00A7,             /*  5: jmp x!=y 7 */
    0xC004,             /*  6: irq set 4          the flag; wraps to 0 */
    0x0000,             /*  7: jmp 0              takes as long as the flag */
    /* burst */
    0x80A0, /*  8: pull block         the on-time */
    0xA047, /*  9: mov y, osr */
    0x20C4, /* 10: wait 1 irq 4       clears the flag too */
    0xE001, /* 11: set pins, 1 */
    0x008C, /* 12: jmp y-- 12 */
    0xE000  /* 13: set pins, 0        wraps to 8 */
};
enum { CLOCK_BEGIN = 0, CLOCK_WRAP = 6, BURST_BEGIN = 8, BURST_WAITS = 10, BURST_WRAP = 13 };
#define FLAG (1UL << 4)
#define EXECUTE_JMP(to) ((uint32_t)(to))
#define EXECUTE_MOV_Y_ONES 0xA04BUL
#define EXECUTE_PINS_LOW 0xE000UL
#define EXECUTE_PIN_IS_OUTPUT 0xE081UL

/* The clock machine's newest count: what waits to be read is old, what comes next is exact. At most a tick.
 * Should the clock ever stand still, the watchdog ends this. */
uint32_t chip_now(void) {
  while (!(PIO_FSTAT & PIO_FSTAT_RXEMPTY(CLOCK))) (void)PIO_RXF(CLOCK);
  while (PIO_FSTAT & PIO_FSTAT_RXEMPTY(CLOCK)) {
  }
  return PIO_RXF(CLOCK);
}

/* The pin is taken away from PIO first. Then the burst machine goes back to its beginning, and what it may
 * have been told is forgotten (3.5, FIFO joining: changing FJOIN_RX empties both queues). The clock machine
 * forgets the rise as well: else it would come to it again after 2^32 ticks (36 minutes), perhaps just when
 * another one is armed. */
void chip_gate_low(void) {
  GPIO_CTRL(GATE) = GPIO_FUNCTION_SIO;
  CLEAR_BITS(PIO_CTRL) = PIO_CTRL_ENABLE(BURST);
  SET_BITS(PIO_SHIFTCTRL(BURST)) = PIO_SHIFTCTRL_FJOIN_RX;
  CLEAR_BITS(PIO_SHIFTCTRL(BURST)) = PIO_SHIFTCTRL_FJOIN_RX;
  SET_BITS(PIO_CTRL) = PIO_CTRL_RESTART(BURST);
  PIO_EXECUTE(BURST) = EXECUTE_PINS_LOW;
  PIO_EXECUTE(BURST) = EXECUTE_JMP(BURST_BEGIN);
  PIO_TXF(CLOCK) = ~(chip_now() - 1);
  PIO_IRQ = FLAG;
}

uint8_t chip_stop_is_open(void) {
  return (SIO_GPIO_IN & 1UL << STOP) != 0;
}

uint8_t chip_arm(uint32_t rise, uint16_t on) {
  GPIO_CTRL(GATE) = GPIO_FUNCTION_PIO0;
  SET_BITS(PIO_CTRL) = PIO_CTRL_ENABLE(BURST);
  PIO_TXF(BURST) = on * CHIP_CYCLES_A_TICK - CYCLES_OF_EDGES;
  PIO_TXF(CLOCK) = ~rise;
  return (int32_t)(rise - chip_now()) >= 1 || PIO_ADDRESS(BURST) != BURST_WAITS;
}

/* The clock has 32 bits in hardware: it cannot be lost. */
uint8_t hardware_conditions(void) {
  const uint32_t inputs = SIO_GPIO_IN;
  uint8_t conditions = HARDWARE_CLOCK_SOUND;
  if (!(inputs & 1UL << ARM)) conditions |= HARDWARE_ARM_GIVEN;
  if (!(inputs & 1UL << STOP)) conditions |= HARDWARE_RUN_ALLOWED;
  return conditions;
}

void chip_feed_watchdog(void) {
  WATCHDOG_LOAD = WATCHDOG_TICKS;
}

/* 12 MHz crystal x 100 / 5 / 2 = 120 MHz; the oscillator between 750 and 1600 MHz (2.18). */
static void begin_clocks(void) {
  XOSC_STARTUP = 47; /* 1 ms (2.16) */
  XOSC_CTRL = XOSC_ENABLE_1_15MHZ;
  while (!(XOSC_STATUS & XOSC_STABLE)) {
  }
  CLK_REF_CTRL = CLK_REF_XOSC;
  while (!(CLK_REF_SELECTED & 1UL << CLK_REF_XOSC)) {
  }
  PLL_SYS_CS = 1;
  PLL_SYS_FBDIV = 100;
  CLEAR_BITS(PLL_SYS_PWR) = PLL_PWR_PD | PLL_PWR_VCOPD;
  while (!(PLL_SYS_CS & PLL_LOCK)) {
  }
  PLL_SYS_PRIM = 5UL << 16 | 2UL << 12;
  CLEAR_BITS(PLL_SYS_PWR) = PLL_PWR_POSTDIVPD;
  CLK_SYS_CTRL = CLK_SYS_AUX;
  while (!(CLK_SYS_SELECTED & 1UL << CLK_SYS_AUX)) {
  }
}

static void begin_watchdog(void) {
  PSM_WDSEL = PSM_ALL_BUT_OSCILLATORS;
  WATCHDOG_TICK = WATCHDOG_TICK_ENABLE | 12; /* 1 us from 12 MHz */
  WATCHDOG_LOAD = WATCHDOG_TICKS;
  WATCHDOG_CTRL = WATCHDOG_ENABLE;
}

static void begin_pins(void) {
  SIO_GPIO_OUT_CLR = 1UL << GATE;
  SIO_GPIO_OE_SET = 1UL << GATE;
  GPIO_CTRL(GATE) = GPIO_FUNCTION_SIO;
  PAD(GATE) = PAD_PULL_DOWN | PAD_DRIVE_4MA;
  PAD(ARM) = PAD_PULL_UP | PAD_SCHMITT | PAD_INPUT;
  PAD(STOP) = PAD_PULL_UP | PAD_SCHMITT | PAD_INPUT;
  GPIO_CTRL(ARM) = GPIO_FUNCTION_SIO;
  GPIO_CTRL(STOP) = GPIO_FUNCTION_SIO;
}

static void begin_machines(void) {
  uint32_t at;
  for (at = 0; at < sizeof program / sizeof program[0]; ++at) PIO_INSTRUCTION(at) = program[at];
  PIO_EXECCTRL(CLOCK) = PIO_WRAP(CLOCK_BEGIN, CLOCK_WRAP);
  PIO_EXECCTRL(BURST) = PIO_WRAP(BURST_BEGIN, BURST_WRAP);
  PIO_PINCTRL(BURST) = PIO_SET_ONE_PIN(GATE);
  PIO_EXECUTE(BURST) = EXECUTE_PIN_IS_OUTPUT;
  PIO_EXECUTE(CLOCK) = EXECUTE_MOV_Y_ONES;
  PIO_EXECUTE(CLOCK) = EXECUTE_JMP(CLOCK_BEGIN);
  SET_BITS(PIO_CTRL) = PIO_CTRL_ENABLE(CLOCK);
  chip_gate_low();
}

void hardware_begin(void) {
  const uint32_t used = RESETS_IO_BANK0 | RESETS_PADS_BANK0 | RESETS_PIO0 | RESETS_PLL_SYS;
  interrupts_off();
  CLEAR_BITS(RESETS_RESET) = used & ~RESETS_PIO0;
  while (~RESETS_RESET_DONE & (used & ~RESETS_PIO0)) {
  }
  begin_pins();
  begin_clocks();
  begin_watchdog();
  CLEAR_BITS(RESETS_RESET) = RESETS_PIO0;
  while (~RESETS_RESET_DONE & RESETS_PIO0) {
  }
  begin_machines();
  interrupts_on();
}
