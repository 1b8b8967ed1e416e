// Tables of voices: whatever a stream and its account say, the player's own reader gives back the stream to
// the tick, and the table is smaller for what repeats.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "../../src/tables/can_follow.hpp"
#include "support/voice_table.hpp"

extern "C" {
#include "table.h"
}

namespace burstloom::table_detail {
namespace {

const Target& chip() {
  return targets().front();
}

constexpr CompiledLimits kLimits{.on_max = 200, .gap_min = 200, .rest_ms = 0};

// What the player's reader makes of a table, starts counted from the song's start.
std::vector<Burst> read_back(const Bytes& table) {
  host_table = {table.data(), static_cast<std::uint32_t>(table.size()), 200, 200, 0};
  table_check check;
  table_check_begin(&check);
  while (table_check_some(&check, 255) == 0) {
  }
  EXPECT_EQ(table_fault(&check), TABLE_SOUND);
  std::vector<Burst> bursts;
  table_reader reader{};
  if (table_reader_begin(&reader) == 0) return bursts;
  Tick end = 0;
  for (;;) {
    table_burst burst{};
    const int result = table_reader_step(&reader, &burst);
    if (result == TABLE_MORE) continue;
    if (result != TABLE_BURST) break;
    bursts.push_back({end + burst.gap, burst.on});
    end = bursts.back().end();
  }
  return bursts;
}

struct Made {
  BurstStream stream{kDefaultTickHz, 0, {}};
  Account account{};
};

class Dice {
 public:
  explicit Dice(std::uint32_t seed) : engine_(seed) {}
  /// 0 to below `sides`.
  int operator()(int sides) { return static_cast<int>(engine_() % static_cast<unsigned>(sides)); }

