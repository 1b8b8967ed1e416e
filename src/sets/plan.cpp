#include "plan.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "burstloom/common/words.hpp"
#include "burstloom/stream/one_stream.hpp"
#include "evening.hpp"
#include "in_parallel.hpp"

namespace burstloom {
namespace {

constexpr int kTenthsOfADay = 864'000;
constexpr int kMostMoves = 20;        // single moves, one after the other
constexpr int kFarthestMove = 30;     // places
constexpr double kWorthMoving_s = 1;  // less saved is no reason to move a song

// The fewest tenths of a second from `least` on with which it holds, where it holds for all more; nothing
// where a day is not enough.
template <class Holds>
std::optional<int> fewest_tenths(int least, const Holds& holds) {
  if (holds(least)) return least;
  int too_few = least, enough = std::max(8, 2 * least);
  for (; !holds(enough); enough = std::min(kTenthsOfADay, 2 * enough)) {
    if (enough >= kTenthsOfADay) return std::nullopt;
    too_few = enough;
  }
  while (enough - too_few > 1) {
    const int middle = too_few + (enough - too_few) / 2;
    (holds(middle) ? enough : too_few) = middle;
  }
  return enough;
}

// Songs that follow each other: gap, break rate, duty and supply hold in windows across the seam, too.
class Seams {
 public:
  explicit Seams(const Profile& coil) : without_heat_(coil) {
    without_heat_.limits.junction_c.reset();
    without_heat_.limits.heatsink_c.reset();
    double longest_ms = 1000;
    for (const DutyLimit& duty : coil.limits.duty) longest_ms = std::max(longest_ms, duty.window_ms);
    reach_s_ = 1.1 * longest_ms / 1e3 + coil.limits.on_time_max_us / 1e6;
  }
  /// `tail` is the end of what comes before (`end_of`).
  [[nodiscard]] int fewest_tenths_between(const BurstStream& tail, const BurstStream& after) const {
    const BurstStream head = excerpt(after, 0, std::min(reach(after), after.length));
    const auto holds = [&](int tenths) {
      const BurstStream both = one_stream({&tail, &head}, {ticks_of_pause(tenths / 10.0, tail.tick_hz), 0});
      return judge(both, without_heat_, {.seek_rest = false}).verdict == Verdict::within_limits;
    };
    return fewest_tenths(0, holds).value_or(kTenthsOfADay);
  }
  /// As much of `tail`, a pause and a song as a window can still see.
  [[nodiscard]] BurstStream end_of(const BurstStream& tail, double pause_s, const BurstStream& song) const {
    const BurstStream all = one_stream({&tail, &song}, {ticks_of_pause(pause_s, song.tick_hz), 0});
    return excerpt(all, std::max<Tick>(0, all.length - reach(song)), all.length);
  }

 private:
  [[nodiscard]] Tick reach(const BurstStream& of) const { return ticks_of_pause(reach_s_, of.tick_hz); }

  Profile without_heat_;
  double reach_s_ = 0;
};

class Planning {
 public:
  Planning(const std::vector<const BurstStream*>& songs, const HeatOfSongs& heat, const Profile& coil,
           const HeatStart& start)
      : songs_(songs), heat_(heat), seams_(coil), start_(start) {}

  // For this order, by the same heat as the build's.
  [[nodiscard]] OrderPlan shortest_pauses(const std::vector<int>& order) const {
    OrderPlan plan;
    plan.order = order;
    Thermal state = heat_.at(start_);
    BurstStream tail;
    for (std::size_t place = 0; place < order.size(); ++place) {
      const BurstStream& song = song_of(order[place]);
      const auto holds_after = [&](int tenths) {
        return heat_.holds(song, heat_.never_cooler_than(heat_.rested(state, tenths / 10.0)));
      };
      if (place == 0) {
        if (!holds_after(0)) plan.impossible.push_back(too_hot_a_start(order[place]));
      } else {
        const int seam = seams_.fewest_tenths_between(tail, song);
        const auto tenths = fewest_tenths(seam, holds_after);
        if (!tenths)
          plan.impossible.push_back("no day of rest is enough before song " + std::to_string(order[place]));
        plan.pause_after_s.push_back(tenths.value_or(kTenthsOfADay) / 10.0);
        state = heat_.rested(state, plan.pause_after_s.back());
      }
      tail = place == 0 ? song : seams_.end_of(tail, plan.pause_after_s.back(), song);
      state = heat_.play(song, state).at_end;
      plan.length_s += song.seconds(song.length);
    }
    plan.pauses_s = std::accumulate(plan.pause_after_s.begin(), plan.pause_after_s.end(), 0.0);
    plan.pause_after_s.push_back(0);
    plan.length_s += plan.pauses_s;
    return plan;
  }

 private:
  [[nodiscard]] const BurstStream& song_of(int number) const {
    return *songs_[static_cast<std::size_t>(number - 1)];
  }
  [[nodiscard]] std::string too_hot_a_start(int number) const {
    return "from a heatsink at " + figure(start_.sink_c) + " °C song " + std::to_string(number) +
           " is turned down; it wants at most " +
           figure(heat_.hottest_start_c(song_of(number)).value_or(heat_.ambient_c())) + " °C";
  }

