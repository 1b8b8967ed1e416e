// make_samples FOLDER: writes the bundled songs and sounds. The same bytes every time.
#include <cstdio>
#include <exception>
#include <string>

#include "quayside.hpp"
#include "sound.hpp"

int main(int count, char** words) {
  if (count != 2) {
    std::fputs("usage: make_samples FOLDER\n", stderr);
    return 2;
  }
  const std::string folder = words[1];
  try {
    samples::write_quayside_lanterns(folder + "/quayside-lanterns.mid");
    samples::write_flac(folder + "/ferry-call.flac", samples::ferry_call(), 0.8);
    samples::write_flac(folder + "/harbour-chords.flac", samples::harbour_chords(), 0.8);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 4;
  }
  return 0;
}
