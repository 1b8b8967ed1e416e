// A file or a pipe, a block at a time: for captures that are longer than memory.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "burstloom/common/files.hpp"

namespace burstloom {

class FileBlocks {
 public:
  /// Reads `block` >= 1 bytes at a time. Throws Error (bad_input) when the file cannot be opened.
  explicit FileBlocks(const std::string& path, std::size_t block = std::size_t{1} << 17);

  /// Up to `most` bytes that come next, without taking them; fewer only where the file ends.
  [[nodiscard]] std::string_view head(std::size_t most);
  /// The next bytes, up to the last one of them that `ends` a piece (a line, a word); at the end of the file
  /// all that is left, and then nothing. They last until the next call. Throws Error: machine when reading
  /// fails, bad_input for a piece of more than 16 MiB or a file that somebody else has grown or cut
  /// meanwhile.
  [[nodiscard]] std::string_view next(bool (*ends)(char));
  /// All that is left. Throws Error (bad_input) when that is more than `largest` bytes.
  [[nodiscard]] Bytes rest(std::size_t largest = std::size_t{1} << 31);
  /// Back to the start; false for a pipe, which gives its bytes only once.
  [[nodiscard]] bool again();

 private:
  bool fill();  // false at the end of the file
  void drop_taken();

  std::string path_;
  std::unique_ptr<std::FILE, int (*)(std::FILE*)> file_;
  std::int64_t size_;  // when it was opened
  std::size_t block_;
  std::vector<char> held_;
  std::size_t from_ = 0, until_ = 0;  // what of it is not taken yet
};

}  // namespace burstloom