  const std::vector<const BurstStream*>& songs_;
  const HeatOfSongs& heat_;
  Seams seams_;
  HeatStart start_;
};

// What the search for an order knows of a song: how hot it may start, and where it takes the modes, as if its
// losses did not depend on its start (they do a little, by the resistance). Orders are compared by this; what
// is proposed is reckoned anew in full.
struct Sketch {
  double hottest_start_k = 0;                      // above ambient
  std::array<double, kMostModes> kept{}, added{};  // modes after = kept * before + added
};

class OrderSearch {
 public:
  OrderSearch(const std::vector<const BurstStream*>& songs, const HeatOfSongs& heat, const HeatStart& start,
              int jobs)
      : start_(heat.at(start)), sketches_(songs.size()) {
    in_parallel(songs.size(), jobs, [&](std::size_t i) { sketches_[i] = sketch_of(*songs[i], heat); });
  }

  // The best single move, if one is worth it.
  [[nodiscard]] std::optional<SongMove> best_move(const std::vector<int>& order) const {
    const double now_s = pauses_s(order);
    const int places = static_cast<int>(order.size());
    std::optional<SongMove> best;
    for (int from = 0; from < places; ++from)
      for (int to = std::max(0, from - kFarthestMove); to < std::min(places, from + kFarthestMove + 1);
           ++to) {
        if (to == from) continue;
        const double saves_s = now_s - pauses_s(moved(order, from, to));
        if (saves_s > (best ? best->saves_s : kWorthMoving_s))
          best = {order[static_cast<std::size_t>(from)], to + 1, saves_s};
      }
    return best;
  }

  [[nodiscard]] static std::vector<int> moved(std::vector<int> order, int from, int to) {
    const int song = order[static_cast<std::size_t>(from)];
    order.erase(order.begin() + from);
    order.insert(order.begin() + to, song);
    return order;
  }

 private:
  using Modes = std::array<double, kMostModes>;

  static Sketch sketch_of(const BurstStream& song, const HeatOfSongs& heat) {
    constexpr double kHotSink_k = 60;  // more is no likely start
    Sketch sketch;
    sketch.hottest_start_k = heat.hottest_start_c(song).value_or(heat.ambient_c()) - heat.ambient_c();
    const double start_c = heat.ambient_c() + std::min(sketch.hottest_start_k, kHotSink_k);
    const Thermal before = heat.at({start_c, start_c}),
                  silent = heat.rested(before, song.seconds(song.length)),
                  after = heat.play(song, before).at_end;
    for (std::size_t k = 0; k < kMostModes; ++k) {
      const double tau_s = before.time_constant_s(k);
      sketch.kept[k] = std::isfinite(tau_s) ? std::exp(-song.seconds(song.length) / tau_s) : 0;
      sketch.added[k] = after.modes()[k] - silent.modes()[k];
    }
    return sketch;
  }

  [[nodiscard]] double pauses_s(const std::vector<int>& order) const {
    double sum_s = 0;
    Modes modes = start_.modes();
    for (std::size_t place = 0; place < order.size(); ++place) {
      const Sketch& song = sketches_[static_cast<std::size_t>(order[place] - 1)];
      if (place > 0) {
        const double pause_s = pause_until(modes, song.hottest_start_k);
        sum_s += pause_s;
        for (std::size_t k = 0; k < kMostModes; ++k) modes[k] *= decayed(k, pause_s);
      }
      for (std::size_t k = 0; k < kMostModes; ++k) modes[k] = song.kept[k] * modes[k] + song.added[k];
    }
    return sum_s;
  }
  [[nodiscard]] double decayed(std::size_t mode, double seconds) const {
    return std::exp(-seconds / start_.time_constant_s(mode));
  }
  // Until the junction, without bursts, has cooled to so many kelvins.
  [[nodiscard]] double pause_until(const Modes& modes, double rise_k) const {
    const auto holds = [&](int tenths) {
      double sum_k = 0;
      for (std::size_t k = 0; k < kMostModes; ++k)
        if (modes[k] != 0) sum_k += modes[k] * decayed(k, tenths / 10.0);
      return sum_k <= rise_k;
    };
    return fewest_tenths(0, holds).value_or(kTenthsOfADay) / 10.0;
  }

  Thermal start_;
  std::vector<Sketch> sketches_;
};

}  // namespace

SetPlan plan_set(const std::vector<const BurstStream*>& songs, const HeatOfSongs& heat, const Profile& coil,
                 const HeatStart& start, int jobs) {
  const Planning planning(songs, heat, coil, start);
  std::vector<int> order(songs.size());
  std::iota(order.begin(), order.end(), 1);
  SetPlan plan{.as_ordered = planning.shortest_pauses(order), .moves = {}, .reordered = {}};
  if (plan.as_ordered.pauses_s < kWorthMoving_s && plan.as_ordered.impossible.empty()) return plan;
  const OrderSearch search(songs, heat, start, jobs);
  while (plan.moves.size() < kMostMoves) {
    const auto move = search.best_move(order);
    if (!move) break;
    const auto from = std::find(order.begin(), order.end(), move->song) - order.begin();
    order = OrderSearch::moved(order, static_cast<int>(from), move->to_place - 1);
    plan.moves.push_back(*move);
  }
  OrderPlan reordered = planning.shortest_pauses(order);
  const bool helps = reordered.impossible.size() < plan.as_ordered.impossible.size() ||
                     reordered.pauses_s < plan.as_ordered.pauses_s - kWorthMoving_s;
  if (helps)
    plan.reordered = std::move(reordered);
  else
    plan.moves.clear();
  return plan;
}

}  // namespace burstloom
