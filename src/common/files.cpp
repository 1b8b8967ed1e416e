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

#include "burstloom/common/error.hpp"
#include "burstloom/common/file_blocks.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;

// A file that vanishes again unless it is kept: what a failed write leaves behind is nothing.
class TemporaryFile {
 public:
  explicit TemporaryFile(const std::string& path)
      : target_(path), name_(path + ".part" + std::to_string(::getpid())) {}
  TemporaryFile(const TemporaryFile&) = delete;
  TemporaryFile& operator=(const TemporaryFile&) = delete;
  ~TemporaryFile() {
    if (!kept_) ::unlink(name_.c_str());
  }

  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] const std::string& target() const { return target_; }

  void rename_to_target() {
    if (std::rename(name_.c_str(), target_.c_str()) != 0) fail("cannot put the finished file in place");
    kept_ = true;
  }

  // The one reason left for a rename to fail that can be seen beforehand.
  void require_replaceable() const {
    std::error_code ignored;
    if (!fs::is_directory(target_, ignored)) return;
    errno = EISDIR;
    fail("cannot put the finished file in place");
  }

  [[noreturn]] void fail(const char* what) const {
    throw Error(Fault::machine, std::string(what) + " (" + std::strerror(errno) + ")",
                printable(target_, 200), "choose another place or make room, nothing was written");
  }

  void fill(std::span<const std::uint8_t> content) {
    const int file = ::open(name_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (file < 0) fail("cannot write here");
    while (!content.empty()) {
      const ssize_t written = ::write(file, content.data(), content.size());
      if (written < 0 && errno == EINTR) continue;
      if (written <= 0) {
        const int reason = written < 0 ? errno : ENOSPC;
        ::close(file);
        errno = reason;
        fail("cannot write the whole file");
      }
      content = content.subspan(static_cast<std::size_t>(written));
    }
    if (::close(file) != 0) fail("cannot write the whole file");
  }

 private:
  std::string target_, name_;
  bool kept_ = false;
};

std::span<const std::uint8_t> bytes_of(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

// A device or a pipe cannot be replaced by renaming (/dev/stdout, /dev/null): it is written to as it is.
bool is_special(const std::string& path) {
  struct stat status {};
  return ::stat(path.c_str(), &status) == 0 && !S_ISREG(status.st_mode) && !S_ISDIR(status.st_mode);
}

void write_special(const std::string& path, std::span<const std::uint8_t> content) {
  std::FILE* file = std::fopen(path.c_str(), "wb");
  const bool whole =
      file != nullptr && std::fwrite(content.data(), 1, content.size(), file) == content.size();
  const bool closed = file != nullptr && std::fclose(file) == 0;
  if (!whole || !closed)
    throw Error(Fault::machine, std::string("cannot write there (") + std::strerror(errno) + ")",
                printable(path, 200), "choose another place");
}

// Folders that are removed again, where they are empty, unless they are kept.
class NewFolders {
 public:
  NewFolders() = default;
  NewFolders(const NewFolders&) = delete;
  NewFolders& operator=(const NewFolders&) = delete;
  ~NewFolders() {
    std::error_code ignored;
    for (auto folder = made_.rbegin(); folder != made_.rend(); ++folder) fs::remove(*folder, ignored);
  }

  void make(const fs::path& folder) {
    std::error_code problem;
    if (folder.empty() || fs::is_directory(folder, problem)) return;
    if (folder.has_parent_path() && folder.parent_path() != folder) make(folder.parent_path());
    problem.clear();
    if (fs::create_directory(folder, problem)) made_.push_back(folder);
    if (problem)
      throw Error(Fault::machine, "cannot make this folder (" + problem.message() + ")",
                  printable(folder.string(), 200), "choose another place");
  }

  void keep() { made_.clear(); }

 private:
  std::vector<fs::path> made_;
};

void require_inside(const std::string& path) {
  const fs::path relative(path);
  const bool climbs = std::find(relative.begin(), relative.end(), "..") != relative.end();
  if (path.empty() || relative.is_absolute() || climbs)
    throw Error(Fault::usage, "'" + printable(path) + "' does not lie below the folder", "",
                "give a path without '..' that does not start with '/'");
}

}  // namespace

Bytes read_file(const std::string& path, std::size_t largest) {
  return FileBlocks(path).rest(largest);
}

void write_file(const std::string& path, std::span<const std::uint8_t> content) {
  if (is_special(path)) return write_special(path, content);
  TemporaryFile file(path);
  file.fill(content);
  file.rename_to_target();
}

void write_file(const std::string& path, std::string_view content) {
  write_file(path, bytes_of(content));
}

void write_file_by_name(const std::string& path, const std::function<void(const std::string&)>& write) {
  if (is_special(path)) return write(path);
  TemporaryFile file(path);
  write(file.name());
  file.rename_to_target();
}

void write_folder(const std::string& folder, const std::vector<FolderFile>& files) {
  NewFolders made;
  std::vector<std::unique_ptr<TemporaryFile>> written;
  made.make(folder);
  for (const auto& [path, content] : files) {
    require_inside(path);
    const fs::path target = fs::path(folder) / path;
    made.make(target.parent_path());
    written.push_back(std::make_unique<TemporaryFile>(target.string()));
    written.back()->fill(bytes_of(content));
  }
  for (const auto& file : written) file->require_replaceable();
  for (const auto& file : written) file->rename_to_target();
  made.keep();
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
