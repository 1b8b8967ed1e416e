/* The registers of an RP2040 that the player uses. Source: "RP2040 Datasheet", sections named beside each
 * group. Only what is used is named. */
#ifndef BURST_RP2040_H
#define BURST_RP2040_H

#include "cortex_m.h"

/* 2.1.2 Atomic register access: aliases that set and clear single bits. */
#define SET_BITS(address) REGISTER((address) + 0x2000UL)
#define CLEAR_BITS(address) REGISTER((address) + 0x3000UL)

/* 2.14 Subsystem resets */
#define RESETS_RESET 0x4000C000UL
#define RESETS_RESET_DONE REGISTER(0x4000C008UL)
#define RESETS_IO_BANK0 (1UL << 5)
#define RESETS_PADS_BANK0 (1UL << 8)
#define RESETS_PIO0 (1UL << 10)
#define RESETS_PLL_SYS (1UL << 12)

/* 2.13 Power-on state machine: what the watchdog resets. Bits 0 and 1 are the two oscillators. */
#define PSM_WDSEL REGISTER(0x40010008UL)
#define PSM_ALL_BUT_OSCILLATORS 0x1FFFCUL

/* 2.16 Crystal oscillator */
#define XOSC_CTRL REGISTER(0x40024000UL)
#define XOSC_STATUS REGISTER(0x40024004UL)
#define XOSC_STARTUP REGISTER(0x4002400CUL)
#define XOSC_ENABLE_1_15MHZ 0xFABAA0UL
#define XOSC_STABLE (1UL << 31)

/* 2.18 PLL */
#define PLL_SYS_CS REGISTER(0x40028000UL)
#define PLL_SYS_PWR 0x40028004UL
#define PLL_SYS_FBDIV REGISTER(0x40028008UL)
#define PLL_SYS_PRIM REGISTER(0x4002800CUL)
#define PLL_LOCK (1UL << 31)
#define PLL_PWR_PD (1UL << 0)
#define PLL_PWR_POSTDIVPD (1UL << 3)
#define PLL_PWR_VCOPD (1UL << 5)

/* 2.15 Clocks */
#define CLK_REF_CTRL REGISTER(0x40008030UL)
#define CLK_REF_SELECTED REGISTER(0x40008038UL)
#define CLK_SYS_CTRL REGISTER(0x4000803CUL)
#define CLK_SYS_SELECTED REGISTER(0x40008044UL)
#define CLK_REF_XOSC 2UL
#define CLK_SYS_AUX 1UL /* with AUXSRC 0: the system PLL */

/* 4.7 Watchdog. It counts down twice a tick (erratum RP2040-E1). */
#define WATCHDOG_CTRL REGISTER(0x40058000UL)
#define WATCHDOG_LOAD REGISTER(0x40058004UL)
#define WATCHDOG_TICK REGISTER(0x4005802CUL)
#define WATCHDOG_ENABLE (1UL << 30)
#define WATCHDOG_TICK_ENABLE (1UL << 9)

/* 2.19 GPIO: functions (bank 0) and pads */
#define GPIO_CTRL(pin) REGISTER(0x40014004UL + 8UL * (pin))
#define GPIO_FUNCTION_SIO 5UL
#define GPIO_FUNCTION_PIO0 6UL
#define PAD(pin) REGISTER(0x4001C004UL + 4UL * (pin))
#define PAD_SCHMITT (1UL << 1)
#define PAD_PULL_DOWN (1UL << 2)
#define PAD_PULL_UP (1UL << 3)
#define PAD_DRIVE_4MA (1UL << 4)
#define PAD_INPUT (1UL << 6)

/* 2.3.1 Single-cycle IO */
#define SIO_GPIO_IN REGISTER(0xD0000004UL)
#define SIO_GPIO_OUT_CLR REGISTER(0xD0000018UL)
#define SIO_GPIO_OE_SET REGISTER(0xD0000024UL)

/* 3.7 PIO */
#define PIO_CTRL 0x50200000UL
#define PIO_FSTAT REGISTER(0x50200004UL)
#define PIO_TXF(machine) REGISTER(0x50200010UL + 4UL * (machine))
#define PIO_RXF(machine) REGISTER(0x50200020UL + 4UL * (machine))
#define PIO_IRQ REGISTER(0x50200030UL)
#define PIO_INSTRUCTION(at) REGISTER(0x50200048UL + 4UL * (at))
#define PIO_EXECCTRL(machine) REGISTER(0x502000CCUL + 24UL * (machine))
#define PIO_SHIFTCTRL(machine) (0x502000D0UL + 24UL * (machine))
#define PIO_ADDRESS(machine) REGISTER(0x502000D4UL + 24UL * (machine))
#define PIO_EXECUTE(machine) REGISTER(0x502000D8UL + 24UL * (machine))
#define PIO_PINCTRL(machine) REGISTER(0x502000DCUL + 24UL * (machine))
#define PIO_CTRL_ENABLE(machine) (1UL << (machine))
#define PIO_CTRL_RESTART(machine) (1UL << (4 + (machine)))
#define PIO_FSTAT_RXEMPTY(machine) (1UL << (8 + (machine)))
#define PIO_WRAP(bottom, top) ((uint32_t)(bottom) << 7 | (uint32_t)(top) << 12)
#define PIO_SHIFTCTRL_FJOIN_RX (1UL << 31)
#define PIO_SET_ONE_PIN(pin) (1UL << 26 | (uint32_t)(pin) << 5)

#endif
