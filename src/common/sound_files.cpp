#include "burstloom/common/sound_files.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>

#include "burstloom/common/error.hpp"
#include "file_size.hpp"

namespace burstloom {
namespace {

FileInPieces& file_of(void* user) {
  return *static_cast<FileInPieces*>(user);
}

sf_count_t size(void* user) {
  return file_of(user).size();
}

sf_count_t seek(sf_count_t offset, int from, void* user) {
  return file_of(user).seek(offset, from);
}

sf_count_t tell(void* user) {
  return file_of(user).seek(0, SEEK_CUR);
}

sf_count_t write(const void* bytes, sf_count_t count, void* user) {
  const std::span piece(static_cast<const std::uint8_t*>(bytes), static_cast<std::size_t>(count));
  return static_cast<sf_count_t>(file_of(user).write(piece));
}

}  // namespace

SoundOut open_sound(FileInPieces& file, SF_INFO format, const std::string& path) {
  SF_VIRTUAL_IO functions{size, seek, nullptr, write, tell};
  SoundOut sound(sf_open_virtual(&functions, SFM_WRITE, &format, &file), sf_close);
  if (!sound)
    throw Error(Fault::machine, std::string("cannot write here (") + sf_strerror(nullptr) + ")",
                printable(path, 200), "choose another place, nothing was written");
  return sound;
}

SoundIn::SoundIn(const std::string& path, SF_INFO& info)
    : path_(path), file_(::open(path.c_str(), O_RDONLY | O_CLOEXEC)), size_(size_of(file_)) {
  SF_VIRTUAL_IO functions{size, seek, read, nullptr, tell};
  if (file_ >= 0) sound_ = sf_open_virtual(&functions, SFM_READ, &info, this);
}

SoundIn::~SoundIn() {
  if (sound_ != nullptr) sf_close(sound_);
  if (file_ >= 0) ::close(file_);
}

void SoundIn::require_read() const {
  if (reason_ != 0)
    throw Error(Fault::machine, std::string("reading stopped half-way (") + std::strerror(reason_) + ")",
                printable(path_, 200), "check the disk and try again");
  require_size(file_, size_, path_);
}

sf_count_t SoundIn::size(void* self) {
  struct stat status {};
  return ::fstat(static_cast<SoundIn*>(self)->file_, &status) == 0 ? status.st_size : -1;
}

sf_count_t SoundIn::seek(sf_count_t offset, int from, void* self) {
  return ::lseek(static_cast<SoundIn*>(self)->file_, offset, from);
}

sf_count_t SoundIn::tell(void* self) {
  return seek(0, SEEK_CUR, self);
}

sf_count_t SoundIn::read(void* bytes, sf_count_t count, void* self) {
  SoundIn& in = *static_cast<SoundIn*>(self);
  auto* to = static_cast<char*>(bytes);
  sf_count_t done = 0;
  while (done < count) {
    const ssize_t got = ::read(in.file_, to + done, static_cast<std::size_t>(count - done));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0 && in.reason_ == 0) in.reason_ = errno;
    if (got <= 0) break;
    done += got;
  }
  return done;
}

}  // namespace burstloom
