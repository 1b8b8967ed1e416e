// What is written to while it is read would be taken for what never stood in it: its size tells.
#pragma once

#include <sys/stat.h>

#include <cstdint>
#include <string>

#include "burstloom/common/error.hpp"

namespace burstloom {

/// Bytes of an open file; nothing can be said of a pipe or a device: 0.
inline std::int64_t size_of(int file) {
  struct stat status {};
  return ::fstat(file, &status) == 0 && S_ISREG(status.st_mode) ? status.st_size : 0;
}

/// Throws Error (bad_input) where the file has another size by now.
inline void require_size(int file, std::int64_t size, const std::string& path) {
  if (size_of(file) != size)
    throw bad_input("changed its size while it was read", printable(path, 200),
                    "read it again when nothing writes to it any more");
}

}  // namespace burstloom
