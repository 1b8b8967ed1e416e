/* The registers of an ESP32 that the player uses. Source: "ESP32 Technical Reference Manual", chapters named
 * beside each group. Only what is used is named. A test stands in for them by defining ESP32_STUB. */
#ifndef BURST_ESP32_H
#define BURST_ESP32_H

#include <stdint.h>

#ifdef ESP32_STUB
uint32_t esp32_read(uint32_t address);
void esp32_write(uint32_t address, uint32_t value);
#else
static inline uint32_t esp32_read(uint32_t address) {
  return *(volatile uint32_t*)(uintptr_t)address;
}
static inline void esp32_write(uint32_t address, uint32_t value) {
  *(volatile uint32_t*)(uintptr_t)address = value;
}
#endif

/* Interrupts up to level 3 off, and as they were (Xtensa Instruction Set Architecture, RSIL and WSR.PS). */
#ifdef __XTENSA__
static inline uint32_t interrupts_off(void) {
  uint32_t before;
  __asm__ volatile("rsil %0, 3" : "=a"(before)::"memory");
  return before;
}
static inline void interrupts_as(uint32_t before) {
  __asm__ volatile("wsr.ps %0\n\trsync" ::"a"(before) : "memory");
}
#else
static inline uint32_t interrupts_off(void) {
  return 0;
}
static inline void interrupts_as(uint32_t before) {
  (void)before;
}
#endif

/* System registers (DPORT): clock gates and resets of peripherals */
#define DPORT_PERIP_CLK_EN 0x3FF000C0UL
#define DPORT_PERIP_RST_EN 0x3FF000C4UL
#define DPORT_RMT (1UL << 9)
#define DPORT_TIMERGROUP1 (1UL << 15)

/* IO_MUX and GPIO matrix */
#define GPIO_OUT_W1TC 0x3FF4400CUL
#define GPIO_ENABLE_W1TS 0x3FF44024UL
#define GPIO_IN 0x3FF4403CUL
#define GPIO_FUNC_OUT_SEL(pin) (0x3FF44530UL + 4UL * (pin))
#define GPIO_PLAIN_OUTPUT 256UL
#define GPIO_RMT_SIG_OUT0 87UL
#define IO_MUX_GPIO18 0x3FF49070UL
#define IO_MUX_GPIO19 0x3FF49074UL
#define IO_MUX_GPIO21 0x3FF4907CUL
#define IO_MUX_IS_GPIO (2UL << 12)
#define IO_MUX_INPUT (1UL << 9)
#define IO_MUX_PULL_UP (1UL << 8)
#define IO_MUX_PULL_DOWN (1UL << 7)

/* Remote control peripheral (RMT), channel 0 */
#define RMT_CH0CONF0 0x3FF56020UL
#define RMT_CH0CONF1 0x3FF56024UL
#define RMT_APB_CONF 0x3FF560F0UL
#define RMT_CH0_RAM 0x3FF56800UL
#define RMT_CONF0_ONE_BLOCK (1UL << 24)
#define RMT_CONF0_CLK_EN (1UL << 31)
#define RMT_CONF1_TX_START (1UL << 0)
#define RMT_CONF1_MEM_RD_RST (1UL << 3)
#define RMT_CONF1_REF_CNT_RST (1UL << 16)
#define RMT_CONF1_FROM_APB (1UL << 17)
#define RMT_CONF1_IDLE_OUT_LOW (1UL << 19)
#define RMT_APB_CONF_RAM_DIRECT (1UL << 0)
/* An item: two levels, each with a duration of 15 bits; a duration of 0 ends the transmission. */
#define RMT_ITEM(low_ticks, high_ticks) ((uint32_t)(low_ticks) | (uint32_t)(high_ticks) << 16 | 1UL << 31)

/* Timer group 1: timer 0, and the watchdog */
#define TIMG1_T0CONFIG 0x3FF60000UL
#define TIMG1_T0LO 0x3FF60004UL
#define TIMG1_T0UPDATE 0x3FF6000CUL
#define TIMG1_T0LOADLO 0x3FF60018UL
#define TIMG1_T0LOADHI 0x3FF6001CUL
#define TIMG1_T0LOAD 0x3FF60020UL
#define TIMG1_WDTCONFIG0 0x3FF60048UL
#define TIMG1_WDTCONFIG1 0x3FF6004CUL
#define TIMG1_WDTCONFIG2 0x3FF60050UL
#define TIMG1_WDTFEED 0x3FF60060UL
#define TIMG1_WDTWPROTECT 0x3FF60064UL
#define TIMG_T0_EN (1UL << 31)
#define TIMG_T0_INCREASE (1UL << 30)
#define TIMG_T0_DIVIDER(by) ((uint32_t)(by) << 13)
#define TIMG_WDT_EN (1UL << 31)
#define TIMG_WDT_STAGE0_RESETS_SYSTEM (3UL << 29)
#define TIMG_WDT_RESET_3_2_US (7UL << 18 | 7UL << 15)
#define TIMG_WDT_UNLOCK 0x50D83AA1UL

#endif
