// How long an evening of twenty songs takes: from nothing, with nothing changed, with one song changed. With
// previews, as users build it. Written for docs/reference/sets.md; nothing is asserted.
#include <chrono>
#include <cstdio>
#include <filesystem>

#include "support/made_up_set.hpp"
#include "support/run_command.hpp"

namespace {

using namespace burstloom;
using namespace burstloom::testing;

double seconds_for(const Folder& folder, std::vector<std::string> words) {
  const auto began = std::chrono::steady_clock::now();
  const Ran ran = run_command(folder, std::move(words));
  if (ran.code != 0) std::fprintf(stderr, "%s%s", ran.out.c_str(), ran.err.c_str());
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
}

void measure(const char* what, bool previews) {
  const Folder folder;
  EveningFiles evening;
  evening.folder = folder.path();
  evening.coil_file = BURSTLOOM_SAMPLES "/coils/bench-36v.toml";
  for (const char* song : {"/quayside-lanterns.mid", "/ferry-call.flac", "/harbour-chords.flac"})
    evening.add(BURSTLOOM_SAMPLES + std::string(song), 20);
  for (unsigned i = 1; i <= 17; ++i) evening.add_made_up(i, 120, 1 + static_cast<int>(i % 3), 20);
  std::vector<std::string> words = {"set", evening.set_file(), "--out", folder / "out"};
  if (!previews) words.emplace_back("--no-previews");
  const double full_s = seconds_for(folder, words), unchanged_s = seconds_for(folder, words);
  write_bytes(folder / "made-up-9.mid", to_midi(made_up_song(90, 120, 2)));
  const double one_s = seconds_for(folder, words);
  std::printf("%s: all %.2f s; nothing changed %.3f s (%.2f %%); one song changed %.2f s (%.1f %%)\n", what,
              full_s, unchanged_s, 100 * unchanged_s / full_s, one_s, 100 * one_s / full_s);
}

}  // namespace

int main() {
  measure("twenty songs, 36 minutes, with previews", true);
  measure("twenty songs, 36 minutes, without previews", false);
}
