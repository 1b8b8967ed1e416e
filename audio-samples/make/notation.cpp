#include "notation.hpp"

#include <cmath>
#include <sstream>
#include <stdexcept>
#include <string>

namespace samples {
namespace {

int key_of(const std::string& name) {
  const std::string letters = "C D EF G A B";
  const std::size_t step = letters.find(name.at(0));
  if (step == std::string::npos) throw std::invalid_argument("not a note: " + name);
  const int shift = name.at(1) == '#' ? 1 : name.at(1) == 'b' ? -1 : 0;
  const int octave = std::stoi(name.substr(shift == 0 ? 1 : 2));
  return 12 * (octave + 1) + static_cast<int>(step) + shift;
}

}  // namespace

std::vector<Written> read_bars(std::string_view text, double beats_a_bar) {
  std::vector<Written> notes;
  std::istringstream words{std::string(text) + " |"};
  double beat = 0, bar_end = beats_a_bar;
  for (std::string word; words >> word;) {
    if (word == "|") {
      if (std::abs(beat - bar_end) > 1e-9)
        throw std::invalid_argument("a bar is not full: " + std::string(text));
      bar_end += beats_a_bar;
      continue;
    }
    const std::size_t star = word.find('*');
    const double beats = star == std::string::npos ? 1.0 : std::stod(word.substr(star + 1));
    if (word[0] != '_') notes.push_back({beat, beats, key_of(word)});
    beat += beats;
  }
  return notes;
}

}  // namespace samples
