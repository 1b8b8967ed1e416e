#include "burstloom/common/files.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <optional>
#include <utility>

#include "burstloom/common/error.hpp"
#include "burstloom/common/file_blocks.hpp"
#include "temporary.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;

std::span<const std::uint8_t> bytes_of(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

// The standard stream that a path names, or -1. Where it goes to a file, the path is that file's, and root's
// rename would put another one in the place of /dev/stdout itself.
int standard_stream(const std::string& path) {
  if (path == "/dev/stdout" || path == "/dev/fd/1") return STDOUT_FILENO;
  return path == "/dev/stderr" || path == "/dev/fd/2" ? STDERR_FILENO : -1;
}

// A device or a pipe cannot be replaced by renaming (/dev/null): it is written to as it is.
bool is_special(const std::string& path) {
  if (standard_stream(path) >= 0) return true;
  struct stat status {};
  return ::stat(path.c_str(), &status) == 0 && !S_ISREG(status.st_mode) && !S_ISDIR(status.st_mode);
}

// In the same folder by whichever way; the files need not be there.
bool is_same_place(const fs::path& a, const fs::path& b) {
  std::error_code ignored;
  return a.filename() == b.filename() &&
         fs::equivalent("." / a.parent_path(), "." / b.parent_path(), ignored);
}

}  // namespace

FileInPieces::FileInPieces(int file, const std::string& path) : path_(path), file_(file) {}

FileInPieces::~FileInPieces() {
  if (file_ >= 0) ::close(file_);
}

void FileInPieces::remember(int reason) {
  if (reason_ == 0) reason_ = reason;
}

std::size_t FileInPieces::write(std::span<const std::uint8_t> bytes) {
  std::size_t taken = 0;
  while (taken < bytes.size() && reason_ == 0) {
    const ssize_t count = ::write(file_, bytes.data() + taken, bytes.size() - taken);
    if (count > 0)
      taken += static_cast<std::size_t>(count);
    else if (count == 0 || errno != EINTR)
      remember(count == 0 ? ENOSPC : errno);
  }
  return taken;
}

std::int64_t FileInPieces::seek(std::int64_t offset, int from) {
  const off_t at = ::lseek(file_, offset, from);
  if (at < 0) remember(errno);
  return at;
}

std::int64_t FileInPieces::size() const {
  struct stat status {};
  return ::fstat(file_, &status) == 0 ? status.st_size : 0;
}

void FileInPieces::require_good() const {
  if (reason_ != 0) throw unwritten(path_, "cannot write the whole file", reason_);
}

// On the disk before it takes the old file's place, or a power cut could leave neither. What cannot be
// synchronised (a pipe, a device) says EINVAL.
void FileInPieces::finish() {
  if (reason_ == 0 && ::fsync(file_) != 0 && errno != EINVAL && errno != ENOTSUP) remember(errno);
  if (::close(std::exchange(file_, -1)) != 0 && errno != EINTR) remember(errno);
  require_good();
}

void require_inputs_kept(const std::vector<std::string>& inputs, const std::vector<std::string>& outputs) {
  std::error_code ignored;
  for (const std::string& output : outputs)
    for (const std::string& input : inputs)
      if (fs::is_regular_file(output, ignored) && fs::equivalent(input, output, ignored))
        throw Error(Fault::usage, "this file is read and would be replaced", printable(output, 200),
                    "write under another name");
}

Bytes read_file(const std::string& path, std::size_t largest) {
  return FileBlocks(path).rest(largest);
}

void write_file(const std::string& path, std::span<const std::uint8_t> content) {
  write_file_in_pieces(path, [&](FileInPieces& file) { (void)file.write(content); });
}

void write_file(const std::string& path, std::string_view content) {
  write_file(path, bytes_of(content));
}

// A file under its temporary name, which vanishes again unless it is placed and kept.
class TemporaryFile {
 public:
  /// `file` gets it, opened to be written.
  TemporaryFile(const std::string& path, int& file)
      : target_(path), name_(made_beside(path, [&](const char* name) { return file = new_file(name); })) {}
  TemporaryFile(const TemporaryFile&) = delete;
  TemporaryFile& operator=(const TemporaryFile&) = delete;
  ~TemporaryFile() { ::unlink(name_.c_str()); }  // or the old file, which has changed places with the new one

  [[nodiscard]] const std::string& target() const { return target_; }

  // The one reason left for a rename to fail that can be seen beforehand.
  void require_replaceable() const {
    std::error_code ignored;
    if (fs::is_directory(target_, ignored)) throw unplaced(target_, EISDIR);
  }

  // Takes the old file's place for good. 0, or errno.
  [[nodiscard]] int place() const { return std::rename(name_.c_str(), target_.c_str()) == 0 ? 0 : errno; }

