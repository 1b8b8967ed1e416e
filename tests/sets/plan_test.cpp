// Planned pauses, against the judge: its sums of heat are its own, and share nothing with the plan's.
#include "plan.hpp"

#include "burstloom/check/judge.hpp"
#include "burstloom/stream/one_stream.hpp"
#include "evening.hpp"
#include "support.hpp"

namespace burstloom::testing {
namespace {

// A coil, songs woven for it at ambient, and the judge's verdict on an evening of them.
struct Planned {
  Profile coil;
  std::vector<BurstStream> songs;
  SetPlan plan;

  [[nodiscard]] Judgement judged(const OrderPlan& order, double part_of_pauses) const {
    std::vector<const BurstStream*> streams;
    std::vector<Tick> pauses;
    for (std::size_t i = 0; i < order.order.size(); ++i) {
      streams.push_back(&songs[static_cast<std::size_t>(order.order[i] - 1)]);
      pauses.push_back(ticks_of_pause(order.pause_after_s[i] * part_of_pauses, kDefaultTickHz));
    }
    return judge(one_stream(streams, pauses), coil, {.seek_rest = false});
  }
};

bool is_of_heat(const Violation& violation) {
  return violation.limit == "heatsink" || violation.limit == "junction";
}

class Plan : public Sets {
 protected:
  Planned planned(double start_c) {
    evening_.start_c = start_c;
    const SetBuild built = build({.folder = out(), .plan = true});
    Planned result{started_at(read_profile(folder_ + "/coil.toml"), start_c, start_c), {}, *built.set.plan};
    // Each song alone, from ambient.
    EveningFiles alone = evening_;
    for (const std::string& song : evening_.songs) {
      alone.songs = {song};
      alone.pauses_s = {0};
      alone.start_c = 25;
      const BuiltSet set =
          build_set(read_set(alone.set_file()), {.folder = out() + "-alone", .seek_rest = false}).set;
      const std::string text = text_of_file(out() + "-alone/" + set.songs[0].burst_file);
      result.songs.push_back(
          from_burst_file({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()}, song).stream);
    }
    return result;
  }
  void expect_tight(const Planned& planned, const OrderPlan& plan) {
    EXPECT_TRUE(plan.impossible.empty());
    EXPECT_GT(plan.pauses_s, 10) << "heat does not bind: this tests nothing";
    EXPECT_EQ(planned.judged(plan, 1).verdict, Verdict::within_limits);
    const Judgement shorter = planned.judged(plan, 0.95);
    EXPECT_EQ(shorter.verdict, Verdict::outside_limits);
    EXPECT_TRUE(std::all_of(shorter.violations.begin(), shorter.violations.end(), is_of_heat));
  }
};

TEST_F(Plan, ItsPausesHoldAndFivePercentLessDoNot) {
  for (const bool igbts : {false, true}) {
    SCOPED_TRACE(igbts ? "IGBTs" : "MOSFETs");
    igbts ? use_warm_igbts("45.0") : use_warm_mosfets("45.0");
    evening_.songs.clear();
    evening_.pauses_s.clear();
    for (unsigned i = 1; i <= 6; ++i) evening_.add_made_up(i, 12 + 2 * i, 1 + static_cast<int>(i % 3), 1);
    const Planned all = planned(25);
    expect_tight(all, all.plan.as_ordered);
    if (all.plan.reordered) {
      expect_tight(all, *all.plan.reordered);
      EXPECT_LT(all.plan.reordered->pauses_s, all.plan.as_ordered.pauses_s);
      EXPECT_FALSE(all.plan.moves.empty());
    }
  }
}

// What the plan promises the build keeps: nothing is turned down.
TEST_F(Plan, ABuildWithItsPausesTurnsNothingDown) {
  use_warm_mosfets("45.0");
  for (unsigned i = 1; i <= 5; ++i) evening_.add_made_up(i, 15, 3, 0);
  const BuiltSet hurried = build({.plan = true}).set;
  EXPECT_TRUE(
      std::any_of(hurried.songs.begin(), hurried.songs.end(), [](auto& song) { return song.turned_down; }));
  const std::vector<std::string> songs = evening_.songs;
  for (const OrderPlan* plan :
       {&hurried.plan->as_ordered, hurried.plan->reordered ? &*hurried.plan->reordered : nullptr}) {
    if (plan == nullptr) continue;
    for (std::size_t i = 0; i < songs.size(); ++i) {
      evening_.songs[i] = songs[static_cast<std::size_t>(plan->order[i] - 1)];
      evening_.pauses_s[i] = plan->pause_after_s[i];
    }
    const BuiltSet calm = build().set;
    EXPECT_EQ(calm.evening.verdict, Verdict::within_limits);
    EXPECT_NEAR(calm.length_s, plan->length_s, 0.01);
    for (const BuiltSong& song : calm.songs) EXPECT_FALSE(song.turned_down) << song.stem;
  }
}

// A loud song after loud ones wants a long rest, first or after a quiet one little: the search must see that.
TEST_F(Plan, FindsTheSongToMove) {
  use_warm_igbts("45.0");
  for (unsigned i = 1; i <= 3; ++i) evening_.add_made_up(i, 20, 3, 0);
  for (unsigned i = 4; i <= 8; ++i) evening_.add_made_up(i, 20, 1, 0);
  const Planned all = planned(25);
  ASSERT_TRUE(all.plan.reordered);
  EXPECT_LT(all.plan.reordered->pauses_s, 0.95 * all.plan.as_ordered.pauses_s);
  expect_tight(all, *all.plan.reordered);
  std::vector<int> songs = all.plan.reordered->order;
  std::sort(songs.begin(), songs.end());
  EXPECT_EQ(songs, (std::vector<int>{1, 2, 3, 4, 5, 6, 7, 8}));
  // Told one after the other, the moves lead from the one order to the other.
  std::vector<int> order = all.plan.as_ordered.order;
  for (const SongMove& move : all.plan.moves) {
    order.erase(std::find(order.begin(), order.end(), move.song));
    order.insert(order.begin() + move.to_place - 1, move.song);
  }
  EXPECT_EQ(order, all.plan.reordered->order);
}

TEST_F(Plan, WhereHeatDoesNotBindItWantsNoPauses) {
  use_coil("bench-36v");
  for (unsigned i = 1; i <= 3; ++i) evening_.add_made_up(i, 4, 1, 30);
  const SetPlan plan = *build({.plan = true}).set.plan;
  EXPECT_EQ(plan.as_ordered.pauses_s, 0);
  EXPECT_TRUE(plan.moves.empty());
  EXPECT_FALSE(plan.reordered);
}

// Songs that meet in a long duty window want a pause for that.
TEST_F(Plan, PausesKeepWindowsAcrossSeams) {
  use_coil("bench-36v", {{"window_ms = 1000.0, percent = 7.0", "window_ms = 4000.0, percent = 1.5"}});
  evening_.add_made_up(1, 3, 3, 0);
  evening_.add_made_up(2, 3, 3, 0);
  const Planned all = planned(25);
  const OrderPlan& plan = all.plan.as_ordered;
  EXPECT_GT(plan.pauses_s, 0.2);
  EXPECT_LE(plan.pauses_s, 4.1);
  EXPECT_EQ(all.judged(plan, 1).verdict, Verdict::within_limits);
  OrderPlan shorter = plan;
  shorter.pause_after_s[0] -= 0.2;
  EXPECT_EQ(all.judged(shorter, 1).verdict, Verdict::outside_limits);
}

// Two of them fit into the window, three do not.
TEST_F(Plan, PausesKeepWindowsOverSeveralSongs) {
  use_coil("bench-36v", {{"window_ms = 1000.0, percent = 7.0", "window_ms = 16000.0, percent = 0.8"}});
  for (unsigned i = 1; i <= 5; ++i) evening_.add_made_up(i, 3, 3, 0);
  const Planned all = planned(25);
  const OrderPlan& plan = all.plan.as_ordered;
  EXPECT_EQ(plan.pause_after_s[0], 0);
  EXPECT_GT(plan.pauses_s, 1);
  EXPECT_EQ(all.judged(plan, 1).verdict, Verdict::within_limits);
}

TEST_F(Plan, AStartTooHotForTheFirstSongIsTold) {
  use_warm_mosfets("45.0");
  evening_.add_made_up(1, 20, 3, 0);
  evening_.start_c = 44;
  const SetPlan plan = *build({.plan = true}).set.plan;
  ASSERT_EQ(plan.as_ordered.impossible.size(), 1U);
  EXPECT_NE(plan.as_ordered.impossible[0].find("44 °C"), std::string::npos) << plan.as_ordered.impossible[0];
}

TEST_F(Plan, IsTheSameForAnyNumberOfWorkers) {
  use_warm_mosfets("36.0");
  for (unsigned i = 1; i <= 5; ++i) evening_.add_made_up(i, 8, 1 + static_cast<int>(i % 3), 1);
  const std::string one = to_set_json(build({.jobs = 1, .plan = true}).set);
  EXPECT_EQ(to_set_json(build({.jobs = 2, .plan = true}).set), one);
  EXPECT_EQ(to_set_json(build({.jobs = 3, .plan = true}).set), one);
}

}  // namespace
}  // namespace burstloom::testing
