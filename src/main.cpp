#include <fcntl.h>

#include "burstloom/command/command.hpp"

namespace {

// A program started with standard input, output or error closed would get their numbers for the files it
// opens, and print its answer into the stream it writes. What is closed is filled so that using it fails.
void fill_closed_standard_files() {
  for (int file = 0; file <= 2; ++file)
    if (::fcntl(file, F_GETFD) == -1) ::open("/dev/null", file == 0 ? O_WRONLY : O_RDONLY);
}

}  // namespace

int main(int argc, char** argv) {
  fill_closed_standard_files();
  return burstloom::run(argc, argv);
}
