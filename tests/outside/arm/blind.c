/* A program that does not see the stop input within a burst: what hardware does by itself then. Compiled in
 * by the tests only, by the linker's --wrap. */
#include <stdint.h>

uint8_t __wrap_chip_stop_is_open(void);

uint8_t __wrap_chip_stop_is_open(void) {
  return 0;
}
