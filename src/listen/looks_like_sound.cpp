#include <filesystem>
#include <fstream>
#include <system_error>

#include "burstloom/common/error.hpp"
#include "burstloom/common/file_kind.hpp"
#include "burstloom/listen/sound.hpp"

namespace burstloom {
namespace {

std::string first_bytes(const std::string& path) {
  std::error_code ignored;
  if (!std::filesystem::is_regular_file(path, ignored)) return {};
  std::ifstream file(path, std::ios::binary);
  std::string bytes(12, '\0');
  file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  if (file.bad())
    throw Error(Fault::machine, "reading stopped half-way", printable(path, 200),
                "check the disk and try again");
  bytes.resize(static_cast<std::size_t>(file.gcount()));
  return bytes;
}

}  // namespace

bool looks_like_sound(const std::string& path) {
  return kind_of_content(first_bytes(path)) == FileKind::sound;
}

}  // namespace burstloom
