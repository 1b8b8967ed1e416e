// Evenings to build: songs made up from a seed, and a set file for them.
#pragma once

#include <fstream>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "burstloom/score/write_midi.hpp"

namespace burstloom::testing {

/// Notes in `voices` lines, eighths at 120 a minute, loud; the same for the same arguments.
inline Score made_up_song(unsigned seed, double length_s, int voices) {
  std::mt19937 random(seed);  // its numbers are fixed by the C++ standard
  constexpr int kScale[] = {0, 2, 3, 5, 7, 8, 10};
  constexpr double kEighth_s = 0.25;
  Score score;
  score.title = "Made up " + std::to_string(seed);
  score.length_s = length_s;
  for (int voice = 0; voice < voices; ++voice) {
    std::size_t degree = random() % 7;
    for (double at_s = 0; at_s < length_s - kEighth_s;) {
      const double held_s = kEighth_s * static_cast<double>(1 + random() % 4);
      degree = (degree + random() % 5 + 5) % 7;
      Note note;
      note.start_s = at_s;
      note.end_s = std::min(at_s + held_s, length_s);
      note.key = 48 + 12 * voice + kScale[degree];
      note.channel = voice;
      note.velocity = 0.8 + 0.02 * static_cast<double>(random() % 10);
      score.notes.push_back(note);
      at_s += held_s;
    }
  }
  return score;
}

inline void write_bytes(const std::string& path, const Bytes& bytes) {
  std::ofstream(path, std::ios::binary)
      .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
}

/// A text with every `from` replaced.
inline std::string replaced(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
    text.replace(at, from.size(), to);
  return text;
}

/// A folder with a set: a coil, songs, set.toml.
struct EveningFiles {
  std::string folder, coil_file = "coil.toml";
  std::vector<std::string> songs;                     ///< file names or paths
  std::vector<double> pauses_s;                       ///< one a song
  std::map<std::string, std::string> arrangement_of;  ///< where a song has one
  double start_c = 25;

  void add_made_up(unsigned seed, double length_s, int voices, double pause_s) {
    const std::string name = "made-up-" + std::to_string(seed) + ".mid";
    write_bytes(folder + "/" + name, to_midi(made_up_song(seed, length_s, voices)));
    add(name, pause_s);
  }
  void add(const std::string& file, double pause_s, const std::string& arrangement = "") {
    if (!arrangement.empty()) arrangement_of[file] = arrangement;
    songs.push_back(file);
    pauses_s.push_back(pause_s);
  }
  [[nodiscard]] std::string set_file() const {
    std::string text =
        "name = \"Lantern night\"\ncoil = \"" + coil_file + "\"\nstart_c = " + std::to_string(start_c) + "\n";
    for (std::size_t i = 0; i < songs.size(); ++i) {
      text += "[[song]]\nfile = \"" + songs[i] + "\"\npause_s = " + std::to_string(pauses_s[i]) + "\n";
      const auto arrangement = arrangement_of.find(songs[i]);
      if (arrangement != arrangement_of.end()) text += "arrangement = \"" + arrangement->second + "\"\n";
    }
    std::ofstream(folder + "/set.toml", std::ios::binary) << text;
    return folder + "/set.toml";
  }
};

}  // namespace burstloom::testing
