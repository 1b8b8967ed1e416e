#include "burstloom/stream/sound_out.hpp"

#include <cstdio>

#include "burstloom/common/error.hpp"

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

}  // namespace burstloom
