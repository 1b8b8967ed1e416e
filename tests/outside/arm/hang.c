/* A program that hangs after ten bursts: the fault that the watchdog is there for. Compiled in by the tests
 * only, by the linker's --wrap. */
#include "hardware.h"

uint8_t __real_hardware_make_burst(uint32_t rise, uint16_t on);
uint8_t __wrap_hardware_make_burst(uint32_t rise, uint16_t on);

uint8_t __wrap_hardware_make_burst(uint32_t rise, uint16_t on) {
  static uint8_t left = 10;
  const uint8_t result = __real_hardware_make_burst(rise, on);
  while (--left == 0) ++left;
  return result;
}
