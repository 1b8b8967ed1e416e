#include "temporary.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

namespace burstloom {
namespace {

// In the same folder; of a name that is as long as names may be, its beginning.
std::string temporary_name(const std::filesystem::path& target, long number) {
  constexpr std::size_t kLongestName = 255;
  const std::string ending = ".part" + std::to_string(number);
  const std::string name = target.filename().string();
  return (target.parent_path() / (name.substr(0, kLongestName - ending.size()) + ending)).string();
}

}  // namespace

Error unwritten(const std::string& path, const char* what, int reason) {
  return {Fault::machine, std::string(what) + " (" + std::strerror(reason) + ")", printable(path, 200),
          "choose another place or make room, nothing was written"};
}

Error unplaced(const std::string& path, int reason) {
  return unwritten(path, "cannot put the finished file in place", reason);
}

int new_file(const char* name) {
  return ::open(name, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
}

std::string made_beside(const std::string& target, const std::function<int(const char*)>& make) {
  constexpr long kTries = 1000, kMoreThanAnyProcess = 10'000'000;
  for (long time = 0; time < kTries; ++time) {
    std::string name = temporary_name(target, ::getpid() + time * kMoreThanAnyProcess);
    if (make(name.c_str()) >= 0) return name;
    if (errno != EEXIST) break;
  }
  throw unwritten(target, "cannot write here", errno);
}

}  // namespace burstloom
