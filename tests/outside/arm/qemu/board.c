/* The player on QEMU's Cortex-M0 board (nRF51822), with edges made by software: it shows that the player's C
 * does on that core what it does elsewhere, and no timing of any chip. TIMER0 counts ticks (16 MHz / 8;
 * "nRF51 Series Reference Manual", chapter TIMER). Edges are kept and printed at the end through semihosting
 * ("Semihosting for AArch32 and AArch64", Arm). */
#include "hardware.h"
#include "player.h"

#ifndef BURST_SET_SONGS
#define BURST_SET_SONGS 1
#endif

#define REGISTER(address) (*(volatile uint32_t*)(address))
#define TIMER_START REGISTER(0x40008000UL)
#define TIMER_CAPTURE0 REGISTER(0x40008040UL)
#define TIMER_BITMODE REGISTER(0x40008508UL)
#define TIMER_PRESCALER REGISTER(0x40008510UL)
#define TIMER_CC0 REGISTER(0x40008540UL)
#define TIMER_COMPARED1 REGISTER(0x40008144UL)
#define TIMER_INTENSET REGISTER(0x40008304UL)
#define TIMER_CC1 REGISTER(0x40008544UL)
#define BITMODE_32 3
#define COMPARE1 (1UL << 17)
/* ARMv6-M, B3.4: the timer's interrupt, number 8, becomes pending; as all are masked it only ends a WFI. */
#define NVIC_ISER REGISTER(0xE000E100UL)
#define NVIC_ICPR REGISTER(0xE000E280UL)
#define TIMER_INTERRUPT (1UL << 8)

enum { SYS_WRITE0 = 4, SYS_EXIT = 0x18, APPLICATION_EXIT = 0x20026, MOST_EDGES = 2400 };

static uint32_t edges[MOST_EDGES];
static uint32_t edge_count;

static void semihosting(uint32_t operation, uint32_t word) {
  register uint32_t r0 __asm__("r0") = operation;
  register uint32_t r1 __asm__("r1") = word;
  __asm__ volatile("bkpt 0xAB" : "+r"(r0) : "r"(r1) : "memory");
}

uint32_t hardware_now(void) {
  TIMER_CAPTURE0 = 1;
  return TIMER_CC0;
}

static uint32_t wait_until(uint32_t moment) {
  uint32_t now;
  do now = hardware_now();
  while ((int32_t)(moment - now) > 0);
  return now;
}

static void keep_edge(uint32_t at) {
  if (edge_count < MOST_EDGES) edges[edge_count++] = at;
}

uint8_t hardware_make_burst(uint32_t rise, uint16_t on) {
  if (rise - hardware_now() > 2 * HARDWARE_LEAD_TICKS) return HARDWARE_TOO_LATE;
  keep_edge(wait_until(rise));
  keep_edge(wait_until(rise + on));
  return HARDWARE_MADE;
}

uint8_t hardware_conditions(void) {
  const uint8_t arm = hardware_now() >= 100000 ? HARDWARE_ARM_GIVEN : 0;
  return arm | HARDWARE_RUN_ALLOWED | HARDWARE_CLOCK_SOUND;
}

void hardware_rest_until(uint32_t moment) {
  if ((int32_t)(moment - hardware_now()) < 8) return;
  TIMER_CC1 = moment;
  TIMER_COMPARED1 = 0;
  NVIC_ICPR = TIMER_INTERRUPT;
  __asm__ volatile("dsb\n\twfi" ::: "memory");
}

void hardware_gate_low(void) {}

void hardware_begin(void) {
  __asm__ volatile("cpsid i" ::: "memory");
  TIMER_BITMODE = BITMODE_32;
  TIMER_PRESCALER = 3;
  TIMER_START = 1;
  TIMER_INTENSET = COMPARE1;
  NVIC_ISER = TIMER_INTERRUPT;
}

static void print_edge(uint32_t at, uint32_t level) {
  char line[16], *start = line + sizeof line;
  *--start = 0;
  *--start = '\n';
  *--start = (char)('0' + level);
  *--start = ',';
  do *--start = (char)('0' + at % 10);
  while (at /= 10);
  semihosting(SYS_WRITE0, (uint32_t)start);
}

int main(void) {
  uint32_t i;
  hardware_begin();
  player_begin();
  while (player_status.songs < BURST_SET_SONGS && player_status.error == PLAYER_NO_ERROR) player_step();
  semihosting(SYS_WRITE0, (uint32_t) "cycle,level\n");
  for (i = 0; i < edge_count; ++i) print_edge(edges[i], ~i & 1);
  semihosting(SYS_EXIT, APPLICATION_EXIT);
  return 0;
}
