// burstloom_describe KIND FILE: writes the manual page or a shell's completion; for the build only.
#include <cstdio>
#include <map>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "describe.hpp"

int main(int argc, char** argv) {
  using namespace burstloom;
  const std::map<std::string, std::string (*)(const command::DescribedCommand&)> kinds = {
      {"man", command::manual_page},
      {"bash", command::bash_completion},
      {"zsh", command::zsh_completion},
      {"fish", command::fish_completion}};
  if (argc != 3 || !kinds.contains(argv[1])) {
    std::fputs("usage: burstloom_describe man|bash|zsh|fish FILE\n", stderr);
    return 2;
  }
  try {
    write_file(argv[2], kinds.at(argv[1])(command::described()));
    return 0;
  } catch (const Error& error) {
    std::fprintf(stderr, "burstloom_describe: %s\n", error.what());
    return static_cast<int>(error.fault());
  }
}
