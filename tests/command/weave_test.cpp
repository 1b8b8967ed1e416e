// `burstloom weave`, `song` and `coil` as their users meet them.
#include <cmath>
#include <sstream>

#include "burstloom/common/files.hpp"
#include "burstloom/score/write_midi.hpp"
#include "support.hpp"
#include "support/sixteen_channels.hpp"

namespace burstloom::testing {
namespace {

// The keys of design.md section 8.
void expect_verdict_keys(const nlohmann::json& json) {
  for (const char* key : {"verdict", "not_judged", "stream", "limits", "violations"})
    EXPECT_TRUE(json.contains(key)) << key;
  for (const char* key : {"bursts", "tick_hz", "length_s"})
    EXPECT_TRUE(json["stream"][key].is_number()) << key;
  ASSERT_FALSE(json["limits"].empty());
  for (const auto& limit : json["limits"])
    for (const char* key : {"limit", "worst", "allowed", "unit", "at_s", "held"})
      EXPECT_TRUE(limit.contains(key)) << key;
}

TEST_F(Command, WeaveTellsItAllInJson) {
  const std::string out = folder_ / "s.burst", ledger_file = folder_ / "l.csv";
  const auto json = this->json({"weave", kSong, "--coil", kCoil, "--out", out, "--ledger", ledger_file});
  expect_verdict_keys(json);
  EXPECT_EQ(json["verdict"], "within limits");
  const auto& ledger = json["ledger"];
  EXPECT_EQ(ledger["wanted"].get<int>(), ledger["kept"].get<int>() + ledger["lengthened"].get<int>() +
                                             ledger["shortened"].get<int>() + ledger["shifted"].get<int>() +
                                             ledger["dropped"].get<int>());
  EXPECT_EQ(json["stream"]["bursts"].get<int>(), ledger["wanted"].get<int>() - ledger["dropped"].get<int>());
  for (const char* key : {"read", "played", "skipped", "folded", "stolen"})
    EXPECT_TRUE(json["notes"][key].is_number()) << key;
  // A line of the ledger's file for each burst that is not as it was wanted, and its heading.
  const std::string lines = content_of(ledger_file);
  EXPECT_EQ(std::count(lines.begin(), lines.end(), '\n'),
            1 + ledger["wanted"].get<int>() - ledger["kept"].get<int>());
  EXPECT_TRUE(
      lines.starts_with("wanted,note,voice,wanted_start_us,wanted_on_us,start_us,on_us,fate,limits\n"));
}

std::int64_t sum_of(const nlohmann::json& losses) {
  std::int64_t sum = 0;
  for (const auto& loss : losses) sum += loss["notes"].get<std::int64_t>();
  return sum;
}

// Of a song whose voices and limits take some, and of recordings, whose notes were heard or are stretches of
// sound.
TEST_F(Command, WeaveCountsNotesSoThatItAddsUp) {
  const std::vector<std::vector<std::string>> ways = {{kSong, "--voices", "1"},
                                                      {kSound, "--how", "notes"},
                                                      {kSound, "--how", "follow"},
                                                      {kSound, "--how", "edges"}};
  for (const auto& way : ways) {
    std::vector<std::string> words = {"weave"};
    words.insert(words.end(), way.begin(), way.end());
    words.insert(words.end(), {"--coil", kCoil, "--out", folder_ / "s.burst"});
    const auto notes = json(words)["notes"];
    EXPECT_GT(notes["read"], 0) << way.back();
    EXPECT_EQ(notes["read"].get<int>(),
              notes["whole"].get<int>() + notes["cut_short"].get<int>() + notes["not_played"].get<int>())
        << notes;
    EXPECT_EQ(sum_of(notes["cut_short_by"]), notes["cut_short"]) << notes;
    EXPECT_EQ(sum_of(notes["not_played_by"]), notes["not_played"]) << notes;
  }
  const auto crowded =
      json({"weave", kSong, "--voices", "1", "--coil", kCoil, "--out", folder_ / "s.burst"})["notes"];
  EXPECT_GT(crowded["not_played"], 0);
  EXPECT_EQ(crowded["not_played_by"][0]["reason"], "no voice left");
}

TEST_F(Command, CheckSaysOfTheFileWhatWeaveSaid) {
  const std::string out = folder_ / "s.burst";
  const auto woven = json({"weave", kSong, "--coil", kCoil, "--out", out});
  const auto checked = json({"check", out});
  expect_verdict_keys(checked);
  for (const char* key : {"verdict", "stream", "limits", "violations", "not_judged"})
    EXPECT_EQ(woven[key], checked[key]) << key;
}

TEST_F(Command, TheSameInputGivesTheSameBytes) {
  for (const std::string& song : {kSong, kSound}) {
    const std::string first = content_of(woven(song));
    EXPECT_FALSE(first.empty());
    EXPECT_EQ(content_of(woven(song)), first);
  }
}

// 440 Hz for 60 s (A = 440 Hz: ISO 16), from MIDI bytes to the stream.
TEST_F(Command, AHeldA4Gives26400Bursts) {
  const std::string midi("MThd\0\0\0\6\0\0\0\1\0\x60MTrk\0\0\0\x0D\0\x90\x45\x7F\xDA\0\x80\x45\0\0\xFF\x2F\0",
                         35);
  const auto json =
      this->json({"weave", folder_.write("a4.mid", midi), "--coil", kCoil, "--out", folder_ / "a4.burst"});
  EXPECT_NEAR(json["stream"]["length_s"].get<double>(), 60, 1e-9);
  EXPECT_NEAR(json["stream"]["bursts"].get<double>(), 26'400, 1);
}

TEST_F(Command, EveryWayOfListeningWeaves) {
  for (const char* how : {"follow", "edges"}) {
    const auto json =
        this->json({"weave", kSound, "--coil", kCoil, "--how", how, "--out", folder_ / "s.burst"});
    EXPECT_EQ(json["verdict"], "within limits") << how;
    EXPECT_GT(json["stream"]["bursts"].get<int>(), 1000) << how;
  }
  expect_refusal({"weave", kSound, "--coil", kCoil, "--how", "ear", "--out", folder_ / "x.burst"}, 2,
                 {"ear", "follow, edges"});
}

TEST_F(Command, FewerVoicesGiveFewerBursts) {
  const auto bursts = [&](const char* voices) {
    return json({"weave", kSong, "--coil", kCoil, "--voices", voices, "--out",
                 folder_ / "s.burst"})["ledger"]["wanted"]
        .get<int>();
  };
  EXPECT_LT(bursts("1"), bursts("3"));
}

TEST_F(Command, VerboseSaysTheTimesOnStandardError) {
  const Ran ran = run({"weave", kSong, "--coil", kCoil, "--verbose", "--out", folder_ / "s.burst"});
  EXPECT_NE(ran.err.find(" ms; in all "), std::string::npos) << ran.err;
  EXPECT_EQ(ran.out.find(" ms; in all "), std::string::npos);
}

TEST_F(Command, WeaveRefusesWhatItCannotRead) {
  const std::string out = folder_ / "x.burst";
  const std::string text = folder_.write("notes.txt", "C D E F G");
  const std::string cut = folder_.write("cut.mid", content_of(kSong).substr(0, 1000));
  const std::string coil = folder_.write("coil.toml",
                                         "name = \"x\"\n[limits]\non_time_us = { min = 4, max = 2 }\ngap_us "
                                         "= 9\nduty = [ { window_ms = 9, percent = 9 } ]\n");
  const std::string empty = folder_.write("empty.mid", "");
  expect_refusal({"weave", folder_ / "none.mid", "--coil", kCoil, "--out", out}, 3, {"none.mid"});
  expect_refusal({"weave", text, "--coil", kCoil, "--out", out}, 3, {"notes.txt", "MIDI"});
  expect_refusal({"weave", empty, "--coil", kCoil, "--out", out}, 3, {"empty.mid"});
  expect_refusal({"weave", cut, "--coil", kCoil, "--out", out}, 3, {"cut.mid, byte 1000", "--salvage"});
  expect_refusal({"weave", kSong, "--coil", folder_ / "none.toml", "--out", out}, 3, {"none.toml"});
  expect_refusal({"weave", kSong, "--coil", coil, "--out", out}, 3, {"coil.toml", "line 3"});
  expect_refusal({"weave", folder_.path(), "--coil", kCoil, "--out", out}, 3, {folder_.path()});
}

TEST_F(Command, SalvagePlaysWhatStandsBeforeTheDamage) {
  const std::string cut = folder_.write("cut.mid", content_of(kSong).substr(0, 1000));
  const auto json = this->json({"weave", cut, "--salvage", "--coil", kCoil, "--out", folder_ / "s.burst"});
  EXPECT_GT(json["stream"]["bursts"].get<int>(), 100);
  EXPECT_NE(json["song"]["remarks"].dump().find("salvaged"), std::string::npos);
}

TEST_F(Command, WrongUsageIsCode2) {
  const std::string out = folder_ / "x.burst";
  expect_refusal({}, 2, {"no command is given", "weave"});
  expect_refusal({"weave"}, 2, {"weave needs INPUT", "--coil"});
  expect_refusal({"weave", kSong, "--coil", kCoil}, 2, {"--out"});
  expect_refusal({"weave", kSong, "--coil", kCoil, "--out", out, "--loud"}, 2, {"--loud"});
  expect_refusal({"dance"}, 2, {"dance"});
  for (const char* voices : {"0", "17", "-1", "many", "99999999999999999999"})
    expect_refusal({"weave", kSong, "--coil", kCoil, "--out", out, "--voices", voices}, 2, {});
  for (const char* cap : {"-0.1", "0.6", "nan", "inf"})
    expect_refusal({"weave", kSong, "--coil", kCoil, "--out", out, "--cap", cap}, 2, {});
  for (const char* tick_hz : {"0", "-5", "999", "1e9", "100000001"})
    expect_refusal({"weave", kSong, "--coil", kCoil, "--out", out, "--tick-hz", tick_hz}, 2, {});
}

TEST_F(Command, WhatCannotBeWrittenIsCode4AndLosesNothing) {
  expect_refusal({"weave", kSong, "--coil", kCoil, "--out", folder_ / "no/such/s.burst"}, 4, {"no/such"});
  expect_refusal({"weave", kSong, "--coil", kCoil, "--out", "/dev/full"}, 4, {"/dev/full"});
  // A failed weave leaves the stream of before as it was.
  const std::string out = woven(), before = content_of(out);
  const std::string cut = folder_.write("cut.mid", content_of(kSong).substr(0, 1000));
  expect_refusal({"weave", cut, "--coil", kCoil, "--out", out}, 3, {});
  EXPECT_EQ(content_of(out), before);
}

TEST_F(Command, EveryHelpHasAnExample) {
  for (const auto& words : std::vector<std::vector<std::string>>{{"coil"},
                                                                 {"coil", "show"},
                                                                 {"coil", "new"},
                                                                 {"coil", "steps"},
                                                                 {"coil", "fit"},
                                                                 {"coil", "parts"},
                                                                 {"song"},
                                                                 {"weave"},
                                                                 {"check"},
                                                                 {"export"}}) {
    auto with_help = words;
    with_help.emplace_back("--help");
    const Ran ran = run(with_help);
    EXPECT_EQ(ran.code, 0);
    EXPECT_NE(ran.out.find("Example:\n  burstloom " + words[0]), std::string::npos) << words.back();
  }
  EXPECT_EQ(run({"--help"}).code, 0);
  EXPECT_TRUE(run({"--version"}).out.starts_with("burstloom "));
}

TEST_F(Command, SongTellsWhatIsInIt) {
  const auto midi = json({"song", kSong});
  EXPECT_EQ(midi["kind"], "midi");
  EXPECT_EQ(midi["notes"], 314);
  EXPECT_EQ(midi["channels"].size(), 5u);
  EXPECT_EQ(midi["channels"][0]["name"], "Melody");
  EXPECT_EQ(midi["channels"][0]["role"], "lead");
  EXPECT_EQ(midi["channels"][3]["role"], "bass");
  EXPECT_EQ(midi["drums"][0]["hits"], 8);
  double seconds = 0;
  for (const auto& it : midi["polyphony_s"]) seconds += it.get<double>();
  EXPECT_NEAR(seconds, midi["length_s"].get<double>(), 3);
  EXPECT_EQ(json({"song", kSound})["kind"], "sound");
  EXPECT_NE(run({"song", kSong, "--all"}).out.find("Hi Wood Block"), std::string::npos);
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

// A terminal as they come: 80 columns, 24 lines. What is left out is there with --all.
TEST_F(Command, SongFitsOneScreen) {
  write_file(folder_ / "a.mid", to_midi(sixteen_channel_score(20, 16)));
  const Ran ran = run({"song", folder_ / "a.mid"});
  const auto lines = lines_of(ran.out);
  EXPECT_LE(lines.size(), 24u) << ran.out;
  EXPECT_GE(lines.size(), 20u) << ran.out;
  for (const std::string& line : lines) EXPECT_LE(line.size(), 80u) << line;
  EXPECT_NE(ran.out.find("  drums: 40 hits, mostly "), std::string::npos) << ran.out;
  EXPECT_GT(lines_of(run({"song", folder_ / "a.mid", "--all"}).out).size(), 24u);
}

TEST_F(Command, SongSaysWhatToDoNext) {
  write_file(folder_ / "it's mine.mid", to_midi(sixteen_channel_score(4, 3)));
  const std::string song = folder_ / "it's mine.mid", arrangement = folder_ / "b.toml";
  std::string quoted = song;
  quoted.replace(quoted.find('\''), 1, "'\\''");
  const Ran first = run({"song", song});
  EXPECT_NE(
      first.out.find("next:\n  burstloom song '" + quoted + "' --suggest 'it'\\''s mine-arrangement.toml'\n"),
      std::string::npos)
      << first.out;
  const Ran second = run({"song", song, "--suggest", arrangement});
  EXPECT_NE(
      second.out.find("next:\n  burstloom weave '" + quoted + "' --coil coil.toml \\\n    --arrangement " +
                      arrangement + " --out 'it'\\''s mine.burst'\n"),
      std::string::npos)
      << second.out;
  EXPECT_EQ(second.out.find("--suggest"), std::string::npos);
  EXPECT_NE(
      run({"song", kSound})
          .out.find("next:\n  burstloom weave " + kSound + " --coil coil.toml --out ferry-call.burst\n"),
      std::string::npos);
}

TEST_F(Command, ASuggestedArrangementIsWoven) {
  const std::string arrangement = folder_ / "a.toml", stream = folder_ / "s.burst";
  EXPECT_EQ(run({"song", kSong, "--suggest", arrangement}).code, 0);
  const auto whole = json({"weave", kSong, "--coil", kCoil, "--arrangement", arrangement, "--out", stream});
  EXPECT_EQ(whole["verdict"], "within limits");
  folder_.write("a.toml", "[song]\nend_s = 10\n[[channel]]\nchannel = 1\non = false\n");
  const auto part = json({"weave", kSong, "--coil", kCoil, "--arrangement", arrangement, "--out", stream});
  EXPECT_EQ(part["stream"]["length_s"], 10.0);
  EXPECT_LT(part["notes"]["read"], whole["notes"]["read"].get<int>() / 4);
  folder_.write("a.toml", "[song]\nspeed = 2\n");
  const Ran refused =
      run({"weave", kSong, "--coil", kCoil, "--arrangement", arrangement, "--out", folder_ / "n.burst"});
  EXPECT_EQ(refused.code, 3);
  EXPECT_NE(refused.err.find("a.toml, line 2: there is no key \"speed\""), std::string::npos) << refused.err;
  EXPECT_FALSE(std::filesystem::exists(folder_ / "n.burst"));
  EXPECT_EQ(run({"song", kSound, "--suggest", arrangement}).code, 2);
}

TEST_F(Command, NotesHeardCanBeWrittenAsMidiAndWoven) {
  const std::string heard = folder_ / "heard.mid";
  const auto song = json({"song", kSound, "--score", heard});
  EXPECT_GT(song["notes_heard"], 10);
  EXPECT_EQ(json({"song", heard})["notes"], song["notes_heard"]);
  EXPECT_EQ(json({"weave", heard, "--coil", kCoil, "--out", folder_ / "s.burst"})["verdict"],
            "within limits");
  EXPECT_EQ(run({"song", kSong, "--score", heard}).code, 2);
}

TEST_F(Command, AnAuditionTriesAllWaysAndPicksOne) {
  const auto tried = json({"weave", kSound, "--coil", kCoil, "--audition"});
  ASSERT_EQ(tried["ways"].size(), 5u);
  double best = 0;
  for (const auto& way : tried["ways"]) {
    EXPECT_TRUE(way["bursts"].get<std::int64_t>() > 0 || way["refused"] != "") << way;
    best = std::max(best, way["likeness"].get<double>());
    // The notes' own way keeps most of them; no way has better than all.
    for (const char* score : {"onset_f", "frame_f"}) {
      EXPECT_LE(way[score].get<double>(), 1);
      EXPECT_GE(way[score].get<double>(), way["how"] == "notes" ? 0.5 : 0);
    }
  }
  for (const auto& way : tried["ways"])
    EXPECT_TRUE(way["how"] != tried["picked"] || way["likeness"].get<double>() >= best - 0.0201);
  EXPECT_GT(best, 0.7);
  const Ran woven = run({"weave", kSound, "--coil", kCoil, "--audition", "--out", folder_ / "s.burst"});
  EXPECT_EQ(woven.code, 0);
  EXPECT_EQ(run({"check", folder_ / "s.burst"}).code, 0);
  EXPECT_EQ(run({"weave", kSong, "--coil", kCoil, "--audition"}).code, 2);
}

// Two seconds of silence, one of A4, two of silence: 16-bit PCM at 8 kHz.
std::string tone_in_silence() {
  std::string samples;
  for (int n = 0; n < 40'000; ++n) {
    const bool sounds = n >= 16'000 && n < 24'000;
    const auto value =
        static_cast<std::int16_t>(sounds ? 9'000 * std::sin(2 * 3.14159265358979 * 440 * n / 8'000) : 0);
    samples += {static_cast<char>(value & 0xFF), static_cast<char>(value >> 8)};
  }
  const auto number = [](std::uint32_t value) {
    std::string bytes;
    for (int i = 0; i < 4; ++i) bytes += static_cast<char>(value >> (8 * i) & 0xFF);
    return bytes;
  };
  return "RIFF" + number(36 + 80'000) + "WAVEfmt " + number(16) + std::string("\1\0\1\0", 4) + number(8'000) +
         number(16'000) + std::string("\2\0\x10\0", 4) + "data" + number(80'000) + samples;
}

TEST_F(Command, RecordingsAreWovenFromTheirFirstSound) {
  const std::string sound = folder_.write("tone.wav", tone_in_silence()), stream = folder_ / "s.burst";
  for (const char* how : {"notes", "follow", "edges"}) {
    const auto woven = json({"weave", sound, "--coil", kCoil, "--how", how, "--out", stream});
    EXPECT_NEAR(woven["stream"]["length_s"].get<double>(), 1.6, 0.03) << how;
    EXPECT_NE(woven["song"]["remarks"].dump().find("silence left out: 1.9 s"), std::string::npos) << how;
    const auto kept =
        json({"weave", sound, "--coil", kCoil, "--how", how, "--keep-silence", "--out", stream});
    EXPECT_EQ(kept["stream"]["length_s"], 5.0) << how;
    EXPECT_EQ(kept["song"]["remarks"].dump().find("silence"), std::string::npos) << how;
  }
  const auto song = json({"song", sound});
  EXPECT_EQ(song["length_s"], 5.0);
  EXPECT_NEAR(song["silence_before_s"].get<double>(), 1.9, 0.011);
  EXPECT_NEAR(song["silence_after_s"].get<double>(), 1.5, 0.011);
  EXPECT_NEAR(song["lowest_hz"].get<double>(), 440, 5);
}

TEST_F(Command, NotesHeardAreSnappedWhenAsked) {
  const auto woven = json({"weave", kSound, "--coil", kCoil, "--snap", "4", "--out", folder_ / "s.burst"});
  EXPECT_EQ(woven["verdict"], "within limits");
  EXPECT_NE(woven["song"]["remarks"].dump().find("beat"), std::string::npos);
  EXPECT_EQ(run({"weave", kSound, "--coil", kCoil, "--snap", "99", "--out", folder_ / "s.burst"}).code, 2);
}

TEST_F(Command, SeveralCoilsShareASong) {
  const std::string other = BURSTLOOM_SAMPLES "/coils/half-bridge-325v.toml", a = folder_ / "a.burst",
                    b = folder_ / "b.burst";
  const auto both = json({"weave", kSong, "--coil", kCoil, "--plays", "lead,10", "--out", a, "--coil", other,
                          "--plays", "rest", "--out", b});
  ASSERT_EQ(both["coils"].size(), 2u);
  EXPECT_EQ(both["coils"][0]["notes"]["read"], 92 + 8);  // the melody, the knocks
  EXPECT_EQ(both["coils"][1]["notes"]["read"], 314 - 100);
  EXPECT_EQ(both["coils"][0]["stream"]["length_s"], both["coils"][1]["stream"]["length_s"]);
  EXPECT_EQ(run({"check", a, "--coil", kCoil}).code, 0);
  EXPECT_EQ(run({"check", b, "--coil", other}).code, 0);
  EXPECT_EQ(run({"weave", kSong, "--coil", kCoil, "--coil", other, "--out", a}).code, 2);
  EXPECT_EQ(run({"weave", kSong, "--coil", kCoil, "--coil", other, "--out", a, "--out", b}).code, 2);
  EXPECT_EQ(run({"weave", kSong, "--coil", kCoil, "--coil", other, "--out", a, "--out", a, "--plays", "lead",
                 "--plays", "rest"})
                .code,
            2);
  EXPECT_EQ(run({"weave", kSong, "--coil", kCoil, "--coil", other, "--out", a, "--out", b, "--plays", "tune",
                 "--plays", "rest"})
                .code,
            2);
  EXPECT_EQ(run({"weave", kSound, "--how", "follow", "--coil", kCoil, "--coil", other, "--out", a, "--out", b,
                 "--plays", "lead", "--plays", "rest"})
                .code,
            2);
}

TEST_F(Command, NotesThatGaveWayAreExplained) {
  const auto woven = json({"weave", kSong, "--coil", kCoil, "--out", folder_ / "s.burst", "--voices", "1"});
  int stolen = 0;
  for (const auto& it : woven["notes_changed"]) {
    EXPECT_NE(it["why"], "");
    if (it["what"] != "stolen") continue;
    ++stolen;
    EXPECT_TRUE(it["by"].is_number());
  }
  EXPECT_EQ(stolen, woven["notes"]["stolen"]);
  EXPECT_GT(stolen, 100);
  std::int64_t wanted = 0;
  for (const auto& voice : woven["voices"]) wanted += voice["wanted"].get<std::int64_t>();
  EXPECT_EQ(wanted, woven["ledger"]["wanted"]);
}

// A note that ends where it begins sounds with nobody.
TEST_F(Command, SongTakesANoteWithoutLength) {
  const std::string track{"\x00\x90\x3C\x40\x00\x80\x3C\x40\x60\x90\x3E\x40\x60\x80\x3E\x40\x00\xFF\x2F\x00",
                          20};
  const std::string head{"MThd\0\0\0\6\0\0\0\1\0\x60MTrk\0\0\0\x14", 22};
  write_file(folder_ / "short.mid", std::string_view(head + track));
  const auto song = json({"song", folder_ / "short.mid"});
  EXPECT_EQ(song["notes"], 2);
  EXPECT_EQ(song["polyphony_s"].size(), 2u) << "silence, and one note alone";
}

// As it is written it is no coil; with the values that it offers to begin with, it is.
TEST_F(Command, ANewCoilCanBeShownAndWovenForOnceItIsFilledIn) {
  const std::string coil = folder_ / "new.toml";
  EXPECT_EQ(run({"coil", "new", "--out", coil}).code, 0);
  std::string text = run({"coil", "new"}).out;
  EXPECT_EQ(text, content_of(coil));
  EXPECT_EQ(run({"coil", "show", coil}).code, 3);
  for (const char* value : {"\"My coil\"", "2.0", "10.0", "400.0", "2.0", "1.0", "1000.0"})
    text.replace(text.find("= ?") + 2, 1, value);
  write_file(coil, std::string_view(text));
  EXPECT_EQ(run({"coil", "show", coil}).code, 0);
  EXPECT_EQ(json({"weave", kSong, "--coil", coil, "--out", folder_ / "s.burst"})["verdict"], "within limits");
}

TEST_F(Command, CoilShowTellsItAllInJson) {
  const auto json = this->json({"coil", "show", kCoil});
  EXPECT_EQ(json["name"], "Tern, table-top");
  for (const char* key : {"limits", "commanded", "primary_tank", "poles", "ring_down_s", "steady",
                          "sensitivities", "warnings", "not_judged"})
    EXPECT_TRUE(json.contains(key)) << key;
  EXPECT_NEAR(json["measured"].front()["peak_current_a"].get<double>(), 11.64, 0.01);
  EXPECT_TRUE(json["measured"].back()["peak_current_a"].is_null());  // 45 us: past the longest burst
}

TEST_F(Command, PreviewWritesASketchAndAPicture) {
  const std::string stream = woven();
  const auto told = json(
      {"preview", stream, "--sound", folder_ / "s.wav", "--image", folder_ / "p.png", "--loudness", "-30"});
  EXPECT_EQ(told["verdict"], "within limits");
  EXPECT_NEAR(told["sound"]["loudness_lufs"].get<double>(), -30, 0.2);
  EXPECT_TRUE(content_of(folder_ / "s.wav").starts_with("RIFF"));
  EXPECT_TRUE(content_of(folder_ / "p.png").starts_with("\x89PNG"));
  expect_refusal({"preview", stream}, 2, {"--sound"});
  expect_refusal({"preview", stream, "--image", folder_ / "p.gif"}, 2, {".svg"});
  expect_refusal({"preview", stream, "--sound", folder_ / "no/s.wav"}, 4, {"no/s.wav"});
}

TEST_F(Command, CoilStepsMakesBenchStreams) {
  const std::string out = folder_ / "steps.burst";
  const auto steps = json({"coil", "steps", kCoil, "--steps", "8", "--out", out});
  EXPECT_EQ(steps["stream"]["bursts"], 8);
  EXPECT_FALSE(steps["order_of_work"].empty());
  EXPECT_EQ(json({"check", out})["verdict"], "within limits");
  const auto tone =
      json({"coil", "steps", kCoil, "--rate", "100", "--on-time", "10", "--seconds", "3", "--out", out});
  EXPECT_EQ(tone["stream"]["bursts"], 300);
  EXPECT_NE(run({"coil", "steps", kCoil, "--out", out}).out.find("A prediction is no permission"),
            std::string::npos);
  std::filesystem::remove(out);
  expect_refusal({"coil", "steps", kCoil, "--rate", "100", "--on-time", "90", "--out", out}, 2, {"90 µs"});
  // 2 kHz of the longest bursts passes the duty limits.
  expect_refusal({"coil", "steps", kCoil, "--rate", "2000", "--on-time", "39", "--out", out}, 1,
                 {"not written"});
}

TEST_F(Command, CoilFitTellsTheTank) {
  // Points of the bundled coil itself, at its lowest noise: the model's own peaks, rounded.
  const std::string points = folder_.write("bench.csv",
                                           "on_time_us,peak_current_a,loaded\n2,9.55,yes\n4,13,yes\n6,13,"
                                           "yes\n10,20.3,yes\n20,28.2,yes\n30,30,yes\n45,31,yes\n");
  const auto fitted =
      json({"coil", "fit", kCoil, "--points", points, "--fit", "primary.inductance_uh,secondary.coupling"});
  ASSERT_EQ(fitted["values"].size(), 2u);
  EXPECT_NEAR(fitted["values"][0]["value"].get<double>(), 1.8, 0.05);
  EXPECT_LT(fitted["scatter_percent"].get<double>(), 5);
  expect_refusal({"coil", "fit", kCoil, "--points", folder_.write("bad.csv", "a,b\n1,2\n")}, 3,
                 {"bad.csv, line 1"});
}

TEST_F(Command, CoilPartsWorksValuesOut) {
  const auto parts = json(
      {"coil", "parts", "--solenoid", "50.8,50.8,100", "--inductance", "25.33029591", "--wanted-khz", "100"});
  EXPECT_NEAR(parts["solenoid"]["inductance_uh"].get<double>(), 345.159, 1e-3);
  EXPECT_NEAR(parts["tank_nf"].get<double>(), 100, 1e-6);
  EXPECT_NEAR(parts["choices"][0]["total_nf"].get<double>(), 100, 1e-6);
  expect_refusal({"coil", "parts"}, 2, {"--solenoid"});
  expect_refusal({"coil", "parts", "--solenoid", "0,1,1"}, 2, {"above 0"});
}

// One entry loaded, one unloaded for each on-time.
TEST_F(Command, CoilShowTellsOfSingleBursts) {
  const auto bursts = json({"coil", "show", kCoil, "--on-time", "10,20,50"})["bursts"];
  ASSERT_EQ(bursts.size(), 6u);
  for (std::size_t i = 0; i < 6; ++i) {
    EXPECT_EQ(bursts[i]["on_time_us"].get<double>(), std::vector<double>({10, 10, 20, 20, 50, 50})[i]);
    EXPECT_EQ(bursts[i]["loaded"].get<bool>(), i % 2 == 0);
    for (const char* key : {"peak_current_a", "energy_j", "i2t_a2s"})
      EXPECT_GT(bursts[i][key].get<double>(), 0) << key;
  }
  expect_refusal({"coil", "show", kCoil, "--on-time", "10,0"}, 2, {"0 µs"});
  EXPECT_EQ(run({"coil", "show", kCoil, "--plot", folder_ / "c.svg"}).code, 0);
  EXPECT_NE(content_of(folder_ / "c.svg").find("<svg"), std::string::npos);
  expect_refusal({"coil", "show", kCoil, "--plot", folder_ / "c.bmp"}, 2, {".svg"});
}

}  // namespace
}  // namespace burstloom::testing
