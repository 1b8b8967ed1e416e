// What is worked out the quick way for tables of voices, beside the plain way.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

#include "../../src/tables/stream_tables.hpp"
#include "support/voice_table.hpp"

extern "C" {
#include "weaver.h"
}

namespace burstloom::table_detail {

bool operator==(const OnRun& a, const OnRun& b) {
  return a.first == b.first && a.on == b.on && a.fade == b.fade;
}
bool operator==(const Wish& a, const Wish& b) {
  return a.start == b.start && a.voice == b.voice && a.made == b.made;
}

namespace {

using OnTimes = std::vector<std::optional<std::uint16_t>>;

// Every fade, burst by burst.
std::vector<OnRun> plain_on_runs(const OnTimes& ons) {
  std::vector<OnRun> runs;
  for (std::size_t i = 0; i < ons.size();) {
    const auto known = std::find_if(ons.begin() + static_cast<std::ptrdiff_t>(i), ons.end(),
                                    [](const auto& on) { return on.has_value(); });
    OnRun run{i, known == ons.end() ? std::uint16_t{1} : **known, 0};
    std::size_t longest = 0;
    for (int rate = 0; rate <= 127; ++rate)
      for (const int fade : {rate, -rate}) {
        weaver_voice voice{};
        weaver_set_on(&voice, run.on, static_cast<std::int8_t>(fade));
        std::size_t length = 1;
        for (; i + length < ons.size(); ++length) {
          weaver_fade(&voice);
          const auto& on = ons[i + length];
          if (on && voice.on >> 16 != *on) break;
        }
        if (length > longest) longest = length, run.fade = static_cast<std::int8_t>(fade);
      }
    runs.push_back(run);
    i += longest;
  }
  return runs;
}

std::vector<Wish> plain_wishes(const BurstStream& stream, const Account& account) {
  std::vector<Wish> wishes;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i)
    wishes.push_back({stream.bursts[i].start,
                      static_cast<std::uint16_t>(account.notes[account.note_of_burst[i]].voice),
                      &stream.bursts[i]});
  for (const Change& change : account.changes) {
    if (change.burst)
      wishes[*change.burst].start = std::max<Tick>(0, change.wanted_start);
    else if (change.wanted_start >= 0)
      wishes.push_back({change.wanted_start, static_cast<std::uint16_t>(account.notes[change.note].voice)});
  }
  std::stable_sort(wishes.begin(), wishes.end(), [](const Wish& a, const Wish& b) {
    return std::pair(a.start, a.voice) < std::pair(b.start, b.voice);
  });
  auto next = stream.bursts.begin();
  for (Wish& wish : wishes)
    if (wish.made) wish.made = &*next++;
  return wishes;
}

// From `low` to `high`, both included.
int any(int low, int high) {
  return *rc::gen::inRange(low, high + 1);
}

// Steady, fading either way, leaping, with bursts that are not made.
OnTimes any_ons() {
  OnTimes ons;
  for (int piece = any(0, 6); piece > 0; --piece) {
    double on = *rc::gen::element(any(1, 8), any(20, 200), any(1'000, 30'000));
    const double fade = *rc::gen::element(1.0, 1 + any(-140, 140) / 16'384.0, 1 + any(-900, 900) / 1e4);
    const bool are_all_made = any(0, 2) > 0;
    for (int burst = any(1, 80); burst > 0; --burst, on = std::clamp(on * fade, 1.0, 60'000.0))
      ons.push_back(are_all_made || any(0, 3) > 0 ? std::optional(static_cast<std::uint16_t>(on))
                                                  : std::nullopt);
  }
  return ons;
}

RC_GTEST_PROP(on_runs, are_those_of_every_fade_tried, ()) {
  const OnTimes ons = any_ons();
  RC_ASSERT(on_runs(ons) == plain_on_runs(ons));
}

// Whatever a file may say of a stream: in any order, several times of one burst, before the song.
RC_GTEST_PROP(wishes_of, are_those_of_a_sort, ()) {
  BurstStream stream{kDefaultTickHz, 0, {}};
  Account account;
  for (int voice = 0; voice < 5; ++voice) account.notes.push_back({.voice = any(0, 4)});
  for (int i = any(0, 30); i > 0; --i) {
    const Tick from = stream.bursts.empty() ? 0 : stream.bursts.back().end();
    stream.bursts.push_back({from + any(0, 3), any(1, 2)});
    account.note_of_burst.push_back(static_cast<std::uint32_t>(any(0, 4)));
  }
  const auto bursts = static_cast<int>(stream.bursts.size());
  for (int i = any(0, 40); i > 0; --i) {
    Change change{static_cast<std::uint32_t>(any(0, 4)), any(-4, 90), 1, {}};
    if (bursts > 0 && any(0, 1) == 0) change.burst = static_cast<std::uint32_t>(any(0, bursts - 1));
    account.changes.push_back(change);
  }
  if (any(0, 1) == 0)
    std::ranges::stable_sort(account.changes, {}, [](const Change& it) { return it.wanted_start; });
  RC_ASSERT(wishes_of(stream, account) == plain_wishes(stream, account));
}

struct Made {
  BurstStream stream{kDefaultTickHz, 0, {}};
  Account account{};
};

// What the weaver itself makes of three steady voices in these ways.
Made woven(std::uint8_t cap, std::uint8_t yields) {
  weaver weaver{};
  weaver_begin(&weaver, 3, 200, cap, yields);
  for (std::uint8_t voice = 0; voice < 3; ++voice) {
    weaver_set_period(&weaver, voice, 3'061u + voice * 813u, 77'777'777u * (voice + 1u));
    weaver_set_on(&weaver.voice[voice], 150, 0);
    weaver_start(&weaver.voice[voice], 500u + 1'111u * voice);
    weaver.voice[voice].left = 20'000;
  }
  Made made;
  for (std::uint32_t voice = 0; voice < 3; ++voice)
    made.account.notes.push_back({.voice = static_cast<int>(voice)});
  for (;;) {
    const std::uint8_t voice = weaver_first(&weaver);
    if (voice == WEAVER_NONE) break;
    weaver_burst burst{};
    weaver_take(&weaver, voice, &burst);
    const Tick wanted = burst.start;
    Change change{
        .note = voice, .wanted_start = wanted, .wanted_on = 150, .burst = {}, .fate = Fate::dropped};
    if (weaver_settle(&weaver, voice, &burst) != 0) {
      weaver_made(&weaver, &burst);
      change.burst = static_cast<std::uint32_t>(made.stream.bursts.size());
      change.fate = Fate::shifted;
      made.stream.bursts.push_back({burst.start, burst.on});
      made.account.note_of_burst.push_back(voice);
      if (burst.start == wanted) continue;
    }
    made.account.changes.push_back(change);
  }
  made.stream.length = made.stream.bursts.back().end();
  return made;
}

// All ways of the weaver are tried in one pass: each finds its own stream, with next to no corrections.
TEST(voice_data, finds_the_way_that_a_stream_was_woven) {
  for (const auto& [cap, yields] : {std::pair(26, 0), std::pair(26, 1), std::pair(255, 0)}) {
    const Made made = woven(static_cast<std::uint8_t>(cap), static_cast<std::uint8_t>(yields));
    const auto table =
        voice_table(made.stream, wishes_of(made.stream, made.account), {.on_max = 200, .gap_min = 200});
    ASSERT_TRUE(table);
    EXPECT_LT(table->size(), 120u) << cap << " " << yields;
    EXPECT_EQ(int{(*table)[kTableHeaderBytes + 1]}, cap);
    EXPECT_EQ(int{(*table)[kTableHeaderBytes + 2]}, yields);
  }
}

TEST(voice_data, is_nothing_where_it_would_not_be_smaller) {
  const Made made = woven(26, 0);
  const auto wishes = wishes_of(made.stream, made.account);
  const auto programs = voice_programs(wishes);
  ASSERT_TRUE(programs);
  const auto data = voice_data(made.stream, wishes, *programs, 1'000);
  ASSERT_TRUE(data);
  EXPECT_TRUE(voice_data(made.stream, wishes, *programs, data->size() + 1));
  EXPECT_FALSE(voice_data(made.stream, wishes, *programs, data->size()));
}

// One object asked for all targets says what one for each says.
TEST(tables, asked_for_several_targets_are_those_of_each_alone) {
  const Made made = woven(26, 1);
  TableInput input;
  input.stream = made.stream;
  input.account = made.account;
  input.profile.limits.on_time_max_us = 100;
  input.profile.limits.gap_us = 100;
  const Tables together(input);
  for (int turn = 0; turn < 2; ++turn)
    for (const Target& target : targets()) {
      const TableFit all = fit_of(together, target), alone = fit_of(input, target);
      EXPECT_EQ(all.encoding, alone.encoding) << target.name;
      EXPECT_EQ(all.table_bytes, alone.table_bytes) << target.name;
      EXPECT_EQ(all.ram_used, alone.ram_used) << target.name;
      EXPECT_EQ(can_hold(target, together), can_hold(target, input)) << target.name;
      if (can_hold(target, input)) {
        EXPECT_EQ(table_header(together, target), table_header(input, target));
      }
    }
}

}  // namespace
}  // namespace burstloom::table_detail
