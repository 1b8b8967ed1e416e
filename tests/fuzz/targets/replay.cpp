// Runs a target over files and folders, without a fuzzer: TARGET PATH... What once failed stays mended.
#include <filesystem>

#include "target.hpp"

int main(int count, char** words) {
  int files = 0;
  const auto run = [&](const std::filesystem::path& path) {
    std::printf("%s\n", path.c_str());
    std::fflush(stdout);
    const burstloom::Bytes bytes = burstloom::read_file(path.string(), std::size_t{1} << 30);
    LLVMFuzzerTestOneInput(bytes.data(), bytes.size());
    ++files;
  };
  for (int i = 1; i < count; ++i) {
    if (!std::filesystem::is_directory(words[i])) {
      run(words[i]);
      continue;
    }
    for (const auto& entry : std::filesystem::recursive_directory_iterator(words[i]))
      if (entry.is_regular_file()) run(entry.path());
  }
  std::printf("%d files\n", files);
  return files > 0 ? 0 : 1;
}