 private:
  std::mt19937 engine_;
};

// A burst as a voice wants it.
struct Wanted {
  Tick start = 0;
  std::uint16_t voice = 0;
  Tick on = 0;
};

// Wishes that come out as `fates` says: placed as early as they can, cut or gone.
Made made_of(std::vector<Wanted> wishes, std::uint32_t seed, bool moved_anyhow,
             const std::vector<Tick>& caps = std::vector<Tick>(17, 600)) {
  Dice dice(seed);
  std::stable_sort(wishes.begin(), wishes.end(), [](const Wanted& a, const Wanted& b) {
    return std::pair(a.start, a.voice) < std::pair(b.start, b.voice);
  });
  Made made;
  for (int voice = 0; voice < 17; ++voice) made.account.notes.push_back({.voice = voice});
  Tick free = 0;
  for (const Wanted& wish : wishes) {
    Burst burst{std::max(free, wish.start), wish.on};
    const bool dropped = burst.start - wish.start > caps[wish.voice] || (moved_anyhow && dice(9) == 0);
    if (moved_anyhow && dice(5) == 0) burst.start += dice(2'000);
    if (moved_anyhow && dice(5) == 0) burst.start = std::max(free, burst.start - dice(1'500));
    if (moved_anyhow && dice(7) == 0) burst.on = 1 + dice(150);
    Change change{.note = wish.voice, .wanted_start = wish.start, .wanted_on = wish.on, .burst = {}};
    if (!dropped) {
      change.burst = static_cast<std::uint32_t>(made.stream.bursts.size());
      made.stream.bursts.push_back(burst);
      made.account.note_of_burst.push_back(wish.voice);
      free = burst.end() + 200;
    }
    change.fate = dropped ? Fate::dropped : Fate::shifted;
    if (dropped || burst.start != wish.start || burst.on != wish.on) made.account.changes.push_back(change);
  }
  if (!made.stream.bursts.empty()) made.stream.length = made.stream.bursts.back().end();
  return made;
}

// A voice of notes one after the other: steady, gliding or irregular, steady in on-time or fading.
void add_voice(std::uint16_t voice, Dice& dice, std::vector<Wanted>& wishes) {
  double at = dice(10'000);
  for (int note = 0; note < 12; ++note) {
    double period = 1'500 + dice(20'000), on = 20 + dice(100);
    const double glide = dice(3) == 0 ? 1 + (dice(100) - 50) / 5e3 : 1;
    const double fade = dice(2) == 0 ? 1 - dice(50) / 1e4 : 1;
    const bool irregular = dice(5) == 0;
    const int bursts = 1 + dice(60);
    for (int i = 0; i < bursts; ++i) {
      wishes.push_back({static_cast<Tick>(at), voice, std::max<Tick>(1, static_cast<Tick>(on))});
      at += irregular ? 300 + dice(3'000) : period;
      period *= glide;
      on *= fade;
    }
    at += dice(200'000);
  }
}

int longest_row_of_drops(const std::vector<Wish>& wishes) {
  int longest = 0, row = 0;
  for (const Wish& wish : wishes) longest = std::max(longest, row = wish.made ? 0 : row + 1);
  return longest;
}

RC_GTEST_PROP(voice_table, gives_back_every_stream, ()) {
  Dice dice(*rc::gen::arbitrary<std::uint32_t>());
  const int voices = *rc::gen::inRange(1, 18);
  std::vector<Wanted> wishes;
  for (int v = 0; v < voices; ++v) add_voice(static_cast<std::uint16_t>(v), dice, wishes);
  const Made made =
      made_of(std::move(wishes), *rc::gen::arbitrary<std::uint32_t>(), *rc::gen::arbitrary<bool>());
  const auto all = wishes_of(made.stream, made.account);
  if (longest_row_of_drops(all) > 24 || made.stream.bursts.empty()) RC_DISCARD("cannot be said");
  const auto table = voice_table(made.stream, all, kLimits);
  RC_ASSERT(table.has_value());
  std::vector<Burst> wanted = made.stream.bursts;
  const Tick later = std::max<Tick>(0, 200 - wanted.front().start);  // the first gap, as the player raises it
  for (Burst& burst : wanted) burst.start += later;
  RC_ASSERT(read_back(*table) == wanted);
}

// A note held for ten minutes at a period that is no whole number of ticks: one stretch.
TEST(train_runs, follow_a_held_note_to_the_tick) {
  const double period = 2e6 / 440;
  std::vector<Tick> starts;
  for (int k = 0; k < 264'000; ++k) starts.push_back(static_cast<Tick>(std::floor(100.5 + k * period)));
  const auto runs = train_runs(starts);
  ASSERT_EQ(runs.size(), 1u);
  EXPECT_LE(static_cast<double>(runs[0].low) / 0x1p32, period);
  EXPECT_GE(static_cast<double>(runs[0].high) / 0x1p32, period);
}

TEST(on_runs, follow_a_fade) {
  std::vector<std::optional<std::uint16_t>> ons;
  weaver_voice voice{};
  weaver_set_on(&voice, 90, 21);
  for (int k = 0; k < 500; ++k) {
    ons.push_back(static_cast<std::uint16_t>(voice.on >> 16));
    weaver_fade(&voice);
  }
  ons[100].reset();  // a burst that is not made fades with the rest
  const auto runs = on_runs(ons);
  ASSERT_EQ(runs.size(), 1u);
  EXPECT_EQ(runs[0].on, 90);
  EXPECT_EQ(runs[0].fade, 21);
}

// Three steady voices placed by waiting alone: a few dozen bytes whatever their length.
TEST(voice_table, of_what_the_weaver_does_by_itself_is_tiny) {
  std::vector<Wanted> wishes;
  for (const int voice : {0, 1, 2})
    for (int k = 0; k < 10'000; ++k)
      wishes.push_back({static_cast<Tick>(std::floor(7.5 + voice * 1'111 + k * (6'061.7 + voice * 813.21))),
                        static_cast<std::uint16_t>(voice), 40});
  // 26/256 of each period, as the weaver counts it.
  const Made made = made_of(std::move(wishes), 1, false, {615, 698, 780});
  ASSERT_GT(made.stream.bursts.size(), 20'000u);
  const auto table = voice_table(made.stream, wishes_of(made.stream, made.account), kLimits);
  ASSERT_TRUE(table);
  EXPECT_LT(table->size(), 120u);
}

TEST(voice_table, refuses_what_it_cannot_say) {
  BurstStream stream{kDefaultTickHz, Tick{1} << 33, {{0, 40}, {Tick{1} << 31, 40}}};
  EXPECT_FALSE(voice_table(stream, wishes_of(stream, {}), kLimits)) << "a rest of 2^31 ticks";
  stream.bursts = {{0, 70'000}};
  EXPECT_FALSE(voice_table(stream, wishes_of(stream, {}), {.on_max = 80'000, .gap_min = 1}))
      << "a long burst";
}

TEST(voice_table, says_24_dropped_bursts_in_a_row_and_no_more) {
  for (const int drops : {24, 25}) {
    const Tick last = 1'000 + (drops + 1) * 2'000;
    const BurstStream stream{kDefaultTickHz, last + 40, {{1'000, 40}, {last, 40}}};
    std::vector<Wish> wishes = {{1'000, 0, &stream.bursts[0]}};
    for (int i = 1; i <= drops; ++i) wishes.push_back({1'000 + i * 2'000, 0});
    wishes.push_back({last, 0, &stream.bursts[1]});
    EXPECT_EQ(voice_table(stream, wishes, kLimits).has_value(), drops == 24) << drops;
  }
}

TEST(can_follow, is_no_for_bursts_closer_than_a_step_of_reading) {
  const auto follows = [](Tick gap) {
    BurstStream stream{kDefaultTickHz, 0, {}};
    for (Tick k = 0; k < 50; ++k) stream.bursts.push_back({k * (40 + gap), 40});
    const auto wishes = wishes_of(stream, {});
    const CompiledLimits limits{.on_max = 100, .gap_min = gap};
    const auto programs = voice_programs(wishes);
    return programs && can_follow(chip(), limits, wishes, 1, tells_after(wishes, *programs));
  };
  const Tick step = chip().weaving_ticks + chip().weaving_ticks_per_voice;
  EXPECT_TRUE(follows(chip().shortest_gap_ticks + step));
  EXPECT_FALSE(follows(chip().shortest_gap_ticks + step - 1));
}

}  // namespace
}  // namespace burstloom::table_detail
