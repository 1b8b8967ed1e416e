// listening_bench FOLDER: how well the notes of the pieces that make_pieces.py made are heard, and what it takes.
#include <chrono>
#include <cstdio>
#include <ctime>
#include <fstream>
#include <map>

#include "burstloom/listen/listen.hpp"
#include "burstloom/score/midi.hpp"
#include "support/transcription_score.hpp"

using namespace burstloom;

int main(int, char** words) {
  const std::string folder = words[1];
  std::ifstream listing(folder + "/pieces.txt");
  struct Sum { double onset = 0, frame = 0, cpu = 0; int count = 0; };
  std::map<std::string, Sum> sums;
  for (std::string name, kind, held; listing >> name >> kind >> held;) {
    const std::vector<Note> truth = testing::pitched(read_midi_score(folder + "/" + name + ".mid"));
    const Sound sound = read_sound(folder + "/" + name + ".wav");
    const std::clock_t from = std::clock();
    const std::vector<Note> heard = testing::pitched(std::get<Score>(listen_notes(sound)));
    const double cpu = static_cast<double>(std::clock() - from) / CLOCKS_PER_SEC / sound.length_s();
    const auto onset = testing::note_scores(truth, heard);
    const auto frame = testing::frame_scores(truth, heard, sound.length_s());
    double bias = 0; int n = 0;
    for (const Note& a : truth) for (const Note& b : heard) if (std::abs(a.key - b.key) <= 0.5 && std::abs(a.start_s - b.start_s) < 0.08) bias += b.start_s - a.start_s, ++n;
    std::printf("%-14s %-7s %-5s onset %.3f (P %.2f R %.2f) frame %.3f (P %.2f R %.2f) bias %5.1f ms  %.4f s per s  %zu/%zu\n", name.c_str(), kind.c_str(), held.c_str(),
                onset.f, onset.precision, onset.recall, frame.f, frame.precision, frame.recall, n ? 1000 * bias / n : 0, cpu, heard.size(), truth.size());
    Sum& sum = sums[kind + " " + held];
    sum.onset += onset.f; sum.frame += frame.f; sum.cpu += cpu; ++sum.count;
  }
  for (const auto& [name, sum] : sums) std::printf("%-16s onset F %.3f  frame F %.3f  cpu %.4f\n", name.c_str(), sum.onset / sum.count, sum.frame / sum.count, sum.cpu / sum.count);
}
