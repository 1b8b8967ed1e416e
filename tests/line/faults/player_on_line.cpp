// The player that chips run, at the far end of a pseudo terminal, for tests that break what talks to it:
// player_on_line PACE
// Prints the name of its device. For each line on standard input it prints its time, ms; when that ends, how
// many bursts the pin has made and when the last one ended, ms.
#include <cstdio>
#include <cstdlib>

#include "live/host_player.hpp"

namespace {

double ms(burstloom::Tick ticks) {
  return static_cast<double>(ticks) / 2'000;
}

}  // namespace

int main(int, char** argv) {
  live_check::HostPlayer player(std::atof(argv[1]));
  std::printf("%s\n", player.device().c_str());
  std::fflush(stdout);
  for (int c = std::getchar(); c != EOF; c = std::getchar()) {
    if (c != '\n') continue;
    std::printf("%.1f\n", ms(player.now()));
    std::fflush(stdout);
  }
  const auto made = player.stop();
  std::printf("%zu %.1f\n", made.size(), made.empty() ? 0 : ms(made.back().end()));
}
