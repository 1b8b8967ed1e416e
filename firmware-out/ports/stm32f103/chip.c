/* The gate of an STM32F103: PA8 (TIM1_CH1), active high. Arm input PB13, stop input PB12 (TIM1_BKIN), both to
 * ground, with the internal pull-ups: an open wire reads as "not armed" and as "stop".
 *
 * TIM2 is the clock: half microseconds, never written to. TIM1 makes the burst in one-pulse mode
 * (RM0008, 14.3, One-pulse mode): started by a match of TIM2 (15.3, Timer synchronization), it goes high
 * after one count and low where it stops by itself. Both edges are armed before the rise:
 *
 *    processor   on-time -> TIM1, rise -> TIM2, look again     look at stop ... gate_low
 *    TIM2        ....tick....tick....tick....tick [match]
 *    TIM1                                         RISE ---- on-time ---- FALL, stands still
 *
 * So nothing that the processor does or fails to do after arming can keep the gate high. A match that is
 * armed too late would come a whole turn (32.8 ms) later: it is seen by looking again, and disarmed. The stop
 * input is TIM1's break input as well (14.3, Using the break function): opened, it takes the gate low by
 * itself, and only the program lets it rise again. */
#include "chip.h"
#include "stm32f103.h"

enum { GATE_PIN = 8, STOP_PIN = 12, ARM_PIN = 13 }; /* PA8, PB12, PB13 */

/* TIM1 counts 8 MHz: 8 ms fit its 16 bits. */
#define BURST_PRESCALER 9UL
#define COUNTS_A_TICK (CHIP_CYCLES_A_TICK / BURST_PRESCALER)
/* 32 ms at 40 kHz; that oscillator has 30 to 60 kHz (data sheet DS5319, low-speed internal oscillator). */
#define WATCHDOG_COUNTS 320UL

static uint32_t time_now; /* low half: the counter as last read */
static uint8_t clock_is_sound = 1;

/* The counter's turns show in UIF; a turn that brings the counter past where it was means
 * that nobody looked for more than 32.768 ms: the time is lost. */
uint32_t chip_now(void) {
  uint32_t turned;
  uint16_t counter;
  do {
    turned = TIM2_SR & TIM_SR_UIF;
    counter = (uint16_t)TIM2_CNT;
  } while (turned != (TIM2_SR & TIM_SR_UIF));
  if (turned) {
    TIM2_SR = ~TIM_SR_UIF;
    if (counter >= (uint16_t)time_now) clock_is_sound = 0;
  }
  time_now += (uint16_t)(counter - (uint16_t)time_now);
  return time_now;
}

/* A break that was seen counts, though the switch may be closed again. */
uint8_t chip_stop_is_open(void) {
  return (GPIOB_IDR & 1UL << STOP_PIN) != 0 || (TIM1_SR & TIM_SR_BIF) != 0;
}

/* MOE off drives the idle level, low (14.3, Using the break function). */
void chip_gate_low(void) {
  TIM1_BDTR = TIM_BDTR_OSSI | TIM_BDTR_BKE | TIM_BDTR_BKP;
  TIM1_SMCR = 0;
  TIM2_CCMR1 = TIM_OC1_FORCED_LOW;
  TIM1_CR1 = TIM_CR1_OPM;
  TIM1_CNT = 0;
}

/* In one-pulse mode TIM1 runs from the match on, and has turned over when it is done. The pulse is the counts
 * from CCR1 to ARR, both included. */
uint8_t chip_arm(uint32_t rise, uint16_t on) {
  TIM1_ARR = on * COUNTS_A_TICK;
  TIM1_EGR = TIM_EGR_UG;
  TIM1_SR = 0;
  TIM1_SMCR = TIM_SMCR_START_BY_TIM2;
  TIM1_BDTR = TIM_BDTR_OSSI | TIM_BDTR_BKE | TIM_BDTR_BKP | TIM_BDTR_MOE;
  TIM2_CCR1 = (uint16_t)rise;
  TIM2_CCMR1 = TIM_OC1_HIGH_ON_MATCH;
  return (int32_t)(rise - chip_now()) >= 1 || TIM1_CR1 & TIM_CR1_CEN || TIM1_SR & TIM_SR_UIF;
}

