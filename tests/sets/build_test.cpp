// Built evenings: whole, the same however they were built, and not built twice.
#include "burstloom/check/judge.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/stream/one_stream.hpp"
#include "evening.hpp"
#include "support.hpp"
#include "workshop.hpp"

namespace burstloom::testing {
namespace {

// The bundled pieces and seventeen that are made up.
void add_twenty_songs(EveningFiles& evening) {
  std::ofstream(evening.folder + "/short.toml") << "[song]\nend_s = 8\n";
  for (const char* song : {"/quayside-lanterns.mid", "/ferry-call.flac", "/harbour-chords.flac"})
    evening.add(BURSTLOOM_SAMPLES + std::string(song), 3, "short.toml");
  for (unsigned i = 1; i <= 17; ++i)
    evening.add_made_up(i, 1 + i % 3, 1 + static_cast<int>(i % 3), 0.5 + i % 2);
}

TEST_F(Sets, TwentySongsAreTheSameBytesWithOneTwoAndThreeWorkers) {
  use_warm_mosfets("31.0");
  add_twenty_songs(evening_);
  std::map<std::string, std::string> first;
  for (const int jobs : {1, 2, 3}) {
    const std::string folder = out() + std::to_string(jobs);
    const SetBuild built = build({.jobs = jobs, .folder = folder});
    EXPECT_EQ(built.set.songs.size(), 20U);
    EXPECT_GE(built.work.woven, 20);
    EXPECT_EQ(built.work.written, 21);
    // The work on a warm evening is more than weaving each song once.
    EXPECT_TRUE(std::any_of(built.set.songs.begin(), built.set.songs.end(),
                            [](const BuiltSong& song) { return song.turned_down; }));
    const auto files = all_files(folder);
    if (jobs == 1)
      first = files;
    else
      EXPECT_TRUE(files == first) << "with " << jobs << " workers";
  }
  EXPECT_EQ(first.count("set.json"), 1U);
  EXPECT_EQ(first.count("songs/20-made-up-17.burst"), 1U);
}

std::string violations_of(const Judgement& judgement) {
  std::string said;
  for (const Violation& it : judgement.violations)
    said += it.limit + " " + std::to_string(it.value) + " of " + std::to_string(it.allowed) + " at " +
            std::to_string(it.at_s) + " s\n";
  return said;
}

// Pairs of the switch that are slower than its case: right after a song no case, however warm, stands for
// them.
TEST_F(Sets, APauseTooShortToTellTheNextSongsStartIsRefused) {
  use_coil("bench-36v", {{"case_heat_capacity_j_per_k = 1.5", "case_heat_capacity_j_per_k = 0.02"},
                         {"r_k_per_w = 0.55, tau_s = 0.012", "r_k_per_w = 5.0, tau_s = 4.0"}});
  evening_.add_made_up(1, 6, 3, 0.1);
  evening_.add_made_up(2, 6, 3, 0.1);
  try {
    (void)build();
    FAIL() << "it was built";
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::outside_limits);
    EXPECT_NE(error.problem().find("song 2 begins so soon after the one before"), std::string::npos)
        << error.what();
    EXPECT_NE(error.what_to_do().find("lengthen the pause"), std::string::npos);
  }
}

TEST_F(Sets, EverySongAndTheEveningAreWithinLimits) {
  use_warm_mosfets("31.0");
  add_twenty_songs(evening_);
  const SetBuild built = build({.jobs = 2, .folder = out()});
  const BuiltSet& set = built.set;
  EXPECT_EQ(set.evening.verdict, Verdict::within_limits) << violations_of(set.evening);
  double now_s = 0;
  for (const BuiltSong& song : set.songs) {
    SCOPED_TRACE(song.stem);
    EXPECT_NEAR(song.start_s, now_s, 1e-5);
    now_s += song.length_s + song.pause_after_s;
    // The file says by itself what the set says of it.
    const std::string text = text_of_file(out() + "/" + song.burst_file);
    const BurstFile file =
        from_burst_file({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()}, song.stem);
    const Profile profile = parse_profile(file.profile, song.stem);
    const Judgement judgement = judge(file.stream, profile, {.seek_rest = false});
    EXPECT_EQ(judgement.verdict, Verdict::within_limits);
    ASSERT_EQ(judgement.limits.size(), song.judgement.limits.size());
    for (std::size_t i = 0; i < judgement.limits.size(); ++i)
      EXPECT_EQ(judgement.limits[i].worst, song.judgement.limits[i].worst) << judgement.limits[i].limit;
    // And what it starts from is no cooler than what the songs before left.
    ASSERT_TRUE(song.judged_from && song.at_start && song.highest);
    EXPECT_GE(song.judged_from->sink_c, song.at_start->sink_c - 0.002);
    EXPECT_GE(song.judged_from->case_c, song.at_start->junction_c - 0.002);
    EXPECT_LE(song.highest->sink_c, 31.0);
    EXPECT_EQ(song.ledger.wanted, song.bursts + song.ledger[Fate::dropped]);
    EXPECT_EQ(song.turned_down, !(song.ledger == song.ledger_from_cold));
  }
  EXPECT_EQ(from_set_json(to_set_json(set), "set.json").songs.size(), set.songs.size());
  EXPECT_EQ(to_set_json(from_set_json(to_set_json(set), "set.json")), to_set_json(set));
  EXPECT_EQ(text_of_file(out() + "/set.json"), to_set_json(set));
}

// The evening's verdict is the judge's on all of it; its heat is carried, and not begun anew with each song.
TEST_F(Sets, HeatIsCarriedFromSongToSong) {
  use_warm_mosfets("65.0");
  for (unsigned i = 1; i <= 3; ++i) evening_.add_made_up(i, 10, 3, 5);
  const BuiltSet set = build().set;
  const auto& songs = set.songs;
  EXPECT_NEAR(songs[0].at_start->sink_c, 25, 1e-9);
  EXPECT_GT(songs[1].at_start->sink_c, 30);
  EXPECT_GT(songs[2].at_start->sink_c, songs[1].at_start->sink_c);
  for (std::size_t i = 1; i < 3; ++i) EXPECT_LT(songs[i].at_start->sink_c, songs[i - 1].at_end->sink_c + 0.5);
  const auto sink = std::find_if(set.evening.limits.begin(), set.evening.limits.end(),
                                 [](const LimitResult& limit) { return limit.limit == "heatsink"; });
  ASSERT_NE(sink, set.evening.limits.end());
  // Judge and model are two programs; the model must not come out cooler.
  EXPECT_LE(sink->worst, songs[2].highest->sink_c + 0.02);
  EXPECT_NEAR(sink->worst, songs[2].highest->sink_c, 0.3);
  EXPECT_TRUE(songs[2].lowest_bus_v && *songs[2].lowest_bus_v < 36);
  EXPECT_FALSE(set.heat.empty());
}

TEST_F(Sets, TheSetMayStartAgainAfterItsRest) {
  use_warm_mosfets("28.0");
  for (unsigned i = 1; i <= 2; ++i) evening_.add_made_up(i, 3, 3, 0);
  const BuiltSet set = build_set(read_set(evening_.set_file()), {.folder = out()}).set;
  ASSERT_TRUE(set.evening.rest_before_repeat_s);
  const double rest_s = *set.evening.rest_before_repeat_s;
  EXPECT_GT(rest_s, 1);
  // The judge on three evenings in a row.
  std::vector<BurstStream> songs;
  for (const BuiltSong& song : set.songs) {
    const std::string text = text_of_file(out() + "/" + song.burst_file);
    songs.push_back(
        from_burst_file({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()}, "").stream);
  }
  const auto thrice = [&](double rest) {
    const Tick seam = ticks_of_pause(0, kDefaultTickHz), between = ticks_of_pause(rest, kDefaultTickHz);
    return judge(one_stream({&songs[0], &songs[1], &songs[0], &songs[1], &songs[0], &songs[1]},
                            {seam, between, seam, between, seam, seam}),
                 parse_profile(set.profile, "coil"), {.seek_rest = false})
        .verdict;
  };
  EXPECT_EQ(thrice(rest_s), Verdict::within_limits);
  EXPECT_EQ(thrice(rest_s * 0.2), Verdict::outside_limits);
}

TEST_F(Sets, ASongThatWouldLeaveItsLimitsIsWovenAnewAndToldOf) {
  use_warm_mosfets("36.0");
  evening_.add_made_up(1, 10, 3, 0);
  evening_.add_made_up(2, 10, 3, 0);
  const BuiltSet set = build().set;
  EXPECT_FALSE(set.songs[0].turned_down);
  ASSERT_TRUE(set.songs[1].turned_down);
  EXPECT_EQ(set.evening.verdict, Verdict::within_limits);
  EXPECT_GT(set.songs[1].ledger[Fate::shortened] + set.songs[1].ledger[Fate::shifted] +
                set.songs[1].ledger[Fate::dropped],
            set.songs[1].ledger_from_cold[Fate::shortened] + set.songs[1].ledger_from_cold[Fate::shifted] +
                set.songs[1].ledger_from_cold[Fate::dropped]);
  // The same song alone is not.
  evening_.songs = {evening_.songs[1]};
  evening_.pauses_s = {0};
  EXPECT_FALSE(build().set.songs[0].turned_down);
}

// Windows cross the seam: two songs that each hold their duty may not hold it together.
TEST_F(Sets, SongsThatMeetAreJudgedTogether) {
  use_coil("bench-36v", {{"window_ms = 1000.0, percent = 7.0", "window_ms = 4000.0, percent = 1.5"}});
  evening_.add_made_up(1, 2, 3, 0);
  evening_.add_made_up(2, 2, 3, 0);
  const BuiltSet set = build().set;
  EXPECT_EQ(set.songs[0].judgement.verdict, Verdict::within_limits);
  EXPECT_EQ(set.songs[1].judgement.verdict, Verdict::within_limits);
  EXPECT_EQ(set.evening.verdict, Verdict::outside_limits);
  ASSERT_FALSE(set.evening.violations.empty());
  EXPECT_EQ(set.evening.violations[0].limit, "duty 4000 ms");
}

TEST_F(Sets, WhatDidNotChangeIsNotMadeAgain) {
  use_coil("bench-36v");
  for (unsigned i = 1; i <= 6; ++i) evening_.add_made_up(i, 4, 2, 3);
  const BuildOptions options{.jobs = 2, .folder = out()};
  const SetBuild first = build(options);
  EXPECT_EQ(first.work.woven, 6);
  const auto before = all_files(out());

  const SetBuild again = build(options);
  EXPECT_EQ(again.work.woven, 0);
  EXPECT_EQ(again.work.judged, 0);
  EXPECT_EQ(again.work.written, 0);
  EXPECT_EQ(to_set_json(again.set), to_set_json(first.set));
  EXPECT_TRUE(all_files(out()) == before);

  // One song: woven again it alone.
  write_bytes(folder_ + "/made-up-3.mid", to_midi(made_up_song(30, 5, 2)));
  EXPECT_EQ(build(options).work.woven, 1);
  // Another order: nothing is.
  std::swap(evening_.songs[0], evening_.songs[5]);
  EXPECT_EQ(build(options).work.woven, 0);
  // Another pause: nothing is.
  evening_.pauses_s[2] = 4;
  EXPECT_EQ(build(options).work.woven, 0);
  // Another program, another coil: all.
  EXPECT_EQ(build({.jobs = 2, .folder = out(), .made_by = "another"}).work.woven, 6);
  use_coil("bench-36v", {{"gap_us = 120.0", "gap_us = 130.0"}});
  EXPECT_EQ(build(options).work.woven, 6);
}

TEST_F(Sets, ABuiltFolderIsTheSameHoweverItCameAbout) {
  use_coil("bench-36v");
  for (unsigned i = 1; i <= 4; ++i) evening_.add_made_up(i, 4, 2, 3);
  (void)build({.folder = out()});
  std::swap(evening_.songs[0], evening_.songs[2]);
  evening_.pauses_s[1] = 1;
  (void)build({.folder = out()});
  (void)build({.folder = out() + "-anew"});
  auto grown = all_files(out()), anew = all_files(out() + "-anew");
  for (const char* gone : {"songs/01-made-up-1.burst", "songs/03-made-up-3.burst"}) {
    EXPECT_EQ(grown.count(gone), 1U) << "removed without being asked: " << gone;
    grown.erase(gone);
  }
  for (auto* files : {&grown, &anew}) files->erase(".burstloom/made.json");  // knows what was left, too
  EXPECT_TRUE(grown == anew);
}

TEST_F(Sets, FilesThatNoSongMakesAnyMoreAreNamedAndLeft) {
  use_coil("bench-36v");
  for (unsigned i = 1; i <= 3; ++i) evening_.add_made_up(i, 2, 1, 3);
  EXPECT_TRUE(build({.folder = out()}).strays.empty());
  evening_.songs.pop_back();
  evening_.pauses_s.pop_back();
  const std::vector<std::string> stray = {"songs/03-made-up-3.burst"};
  EXPECT_EQ(build({.folder = out()}).strays, stray);
  EXPECT_EQ(build({.folder = out()}).strays, stray);  // also when there is nothing to do
  EXPECT_TRUE(fs::exists(out() + "/songs/03-made-up-3.burst"));
}

// It may be a file of the user's: nothing in it tells. What is empty is nobody's, and the list says what it
// can.
TEST_F(Sets, WhatIsDamagedIsMadeAgainWhenAsked) {
  use_coil("bench-36v");
  for (unsigned i = 1; i <= 3; ++i) evening_.add_made_up(i, 2, 1, 3);
  (void)build({.folder = out()});
  const auto whole = all_files(out());
  for (const auto& [path, content] : whole) {
    if (path.ends_with("lock")) continue;
    SCOPED_TRACE(path);
    for (const std::string& damaged : {content.substr(0, content.size() / 2), std::string(), "x" + content}) {
      std::ofstream(out() + "/" + path, std::ios::binary) << damaged;
      fs::remove(out() + "/songs/02-made-up-2.burst");  // so that there is something to do
      const bool is_there =
          fs::exists(out() + "/" + path) && !damaged.empty() && !path.ends_with("made.json");
      if (is_there) {
        EXPECT_THROW((void)build({.folder = out()}), Error);
        EXPECT_EQ(text_of_file(out() + "/" + path), damaged);
        fs::remove(out() + "/songs/02-made-up-2.burst");  // which that run may have made
      }
      (void)build({.folder = out(), .force = is_there});
      EXPECT_TRUE(all_files(out()) == whole);
    }
  }
}

TEST_F(Sets, TwoRunsDoNotMix) {
  use_coil("bench-36v");
  evening_.add_made_up(1, 2, 1, 3);
  const Workshop other(out());
  try {
    (void)build({.folder = out()});
    ADD_FAILURE() << "built beside another run";
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::usage);
    EXPECT_NE(std::string(error.what()).find("another run"), std::string::npos);
  }
}

