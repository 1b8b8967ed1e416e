#include "burstloom/common/file_blocks.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#include "burstloom/common/error.hpp"
#include "file_size.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLongestPiece = std::size_t{1} << 24;

std::FILE* opened(const std::string& path) {
  const auto refuse = [&](const std::string& what, const char* what_to_do) {
    return bad_input(what, printable(path, 200), what_to_do);
  };
  struct stat status {};
  const bool is_there = ::stat(path.c_str(), &status) == 0;
  if (!is_there && (errno == ENOENT || errno == ENOTDIR)) throw no_such_file(path);
  if (is_there && S_ISDIR(status.st_mode)) throw refuse("is a folder, not a file", "name a file in it");
  std::FILE* file = std::fopen(path.c_str(), "rb");
  if (file == nullptr && (errno == EMFILE || errno == ENFILE || errno == ENOMEM))
    throw Error(Fault::machine, std::string("cannot be opened now (") + std::strerror(errno) + ")",
                printable(path, 200), "close other programs, or allow more open files (ulimit -n)");
  if (file == nullptr && errno == EACCES)
    throw refuse("you may not read this file", "change its permissions, or copy it to a folder of yours");
  if (file == nullptr)
    throw refuse(std::string("cannot be opened (") + std::strerror(errno) + ")",
                 "give a file that can be read");
  return file;
}

}  // namespace

FileBlocks::FileBlocks(const std::string& path, std::size_t block)
    : path_(path),
      file_(opened(path), std::fclose),
      size_(size_of(::fileno(file_.get()))),
      block_(block),
      held_(block) {}

void FileBlocks::drop_taken() {
  std::memmove(held_.data(), held_.data() + from_, until_ - from_);
  until_ -= from_;
  from_ = 0;
}

bool FileBlocks::fill() {
  if (held_.size() < until_ + block_) held_.resize(until_ + block_);
  for (;;) {
    const ssize_t got = ::read(::fileno(file_.get()), held_.data() + until_, block_);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0)
      throw Error(Fault::machine, "reading stopped half-way", printable(path_, 200),
                  "check the disk and try again");
    if (got == 0) require_size(::fileno(file_.get()), size_, path_);
    until_ += static_cast<std::size_t>(got);
    return got > 0;
  }
}

std::string_view FileBlocks::head(std::size_t most) {
  while (until_ - from_ < most && fill()) {
  }
  return {held_.data() + from_, std::min(most, until_ - from_)};
}

std::string_view FileBlocks::next(bool (*ends)(char)) {
  std::size_t looked_at = 0;  // bytes in front that end no piece
  for (;;) {
    const auto begin = held_.begin() + static_cast<std::ptrdiff_t>(from_);
    const auto end = held_.begin() + static_cast<std::ptrdiff_t>(until_);
    const auto last =
        std::find_if(std::make_reverse_iterator(end),
                     std::make_reverse_iterator(begin + static_cast<std::ptrdiff_t>(looked_at)), ends);
    auto size = static_cast<std::size_t>(last.base() - begin);
    if (size == looked_at) size = 0;
    looked_at = until_ - from_;
    if (size == 0 && looked_at > kLongestPiece)
      throw bad_input("has a line or word of more than 16 MiB", printable(path_, 200),
                      "give a capture or stream as text");
    if (size == 0) {
      drop_taken();
      if (fill()) continue;
      size = until_;
    }
    from_ += size;
    return {held_.data() + from_ - size, size};
  }
}

Bytes FileBlocks::rest(std::size_t largest) {
  const auto refuse = [&] {
    return bad_input("is larger than " + std::to_string(largest) + " bytes", printable(path_, 200),
                     "give a smaller file");
  };
  struct stat status {};
  const bool is_known = ::fstat(::fileno(file_.get()), &status) == 0 && S_ISREG(status.st_mode);
  if (is_known && static_cast<std::uint64_t>(status.st_size) > largest) throw refuse();
  Bytes content;
  if (is_known) content.reserve(static_cast<std::size_t>(status.st_size));
  do {
    content.insert(content.end(), held_.begin() + static_cast<std::ptrdiff_t>(from_),
                   held_.begin() + static_cast<std::ptrdiff_t>(until_));
    from_ = until_ = 0;
    if (content.size() > largest) throw refuse();
  } while (fill());
  return content;
}

bool FileBlocks::again() {
  from_ = until_ = 0;
  return ::lseek(::fileno(file_.get()), 0, SEEK_SET) == 0;
}

}  // namespace burstloom
