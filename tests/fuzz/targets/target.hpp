// What the fuzz targets share. A target is one function from bytes to nothing: libFuzzer calls it, and so
// does replay.cpp in the ordinary tests. It ends the process where a promise is broken; an Error is a proper
// answer.
#pragma once

#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace burstloom::fuzz {

inline void require(bool holds, const char* promise) {
  if (holds) return;
  std::fprintf(stderr, "broken promise: %s\n", promise);
  std::abort();
}

inline std::string_view text_of(std::span<const std::uint8_t> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

/// What `read` gives; nothing where it says that the input is bad.
template <typename Read>
auto unless_refused(Read&& read) -> std::optional<decltype(read())> {
  try {
    return read();
  } catch (const Error& error) {
    require(!std::string_view(error.what()).empty(), "an error says what is wrong");
    return std::nullopt;
  }
}

/// Bytes under a path, for what reads files; in memory only.
class FileInMemory {
 public:
  explicit FileInMemory(std::span<const std::uint8_t> bytes) : file_(::memfd_create("input", 0)) {
    require(file_ >= 0 && ::write(file_, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()),
            "a file in memory can be written");
  }
  FileInMemory(const FileInMemory&) = delete;
  FileInMemory& operator=(const FileInMemory&) = delete;
  ~FileInMemory() { ::close(file_); }
  [[nodiscard]] std::string path() const { return "/proc/self/fd/" + std::to_string(file_); }

 private:
  int file_;
};

}  // namespace burstloom::fuzz