void chip_feed_watchdog(void) {
  IWDG_KR = IWDG_RELOAD;
}

/* A supply that is too low stops too. */
uint8_t hardware_conditions(void) {
  const uint32_t inputs = GPIOB_IDR;
  uint8_t conditions = 0;
  if (!(inputs & 1UL << ARM_PIN)) conditions |= HARDWARE_ARM_GIVEN;
  if (!(inputs & 1UL << STOP_PIN) && !(PWR_CSR & PWR_CSR_TOO_LOW)) conditions |= HARDWARE_RUN_ALLOWED;
  if (clock_is_sound) conditions |= HARDWARE_CLOCK_SOUND;
  clock_is_sound = 1;
  return conditions;
}

/* 8 MHz crystal x 9 = 72 MHz; APB1 at half of that, its timers at all of it (7.2, clock tree). Should the
 * crystal fail, the clock security system changes to an oscillator that is too inexact and calls NMI: gate
 * low, then the watchdog. */
static void begin_clocks(void) {
  RCC_CR |= RCC_CR_HSEON;
  while (!(RCC_CR & RCC_CR_HSERDY)) {
  }
  FLASH_ACR = FLASH_TWO_WAIT_STATES | FLASH_PREFETCH;
  RCC_CFGR = RCC_CFGR_PLL_FROM_HSE | RCC_CFGR_PLL_TIMES_9 | RCC_CFGR_APB1_HALF;
  RCC_CR |= RCC_CR_PLLON;
  while (!(RCC_CR & RCC_CR_PLLRDY)) {
  }
  RCC_CFGR |= RCC_CFGR_PLL;
  while (!(RCC_CFGR & RCC_CFGR_PLL_IN_USE)) {
  }
  RCC_CR |= RCC_CR_CSSON;
}

static void begin_watchdog(void) {
  IWDG_KR = IWDG_START;
  IWDG_KR = IWDG_UNLOCK;
  IWDG_PR = 0;
  IWDG_RLR = WATCHDOG_COUNTS - 1;
  while (IWDG_SR) {
  }
  IWDG_KR = IWDG_RELOAD;
}

static void begin_timers(void) {
  TIM2_PSC = CHIP_CYCLES_A_TICK - 1;
  TIM2_ARR = 0xFFFF;
  TIM2_CR2 = TIM_CR2_TRGO_IS_OC1REF;
  TIM2_CCMR1 = TIM_OC1_FORCED_LOW;
  TIM2_EGR = TIM_EGR_UG;
  TIM2_SR = 0;
  TIM1_PSC = BURST_PRESCALER - 1;
  TIM1_CCR1 = 1;
  TIM1_CCMR1 = TIM_OC1_PWM_2;
  TIM1_CCER = TIM_CCER_CC1E;
  chip_gate_low();
  TIM2_CR1 = TIM_CR1_CEN;
}

/* Before this the pins are inputs that float (9.1): the pull-down outside keeps the gate low. */
static void begin_pins(void) {
  GPIOB_BSRR = 1UL << ARM_PIN | 1UL << STOP_PIN;
  GPIOB_CRH = (GPIOB_CRH & ~0x00FF0000UL) | GPIO_INPUT_PULLED << 16 | GPIO_INPUT_PULLED << 20;
  GPIOA_CRH = (GPIOA_CRH & ~0xFUL) | GPIO_TIMER_OUTPUT_50MHZ;
}

void hardware_begin(void) {
  interrupts_off();
  begin_watchdog();
  begin_clocks();
  RCC_APB2ENR |= RCC_APB2_GPIOA | RCC_APB2_GPIOB | RCC_APB2_TIM1;
  RCC_APB1ENR |= RCC_APB1_TIM2 | RCC_APB1_PWR;
  PWR_CR = PWR_CR_DETECTOR_2V9;
  begin_timers();
  begin_pins();
  interrupts_on();
}
