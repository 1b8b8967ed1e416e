/* From reset to main on a Cortex-M: the vector table's first sixteen entries (ARMv6-M Architecture Reference
 * Manual, DDI 0419, B1.5), data copied, the rest cleared. The player uses no interrupt of the chip's own.
 */
#include "hardware.h"

/* From the linker script. */
extern uint32_t stack_top[], data_load[], data_start[], data_end[], bss_start[], bss_end[];

int main(void);
void on_reset(void);

/* Lies in flash, as it copies what does not. */
__attribute__((section(".reset"), noreturn)) void on_reset(void) {
  const uint32_t* from = data_load;
  uint32_t* to;
  for (to = data_start; to < data_end;) *to++ = *from++;
  for (to = bss_start; to < bss_end;) *to++ = 0;
  main();
  for (;;) {
  }
}

/* Gate low, and the watchdog resets the chip. */
__attribute__((noreturn)) static void on_fault(void) {
  hardware_gate_low();
  for (;;) {
  }
}

/* SysTick's interrupt is cleared before interrupts are let in; nothing else is enabled. */
static void on_nothing(void) {}

typedef void (*vector)(void);
struct vector_table {
  const uint32_t* stack;
  vector handlers[15];
};

__attribute__((section(".vectors"), used)) static const struct vector_table vectors = {
    stack_top,
    {on_reset, on_fault, on_fault, on_fault, on_fault, on_fault, on_fault, on_fault, on_fault, on_fault,
     on_nothing, on_nothing, on_fault, on_nothing, on_nothing}};