  // Takes the old file's place so that it can be given back, if the file system can do that. 0, or errno.
  [[nodiscard]] int place_for_now() {
    if (exchange()) {
      before_ = Before::under_the_temporary_name;
      return 0;
    }
    const int reason = errno;
    const bool cannot_exchange = reason == EINVAL || reason == ENOSYS || reason == EOPNOTSUPP;
    if (reason != ENOENT && !cannot_exchange) return reason;
    before_ = cannot_exchange ? Before::lost : Before::nothing;
    return place();
  }

  // False where the old file is lost.
  [[nodiscard]] bool give_back() {
    if (before_ == Before::nothing) return ::unlink(target_.c_str()) == 0;
    return before_ == Before::under_the_temporary_name && exchange();
  }

 private:
  enum class Before { nothing, under_the_temporary_name, lost };

  [[nodiscard]] bool exchange() const {
    return ::renameat2(AT_FDCWD, name_.c_str(), AT_FDCWD, target_.c_str(), RENAME_EXCHANGE) == 0;
  }

  std::string target_, name_;
  Before before_ = Before::nothing;
};

FilesTogether::FilesTogether() = default;
FilesTogether::~FilesTogether() = default;

void FilesTogether::add(const std::string& path, const std::function<void(FileInPieces&)>& write) {
  int opened = -1;
  if (is_special(path)) {
    const int stream = standard_stream(path);
    opened = stream >= 0 ? ::fcntl(stream, F_DUPFD_CLOEXEC, 0) : ::open(path.c_str(), O_WRONLY | O_CLOEXEC);
    if (opened < 0) throw unwritten(path, "cannot write here", errno);
  } else {
    for (const auto& other : files_)
      if (is_same_place(other->target(), path))
        throw Error(Fault::usage, "two files would be written to " + printable(path, 200), "",
                    "name each its own");
    files_.push_back(std::make_unique<TemporaryFile>(path, opened));
  }
  FileInPieces file(opened, path);
  try {
    write(file);
  } catch (...) {
    file.require_good();  // the reason behind what a library could only call a failure
    throw;
  }
  file.finish();
}

void FilesTogether::add(const std::string& path, std::span<const std::uint8_t> content) {
  add(path, [&](FileInPieces& file) { (void)file.write(content); });
}

void FilesTogether::add(const std::string& path, std::string_view content) {
  add(path, bytes_of(content));
}

void FilesTogether::place() {
  for (const auto& file : files_) file->require_replaceable();
  int reason = 0;
  std::size_t placed = 0;
  for (; placed < files_.size(); ++placed) {
    const bool is_last = placed + 1 == files_.size();  // and need not be given back
    reason = is_last ? files_[placed]->place() : files_[placed]->place_for_now();
    if (reason != 0) break;
  }
  if (reason != 0) {
    bool as_before = true;
    for (std::size_t i = placed; i-- > 0;) as_before = files_[i]->give_back() && as_before;
    const std::string& path = files_[placed]->target();
    if (as_before) throw unplaced(path, reason);
    throw Error(Fault::machine,
                std::string("only some of the finished files are in place (") + std::strerror(reason) + ")",
                printable(path, 200), "some are new and others old: make room and write all of them again");
  }
  files_.clear();
}

void write_file_in_pieces(const std::string& path, const std::function<void(FileInPieces&)>& write) {
  FilesTogether alone;
  alone.add(path, write);
  alone.place();
}

std::uint32_t crc32(std::span<const std::uint8_t> bytes, std::uint32_t so_far) {
  // Eight bytes at a time (Kounavis and Berry, "A systematic approach to building high performance
  // software-based CRC generators", 2005, from memory): table[k] is a byte's part with k bytes after it.
  constexpr std::size_t kAtOnce = 8;
  static const auto table = [] {
    std::array<std::array<std::uint32_t, 256>, kAtOnce> made{};
    for (std::uint32_t i = 0; i < 256; ++i) {
      std::uint32_t value = i;
      for (int step = 0; step < 8; ++step) value = (value >> 1) ^ ((value & 1) != 0 ? 0xEDB88320u : 0u);
      made[0][i] = value;
    }
    for (std::size_t k = 1; k < kAtOnce; ++k)
      for (std::size_t i = 0; i < 256; ++i)
        made[k][i] = (made[k - 1][i] >> 8) ^ made[0][made[k - 1][i] & 0xFF];
    return made;
  }();
  std::uint32_t crc = ~so_far;
  for (; bytes.size() >= kAtOnce; bytes = bytes.subspan(kAtOnce)) {
    std::uint32_t next = 0;
    for (std::size_t i = 0; i < kAtOnce; ++i)
      next ^= table[kAtOnce - 1 - i][bytes[i] ^ (i < 4 ? crc >> (8 * i) & 0xFF : 0)];
    crc = next;
  }
  for (const std::uint8_t byte : bytes) crc = (crc >> 8) ^ table[0][(crc ^ byte) & 0xFF];
  return ~crc;
}

}  // namespace burstloom
