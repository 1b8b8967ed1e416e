#include "allocations.hpp"

#include <cstdlib>
#include <new>

namespace {
thread_local std::int64_t count = 0;
}

namespace burstloom::testing {
std::int64_t allocations() {
  return count;
}
}  // namespace burstloom::testing

// The other forms of new and delete go through these.
void* operator new(std::size_t size) {
  ++count;
  if (void* memory = std::malloc(size == 0 ? 1 : size)) return memory;
  throw std::bad_alloc();
}
void operator delete(void* memory) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t /*size*/) noexcept {
  std::free(memory);
}

#ifdef BURSTLOOM_SANITIZED
// Shared libraries allocate through the sanitizer's own operator new and give back through ours.
extern "C" const char* __asan_default_options() {
  return "alloc_dealloc_mismatch=0";
}
#endif
