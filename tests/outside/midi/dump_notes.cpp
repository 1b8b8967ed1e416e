// dump_notes SONG.mid: a line a note, `start_s end_s key velocity channel`, and a last line `length_s
// percussion`.
#include <cmath>
#include <cstdio>
#include <exception>

#include "burstloom/score/midi.hpp"

int main(int count, char** words) {
  if (count != 2) {
    std::fprintf(stderr, "usage: dump_notes SONG.mid\n");
    return 2;
  }
  try {
    const burstloom::Score score = burstloom::read_midi_score(words[1]);
    long long percussion = 0;
    for (const burstloom::Note& note : score.notes) {
      if (note.part == burstloom::Part::drums && ++percussion > 0) continue;
      std::printf("%.9f %.9f %d %ld %d\n", note.start_s, note.end_s, static_cast<int>(note.key),
                  std::lround(note.velocity * 127), note.channel);
    }
    std::printf("%.9f %lld\n", score.length_s, percussion);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 3;
  }
}
