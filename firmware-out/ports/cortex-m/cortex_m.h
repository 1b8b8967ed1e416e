/* What the Cortex-M cores have in common, for ports without a vendor's kit: interrupts off and on, and a
 * sleep that SysTick ends. Registers: ARMv6-M Architecture Reference Manual (DDI 0419), B3.2 and B3.3; the
 * same in ARMv7-M (DDI 0403), B3.2 and B3.3. */
#ifndef BURST_CORTEX_M_H
#define BURST_CORTEX_M_H

#include <stdint.h>

#define REGISTER(address) (*(volatile uint32_t*)(address))

#define SYST_CSR REGISTER(0xE000E010UL) /* control and status */
#define SYST_RVR REGISTER(0xE000E014UL) /* reload value, 24 bits */
#define SYST_CVR REGISTER(0xE000E018UL) /* current value; any write clears it */
#define SYST_CSR_ENABLE (1UL << 0)
#define SYST_CSR_TICKINT (1UL << 1)
#define SYST_CSR_CLKSOURCE (1UL << 2) /* the processor's clock */
#define ICSR REGISTER(0xE000ED04UL)
#define ICSR_PENDSTCLR (1UL << 25)

static inline void interrupts_off(void) {
  __asm__ volatile("cpsid i" ::: "memory");
}

static inline void interrupts_on(void) {
  __asm__ volatile("cpsie i" ::: "memory");
}

/* Interrupts off, and off again after it. Sleeps for `cycles` of the processor (under 2^24) or until some
 * interrupt is due. WFI ends when one becomes pending although all are off, so a ring between the look at the
 * clock and the sleep is not lost (ARMv6-M, B1.5). */
static inline void sleep_for(uint32_t cycles) {
  SYST_RVR = cycles;
  SYST_CVR = 0;
  SYST_CSR = SYST_CSR_CLKSOURCE | SYST_CSR_TICKINT | SYST_CSR_ENABLE;
  __asm__ volatile("dsb\n\twfi" ::: "memory");
  SYST_CSR = 0;
  ICSR = ICSR_PENDSTCLR;
}

#endif
