// same_samples MADE COMMITTED: the songs just made are the songs in the repository. MIDI files byte for byte;
// sounds sample for sample within one step of 16 bits, since encoders and mathematical libraries may differ.
#include <sndfile.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "burstloom/common/files.hpp"

namespace {

std::vector<short> samples_of(const std::string& path) {
  SF_INFO info{};
  const std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> file(sf_open(path.c_str(), SFM_READ, &info), sf_close);
  if (!file || info.channels != 1) throw std::runtime_error(path + " is not a mono sound file");
  std::vector<short> samples(static_cast<std::size_t>(info.frames));
  if (sf_read_short(file.get(), samples.data(), info.frames) != info.frames)
    throw std::runtime_error(path + " is cut off");
  return samples;
}

void require_same_bytes(const std::string& one, const std::string& other) {
  if (burstloom::read_file(one) != burstloom::read_file(other))
    throw std::runtime_error(one + " is not " + other);
}

void require_same_sound(const std::string& one, const std::string& other) {
  const auto a = samples_of(one), b = samples_of(other);
  if (a.empty() || a.size() != b.size()) throw std::runtime_error(one + " is not as long as " + other);
  int highest = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    highest = std::max(highest, std::abs(a[i]));
    if (std::abs(a[i] - b[i]) > 1)
      throw std::runtime_error(one + " differs from " + other + " at sample " + std::to_string(i));
  }
  if (highest < 20000) throw std::runtime_error(one + " is nearly silent");
}

}  // namespace

int main(int count, char** words) {
  if (count != 3) return 2;
  const std::string made = words[1], committed = words[2];
  try {
    require_same_bytes(made + "/quayside-lanterns.mid", committed + "/quayside-lanterns.mid");
    for (const char* name : {"/ferry-call.flac", "/harbour-chords.flac"})
      require_same_sound(made + name, committed + name);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
  return 0;
}