TEST_F(Sets, ASongThatCannotBeReadStopsTheBuildAndIsNamed) {
  use_coil("bench-36v");
  evening_.add_made_up(1, 2, 1, 3);
  std::ofstream(folder_ + "/broken.mid") << "no music";
  evening_.add("broken.mid", 3);
  evening_.add("missing.mid", 3);
  for (const char* name : {"missing.mid", "broken.mid"}) {
    try {
      (void)build({.jobs = 2, .folder = out()});
      ADD_FAILURE() << "built from " << name;
    } catch (const Error& error) {
      EXPECT_EQ(error.fault(), Fault::bad_input);
      EXPECT_NE(std::string(error.what()).find(name), std::string::npos) << error.what();
    }
    EXPECT_FALSE(fs::exists(out() + "/set.json"));
    evening_.songs.pop_back();
    evening_.pauses_s.pop_back();
  }
}

// Whatever a song is made from: its music, its arrangement, the coil.
TEST_F(Sets, AnArrangementThatChangesMakesItsSongAnew) {
  use_coil("bench-36v");
  std::ofstream(folder_ + "/first.toml") << "[song]\ngain_db = -3\n";
  evening_.add_made_up(1, 2, 1, 3);
  evening_.arrangement_of[evening_.songs[0]] = "first.toml";
  evening_.add_made_up(2, 2, 1, 3);
  const BuildOptions options{.folder = out()};
  EXPECT_EQ(build(options).work.woven, 2);
  EXPECT_EQ(build(options).work.woven, 0);
  const std::string before = text_of_file(out() + "/songs/01-made-up-1.burst");
  std::ofstream(folder_ + "/first.toml") << "[song]\ngain_db = -9\n";
  EXPECT_EQ(build(options).work.woven, 1);
  EXPECT_NE(text_of_file(out() + "/songs/01-made-up-1.burst"), before);
}

