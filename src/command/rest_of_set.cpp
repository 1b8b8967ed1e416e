#include "rest_of_set.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"

namespace burstloom::command {
namespace {

struct Stop {
  std::size_t in = 0, then = 0;  ///< the song that was stopped, and the one that begins after the rest
};

bool holds_around(const Stop& stop, double rest_s, const std::vector<SongInARow>& songs) {
  std::vector<SongInARow> played(songs.begin(), songs.begin() + static_cast<std::ptrdiff_t>(stop.in) + 1);
  played.back().pause_s = rest_s;
  played.insert(played.end(), songs.begin() + static_cast<std::ptrdiff_t>(stop.then), songs.end());
  return judge(one_stream(played), songs.front().input.coil.profile, {.seek_rest = false}).verdict ==
         Verdict::within_limits;
}

// `least_s` where it is enough, else to the next second.
double rest_around(const Stop& stop, double least_s, const std::vector<SongInARow>& songs) {
  const auto holds = [&](double rest_s) { return holds_around(stop, rest_s, songs); };
  if (holds(least_s)) return least_s;
  double too_short_s = std::floor(least_s), enough_s = std::max(8.0, 2 * too_short_s);
  for (; !holds(enough_s); enough_s = std::min(kDay_s, 2 * enough_s)) {
    if (enough_s >= kDay_s)
      throw Error(Fault::outside_limits,
                  "not exported: stopped at its end, this song leaves a coil so warm that no day of rest is "
                  "enough before song " +
                      std::to_string(stop.then + 1) + " begins",
                  printable(songs[stop.in].path, 200), "weave the songs quieter, or export fewer of them");
    too_short_s = enough_s;
  }
  while (enough_s - too_short_s > 1) {
    const double middle_s = std::floor((too_short_s + enough_s) / 2);
    (holds(middle_s) ? enough_s : too_short_s) = middle_s;
  }
  return enough_s;
}

}  // namespace

double rest_of_set(const std::vector<SongInARow>& songs, const Judgement& whole) {
  double rest_s = required_rest(whole, "all of these songs one after the other");
  for (const SongInARow& song : songs) rest_s = std::max(rest_s, song.rest_s);
  for (std::size_t i = 0; i < songs.size(); ++i) {
    // A stop in the song, a reset, a stop in the pause after it.
    rest_s = rest_around({i, i}, rest_s, songs);
    if (i > 0) rest_s = rest_around({i, 0}, rest_s, songs);
    if (i + 1 < songs.size() && songs[i].pause_s > rest_s) rest_s = rest_around({i, i + 1}, rest_s, songs);
  }
  return rest_s;
}

}  // namespace burstloom::command
