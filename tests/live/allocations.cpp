#include "allocations.hpp"

#include <cstdlib>
#include <new>

namespace {
thread_local std::int64_t count = 0;
<<<<<<< HEAD

void* allocate(std::size_t size) {
=======
}

namespace burstloom::testing {
std::int64_t allocations() {
  return count;
}
}  // namespace burstloom::testing

// The other forms of new and delete go through these.
void* operator new(std::size_t size) {
>>>>>>> main
  ++count;
  if (void* memory = std::malloc(size == 0 ? 1 : size)) return memory;
  throw std::bad_alloc();
}
<<<<<<< HEAD
void* allocate(std::size_t size, std::align_val_t align) {
  ++count;
  const auto step = static_cast<std::size_t>(align);
  if (void* memory = std::aligned_alloc(step, (size + step - 1) / step * step)) return memory;
  throw std::bad_alloc();
}
}  // namespace

std::int64_t burstloom::testing::allocations() noexcept {
  return count;
}

void* operator new(std::size_t size) {
  return allocate(size);
}
void* operator new[](std::size_t size) {
  return allocate(size);
}
void* operator new(std::size_t size, std::align_val_t align) {
  return allocate(size, align);
}
void* operator new[](std::size_t size, std::align_val_t align) {
  return allocate(size, align);
}
void operator delete(void* memory) noexcept {
  std::free(memory);
}
void operator delete[](void* memory) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t) noexcept {
  std::free(memory);
}
void operator delete[](void* memory, std::size_t) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::align_val_t) noexcept {
  std::free(memory);
}
void operator delete[](void* memory, std::align_val_t) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t, std::align_val_t) noexcept {
  std::free(memory);
}
void operator delete[](void* memory, std::size_t, std::align_val_t) noexcept {
=======
void operator delete(void* memory) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t /*size*/) noexcept {
>>>>>>> main
  std::free(memory);
}