TEST_F(Sets, GainAndTranspositionAreTheSongs) {
  use_coil("bench-36v");
  evening_.add_made_up(1, 4, 1, 3);
  const auto bursts_with = [&](const std::string& more) {
    const std::string path = evening_.set_file();
    std::ofstream(path, std::ios::app) << more;
    return build_set(read_set(path), {}).set.songs[0].bursts;
  };
  const auto plain = static_cast<double>(bursts_with(""));
  EXPECT_NEAR(static_cast<double>(bursts_with("transpose = 12\n")) / plain, 2, 0.05);
  EXPECT_EQ(static_cast<double>(bursts_with("gain_db = -6\n")), plain);
}

TEST_F(Sets, PagesAreWrittenWithTheSet) {
  use_coil("bench-36v");
  evening_.add_made_up(1, 2, 1, 3);
  BuildOptions options{.folder = out()};
  options.preview = [](const BurstFile& song, const Profile& coil) {
    return song.title + " for " + coil.name;
  };
  options.pages = {
      {"evening.html", "", [](const BuiltSet& set) { return set.name + " " + set.songs[0].preview_file; }}};
  EXPECT_EQ(build(options).work.written, 4);
  EXPECT_EQ(text_of_file(out() + "/songs/01-made-up-1.html"), "Made up 1 for Tern, table-top");
  EXPECT_EQ(text_of_file(out() + "/evening.html"), "Lantern night songs/01-made-up-1.html");
  EXPECT_EQ(build(options).work.written, 0);
  fs::remove(out() + "/evening.html");
  EXPECT_EQ(build(options).work.written, 1);
}

}  // namespace
}  // namespace burstloom::testing
