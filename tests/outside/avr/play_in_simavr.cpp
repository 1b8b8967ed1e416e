// play_in_simavr ELF OUT.vcd [--seconds S] [--csv EDGES.csv]: plays a project's ELF until its song has ended
// and writes what the gate did. Prints the player's status as one JSON object. Exit 0 when the song came to
// its end.
#include <cstdio>
#include <exception>
#include <string>

#include "burstloom/common/files.hpp"
#include "simulate.hpp"

namespace {

int play(int count, char** words) {
  avr_check::Options options;
  options.seconds = 3600;
  options.until_song_ends = true;
  std::string csv;
  for (int i = 3; i + 1 < count; i += 2) {
    const std::string word = words[i];
    if (word == "--seconds") options.seconds = std::stod(words[i + 1]);
    if (word == "--csv") csv = words[i + 1];
  }
  const avr_check::Playback run = avr_check::simulate(words[1], options);
  burstloom::write_file(words[2], avr_check::to_vcd(run));
  if (!csv.empty()) burstloom::write_file(csv, avr_check::to_csv(run));
  std::printf(
      "{ \"state\": %d, \"error\": %d, \"songs\": %d, \"made\": %u, \"missed\": %u, \"refused\": %u, "
      "\"resets\": %d, "
      "\"deepest_stack\": "
      "%d, \"cycles\": %lld }\n",
      run.status.state, run.status.error, run.status.songs, run.status.made, run.status.missed,
      run.status.refused, run.resets, run.deepest_stack, static_cast<long long>(run.cycles));
  return run.status.songs == 1 && run.resets == 0 ? 0 : 1;
}

}  // namespace

int main(int count, char** words) {
  if (count < 3) {
    std::fprintf(stderr, "usage: play_in_simavr ELF OUT.vcd [--seconds S] [--csv EDGES.csv]\n");
    return 2;
  }
  try {
    return play(count, words);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 3;
  }
}
