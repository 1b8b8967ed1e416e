#include <string>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/listen.hpp"
#include "usable.hpp"

namespace burstloom {

const std::vector<WayOfListening>& ways_of_listening() {
  static const std::vector<WayOfListening> ways = {
      {"notes", "the notes of several voices", listen_notes, false},
      {"follow", "one voice: the strongest pitch, 50 Hz to 2.2 kHz, where there is one", listen_follow, true},
      {"edges", "each rising edge of the sound fires: plain, noisy with more than one voice", listen_edges,
       true},
  };
  return ways;
}

void require_usable_rate(int rate_hz) {
  if (rate_hz >= 1000 && rate_hz <= 10'000'000) return;
  throw bad_input("a sound with a sample rate of " + std::to_string(rate_hz) + " Hz cannot be listened to",
                  "", "give a sound of 8 to 192 kHz");
}

}  // namespace burstloom
