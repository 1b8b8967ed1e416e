// listening_scores FOLDER [--aubio]: how well the notes of the pieces that make_pieces.py made are heard
// (onset F: onset within 50 ms, pitch within 50 cents; frame F on a grid of 10 ms), what that takes, and how
// much of the notes heard is left in the bursts woven from them, read back from the sketch of their sound by
// the same ear. With --aubio beside aubionotes. Fails where a figure falls under its floor.
#include <algorithm>
#include <cstdio>
#include <ctime>
#include <fstream>
#include <map>
#include <sstream>

#include "burstloom/check/judge.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/listen/transcription_score.hpp"
#include "burstloom/preview/plain_tones.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"

using namespace burstloom;

namespace {

struct Figures {
  double onset_f = 0, frame_f = 0, cpu_s = 0, drums_f = 0, read_back_f = 0, aubio_onset_f = 0,
         aubio_frame_f = 0;
};

// A coil with a gap of 400 us and nothing else that binds.
Profile plain_coil() {
  return parse_profile(
      "name = \"plain\"\n[limits]\non_time_us = { min = 4.0, max = 60.0 }\ngap_us = 400.0\n"
      "duty = [ { window_ms = 1000.0, percent = 50.0 } ]\n[sound]\nvoices = 3\n",
      "the plain coil");
}

Score heard_in_bursts(const Score& heard) {
  const Profile profile = plain_coil();
  const Wanted wanted = wanted_from_score(heard, profile, {.voices = 3, .cap_of_period = 0.2});
  const Guarded guarded = place(wanted.bursts, profile, kDefaultTickHz, wanted.length);
  return std::get<Score>(listen_notes(burst_tones(guarded.stream)));
}

// Its lines are `key begin end`; its constant lag, the median against the nearest true onset, is taken off.
std::vector<Note> by_aubio(const std::string& wav, const std::vector<Note>& truth) {
  std::vector<Note> notes;
  const std::string command = "aubionotes -i '" + wav + "' 2>/dev/null";
  std::FILE* pipe = popen(command.c_str(), "r");
  char line[200];
  while (std::fgets(line, sizeof line, pipe) != nullptr) {
    Note note;
    if (std::sscanf(line, "%lf %lf %lf", &note.key, &note.start_s, &note.end_s) == 3) notes.push_back(note);
  }
  pclose(pipe);
  std::vector<double> lags;
  for (const Note& note : notes) {
    double nearest = 1e9;
    for (const Note& it : truth)
      if (std::abs(note.start_s - it.start_s) < std::abs(nearest)) nearest = note.start_s - it.start_s;
    lags.push_back(nearest);
  }
  std::sort(lags.begin(), lags.end());
  for (Note& note : notes) note.start_s -= lags[lags.size() / 2];
  return notes;
}

// Hits, whatever drum; 1 where there are none and none are heard.
double drums_f_of(const Score& truth, const Score& heard) {
  const auto hits_of = [](const Score& score) {
    std::vector<Note> hits;
    for (const Note& note : score.notes)
      if (note.part == Part::drums) hits.push_back(note);
    return hits;
  };
  const std::vector<Note> wanted = hits_of(truth), found = hits_of(heard);
  if (wanted.empty()) return found.empty() ? 1 : 0;
  return note_scores(wanted, found, {.pitch = false}).f;
}

Figures figures_of(const std::string& path, bool aubio) {
  Figures figures;
  const std::vector<Note> truth = pitched(read_midi_score(path + ".mid"));
  const Sound sound = read_sound(path + ".wav");
  const std::clock_t from = std::clock();
  const Score score = std::get<Score>(listen_notes(sound));
  figures.cpu_s = static_cast<double>(std::clock() - from) / CLOCKS_PER_SEC / sound.length_s();
  const std::vector<Note> heard = pitched(score);
  figures.onset_f = note_scores(truth, heard).f;
  figures.drums_f = drums_f_of(read_midi_score(path + ".mid"), score);
  figures.frame_f = frame_scores(truth, heard, sound.length_s()).f;
  figures.read_back_f = frame_scores(heard, pitched(heard_in_bursts(score)), sound.length_s()).f;
  if (aubio) {
    const std::vector<Note> other = by_aubio(path + ".wav", truth);
    figures.aubio_onset_f = note_scores(truth, other).f;
    figures.aubio_frame_f = frame_scores(truth, other, sound.length_s()).f;
  }
  return figures;
}

void print_row(const std::string& name, const Figures& it, bool aubio) {
  std::printf("| %s | %.2f | %.2f | %.2f | %.4f | %.2f |", name.c_str(), it.onset_f, it.frame_f, it.drums_f,
              it.cpu_s, it.read_back_f);
  if (aubio) std::printf(" %.2f | %.2f |", it.aubio_onset_f, it.aubio_frame_f);
  std::printf("\n");
}

// A little under what was reached, so that a step back shows.
struct Floor {
  double onset_f, frame_f, read_back_f, drums_f;
};
const std::map<std::string, Floor> kFloors = {
    {"melody tuned", {0.91, 0.89, 0.88, 1}},  {"melody held", {0.94, 0.90, 0.88, 1}},
    {"voices tuned", {0.76, 0.84, 0.78, 1}},  {"voices held", {0.70, 0.80, 0.78, 1}},
    {"reeds tuned", {0.80, 0.87, 0.78, 1}},   {"reeds held", {0.52, 0.76, 0.76, 1}},
    {"full tuned", {0.77, 0.83, 0.80, 0.75}}, {"full held", {0.76, 0.83, 0.79, 0.75}}};

}  // namespace

int main(int count, char** words) {
  const std::string folder = words[1];
  const bool aubio = count > 2 && std::string(words[2]) == "--aubio";
  std::ifstream listing(folder + "/pieces.txt");
  std::map<std::string, std::vector<Figures>> kinds;
  std::printf("| piece | onset F | frame F | drums F | CPU s per s | read back |%s\n",
              aubio ? " aubionotes onset F | frame F |" : "");
  std::printf("|---|---|---|---|---|---|%s\n", aubio ? "---|---|" : "");
  for (std::string name, kind, held; listing >> name >> kind >> held;) {
    const Figures figures = figures_of(folder + "/" + name, aubio);
    print_row(name + ", " + kind + (held == "held" ? ", held out" : ""), figures, aubio);
    kinds[kind + " " + held].push_back(figures);
  }
  bool good = kinds.size() == kFloors.size();
  for (const auto& [kind, all] : kinds) {
    Figures mean;
    for (const auto member : {&Figures::onset_f, &Figures::frame_f, &Figures::cpu_s, &Figures::drums_f,
                              &Figures::read_back_f, &Figures::aubio_onset_f, &Figures::aubio_frame_f})
      for (const Figures& it : all) mean.*member += it.*member / static_cast<double>(all.size());
    print_row("**" + kind + "**", mean, aubio);
    const Floor& floor = kFloors.at(kind);
    if (mean.onset_f >= floor.onset_f && mean.frame_f >= floor.frame_f &&
        mean.read_back_f >= floor.read_back_f && mean.drums_f >= floor.drums_f)
      continue;
    std::printf("%s: under its floor of %.2f, %.2f, %.2f\n", kind.c_str(), floor.onset_f, floor.frame_f,
                floor.read_back_f);
    good = false;
  }
  return good ? 0 : 1;
}
