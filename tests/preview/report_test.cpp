// What the report's page carries. How it behaves is tested in a browser: tests/outside/report.
#include "burstloom/preview/report.hpp"
#include "burstloom/preview/sentence.hpp"

#include <gtest/gtest.h>
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <nlohmann/json.hpp>
#include <numbers>

#include "../coil/sample.hpp"
#include "burstloom/coil/current_table.hpp"
#include "trains.hpp"

namespace burstloom {
namespace {

using Json = nlohmann::json;

struct Case {
  BurstStream stream = test::train(2'000'000, 4'000, 40, 1'000);
  Account account;
  Profile profile = parse_profile(kSample, "sample");
  Judgement judgement = judge(stream, profile);

  [[nodiscard]] ReportContent content() const {
    return {.title = "A song",
            .limits = profile.name,
            .source = "song.burst",
            .stream = stream,
            .account = account,
            .profile = profile,
            .judgement = judgement,
            .check_json = R"({"verdict": "within limits"})",
            .effects = burst_effects(stream, profile, false),
            .curves = energy_curves(stream, profile, 10),
            .gate = {},
            .spectrograms = {},
            .sounds = {},
            .tables = {}};
  }
};

std::string element(const std::string& html, const std::string& id) {
  const std::string opening = "id=\"" + id + "\">";
  const std::size_t at = html.find(opening);
  EXPECT_NE(at, std::string::npos) << id;
  const std::size_t from = at + opening.size();
  return html.substr(from, html.find("</script>", from) - from);
}

std::size_t count_of(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
  return count;
}

TEST(Report, CarriesTheJudgementAsCheckPrintsIt) {
  const Case one;
  const Json data = Json::parse(element(report(one.content()), "data"));
  EXPECT_EQ(data["check"]["verdict"], "within limits");
  EXPECT_EQ(data["sentence"], sentence_of(one.judgement));
  EXPECT_EQ(data["count"], 1000);
  EXPECT_EQ(data["length"], one.stream.length);
  EXPECT_EQ(data["cautions"].size(), 2u);
}

// RFC 4648, section 10: "foobar" is Zm9vYmFy. Bursts of gaps f o b and on-times o b a r cannot be had; a
// sound can.
TEST(Report, CarriesSoundsAsBase64) {
  const Case one;
  ReportContent content = one.content();
  for (const std::string text : {"foobar", "fooba", "foob", ""})
    content.sounds.push_back({"sound", "audio/mpeg", Bytes(text.begin(), text.end())});
  const std::string html = report(content);
  EXPECT_EQ(element(html, "sound-0"), "Zm9vYmFy");
  EXPECT_EQ(element(html, "sound-1"), "Zm9vYmE=");
  EXPECT_EQ(element(html, "sound-2"), "Zm9vYg==");
  EXPECT_EQ(element(html, "sound-3"), "");
}

TEST(Report, HostileTextEndsNoElement) {
  const Case one;
  const std::string plain = report(one.content());
  ReportContent content = one.content();
  content.title = "</title></script><script>x()</script><!-- \" ' & \xFF";
  content.limits = content.source = content.title;
  content.tables.push_back({.target = content.title, .chip = content.title, .refused = content.title});
  content.spectrograms.push_back({content.title, {}});
  const std::string html = report(content);
  for (const char* part : {"<script", "</script", "<!--", "</title"})
    EXPECT_EQ(count_of(html, part), count_of(plain, part)) << part;
  const Json data = Json::parse(element(html, "data"));
  EXPECT_EQ(data["limits"], "</title></script><script>x()</script><!-- \" ' & \xEF\xBF\xBD");
}

TEST(Report, RefusesAnyRequestToANetwork) {
  const std::string html = report(Case().content());
  EXPECT_NE(html.find("default-src 'none'"), std::string::npos);
  for (const char* part : {" src=\"http", " href=\"http", "@import", "fetch(", "XMLHttpRequest", "WebSocket"})
    EXPECT_EQ(html.find(part), std::string::npos) << part;
}

TEST(Report, TheSameInputGivesTheSameBytes) {
  EXPECT_EQ(report(Case().content()), report(Case().content()));
}

TEST(EnergyCurves, ReachWhatTheJudgeFinds) {
  Case one;
  one.stream = test::train(2'000'000, 4'000, 40, 60'000);  // two minutes
  one.judgement = judge(one.stream, one.profile);
  const EnergyCurves curves = energy_curves(one.stream, one.profile, 50);
  ASSERT_EQ(curves.junction_c.size(), 50u);
  ASSERT_EQ(curves.bus_v.size(), 50u);
  for (const LimitResult& limit : one.judgement.limits) {
    const auto highest = [](const std::vector<double>& values) {
      return *std::max_element(values.begin(), values.end());
    };
    const double rise = limit.worst - one.profile.heatsink.ambient_c;
    // Two programs' sums, and a clock tolerance counted in different places: 5 % of the rise, as
    // docs/reference/coil-model.md has it.
    if (limit.limit == "junction") {
      EXPECT_NEAR(highest(curves.junction_c) - one.profile.heatsink.ambient_c, rise, 0.05 * rise);
    }
    if (limit.limit == "heatsink") {
      EXPECT_NEAR(highest(curves.heatsink_c) - one.profile.heatsink.ambient_c, rise, 0.05 * rise);
    }
  }
  EXPECT_LT(*std::min_element(curves.bus_v.begin(), curves.bus_v.end()), *one.profile.drive.bus_v);
}

TEST(EnergyCurves, AreEmptyWhereTheProfileSaysTooLittle) {
  Case one;
  one.profile = parse_profile(
      "name = \"bare\"\n[limits]\non_time_us = { min = 1, max = 50 }\ngap_us = 100\n"
      "duty = [ { window_ms = 10, percent = 20 } ]\n",
      "bare");
  const EnergyCurves curves = energy_curves(one.stream, one.profile, 50);
  EXPECT_TRUE(curves.junction_c.empty() && curves.heatsink_c.empty() && curves.bus_v.empty());
  const auto effects = burst_effects(one.stream, one.profile, false);
  ASSERT_EQ(effects.size(), 1u);
  EXPECT_LT(effects[0].peak_a, 0);
}

TEST(BurstEffects, AreThoseOfTheCurrentTableAtTheGatesWorst) {
  Case one;
  one.stream = test::scattered(50);
  one.profile.drive.pulse_stretch_ns = 300;
  const auto effects = burst_effects(one.stream, one.profile, false);
  const auto table = current_table(one.profile);
  ASSERT_GT(effects.size(), 10u);
  for (std::size_t i = 0; i < effects.size(); ++i) {
    const double on_us =
        one.stream.microseconds(effects[i].on) * (1 + one.profile.drive.clock_tolerance_percent / 100) + 0.3;
    EXPECT_EQ(effects[i].peak_a, table->peak_current_a(on_us).value_or(-1));
    EXPECT_TRUE(i == 0 || effects[i - 1].on < effects[i].on);
  }
  EXPECT_EQ(burst_effects(one.stream, one.profile, true)[0].peak_a,
            table->peak_current_a(one.stream.microseconds(effects[0].on)).value_or(-1));
}

// Decoded by libsndfile again: as long, as loud, and where it was.
TEST(ReportSound, IsTheSound) {
  for (const int rate : {8000, 44100, 48000, 96000}) {
    std::vector<float> samples(static_cast<std::size_t>(rate));
    for (std::size_t i = samples.size() / 4; i < samples.size(); ++i)
      samples[i] =
          0.25f * static_cast<float>(std::sin(2 * std::numbers::pi * 440 * static_cast<double>(i) / rate));
    const ReportSound sound = report_sound("sketch", samples, rate, 2.0);
    EXPECT_EQ(sound.type, rate == 96000 ? "audio/flac" : "audio/mpeg");
    EXPECT_LT(sound.file.size(), samples.size() * 2);
    const std::string path = ::testing::TempDir() + "report-sound";
    write_file(path, std::span<const std::uint8_t>(sound.file));
    SF_INFO info{};
    SNDFILE* file = sf_open(path.c_str(), SFM_READ, &info);
    ASSERT_NE(file, nullptr) << sf_strerror(nullptr);
    std::vector<float> read(static_cast<std::size_t>(info.frames));
    sf_readf_float(file, read.data(), info.frames);
    sf_close(file);
    std::remove(path.c_str());
    EXPECT_EQ(info.samplerate, rate);
    const auto quarter = static_cast<std::ptrdiff_t>(rate / 4);
    const auto loud = std::find_if(read.begin(), read.end(), [](float s) { return std::abs(s) > 0.3f; });
    EXPECT_NEAR(static_cast<double>(loud - read.begin()) / rate, 0.25,
                0.06);  // an encoder's delay: two frames of 1152
    double power = 0;
    for (auto at = read.begin() + 2 * quarter; at != read.begin() + 3 * quarter; ++at)
      power += static_cast<double>(*at) * static_cast<double>(*at) / static_cast<double>(quarter);
    EXPECT_NEAR(std::sqrt(2 * power), 0.5, 0.015);
  }
}

}  // namespace
}  // namespace burstloom
