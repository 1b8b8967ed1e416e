// The evening's page and the operator's sheet: what they say is what set.json says, and names are text.
#include <nlohmann/json.hpp>
#include <regex>

#include "burstloom/common/cautions.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/sets/pages.hpp"
#include "support.hpp"

namespace burstloom::testing {
namespace {

using Json = nlohmann::json;

std::string bench_profile() {
  return text_of_file(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
}

// Three songs by hand; figures with more digits than a page shows.
BuiltSet made_up_set() {
  BuiltSet set;
  set.name = "Lantern night";
  set.coil_name = "Tern";
  set.coil_file = "tern.toml";
  set.profile = bench_profile();
  set.start_c = 25;
  double now_s = 0;
  for (int i = 0; i < 3; ++i) {
    BuiltSong song;
    song.number = i + 1;
    song.stem = "0" + std::to_string(i + 1) + "-song";
    song.title = "Song " + std::to_string(i + 1);
    song.start_s = now_s;
    song.length_s = 61.4999995 + i;
    song.pause_after_s = 70.04 + 20 * i;
    song.judged_from = HeatStart{30.0 + i + 0.09, 30.0 + i};
    song.at_end = Temperatures{41.26 + i, 40.25 + 1.0 / 3 + i};
    song.highest = Temperatures{52.123456789 + i, 40.75 + i};
    now_s += song.length_s + song.pause_after_s;
    set.length_s = song.start_s + song.length_s;
    set.songs.push_back(song);
  }
  set.heat = {{0, 25, 25}, {set.length_s / 2, 52.1234567890123, 40.3}};
  LimitResult sink;
  sink.limit = "heatsink", sink.unit = "C", sink.worst = 42.75, sink.allowed = 65, sink.margin_percent = 55.6;
  set.evening.limits = {sink};
  set.evening.rest_before_repeat_s = 61.01;
  return set;
}

Json data_of(const std::string& page) {
  const std::string begin = "<script type=\"application/json\" id=\"data\">";
  const auto at = page.find(begin) + begin.size();
  return Json::parse(page.substr(at, page.find("</script>", at) - at));
}

// The text of the n-th cell of each song's row.
std::vector<std::string> column(const std::string& sheet, std::size_t n) {
  const auto from = sheet.find("<tbody>"), until = sheet.find("</tbody>");
  const std::string body = sheet.substr(from, until - from);
  static const std::regex cell("<td[^>]*>(.*?)</td>"), tag("<[^>]*>");
  std::vector<std::string> found;
  std::istringstream rows(body);
  for (std::string row; std::getline(rows, row);) {
    std::sregex_iterator it(row.begin(), row.end(), cell), end;
    for (std::size_t i = 0; it != end; ++it, ++i)
      if (i == n) found.push_back(std::regex_replace((*it)[1].str(), tag, ""));
  }
  return found;
}

using Texts = std::vector<std::string>;

TEST(EveningPage, CarriesExactlyWhatSetJsonSays) {
  const BuiltSet set = made_up_set();
  const Json data = data_of(evening_page(set));
  EXPECT_EQ(data.at("set"), Json::parse(to_set_json(set)));
  EXPECT_EQ(data.at("set").at("heat").at(1).at("junction_c").get<double>(), 52.1234567890123);
  EXPECT_EQ(data.at("cautions").get<Texts>(), caution_paragraphs());
}

TEST(OperatorsSheet, SaysTimesPausesAndTemperaturesOfTheSet) {
  const std::string sheet = operators_sheet(made_up_set());
  EXPECT_EQ(column(sheet, 0), (Texts{"1", "2", "3"}));
  // Starts 0, 131.54 and 284.08 s.
  EXPECT_EQ(column(sheet, 1), (Texts{"+ 0:00:00", "+ 0:02:12", "+ 0:04:44"}));
  EXPECT_EQ(column(sheet, 3), (Texts{"0:01:01", "0:01:02", "0:01:03"}));
  // Pauses of 70.04 and 90.04 s: never shorter than they have to be.
  EXPECT_EQ(column(sheet, 4), (Texts{"1 min 10.1 s", "1 min 30.1 s", "end"}));
  // 30.09 C and so on: never warmer than was judged.
  EXPECT_EQ(column(sheet, 5), (Texts{"25.0", "31.0", "32.0"}));
  EXPECT_EQ(column(sheet, 7), (Texts{"40.6", "41.6", "42.6"}));
  EXPECT_EQ(column(sheet, 9), (Texts{"52.1", "53.1", "54.1"}));
  EXPECT_NE(sheet.find("Heatsink at 65.0 &deg;C: stop."), std::string::npos);
  EXPECT_NE(sheet.find("after a rest of at least 1 min 1.1 s."), std::string::npos);
  EXPECT_NE(sheet.find("Bus 36 V, never above 37.8 V."), std::string::npos);
}

TEST(OperatorsSheet, TellsTheTimeOfDayPastMidnight) {
  const std::string sheet = operators_sheet(made_up_set(), {.starts_at_min = 23 * 60 + 57});
  EXPECT_EQ(column(sheet, 1), (Texts{"23:57:00", "23:59:12", "0:01:44 (+1 d)"}));
  EXPECT_NE(sheet.find("First song at <b>23:57:00</b>"), std::string::npos);
}

TEST(OperatorsSheet, HasEveryCaution) {
  const std::string sheet = operators_sheet(made_up_set());
  for (const std::string& paragraph : caution_paragraphs())
    EXPECT_NE(sheet.find("<p>" + paragraph + "</p>"), std::string::npos) << paragraph;
}

TEST(OperatorsSheet, OfASetOutsideItsLimitsSaysNotToPlayIt) {
  BuiltSet set = made_up_set();
  EXPECT_EQ(operators_sheet(set).find("DO NOT PLAY"), std::string::npos);
  set.evening.verdict = Verdict::outside_limits;
  set.evening.rest_before_repeat_s.reset();
  set.evening.limits[0].held = false;
  const std::string sheet = operators_sheet(set);
  EXPECT_NE(sheet.find("DO NOT PLAY THIS SET"), std::string::npos);
  EXPECT_NE(sheet.find("✗ exceeded"), std::string::npos);
  EXPECT_NE(sheet.find("may not be played"), std::string::npos);
}

TEST(OperatorsSheet, WithoutHeatSaysSoAndStaysWhole) {
  BuiltSet set = made_up_set();
  set.heat.clear();
  set.evening.limits.clear();
  for (BuiltSong& song : set.songs) song.judged_from.reset(), song.at_end.reset(), song.highest.reset();
  const std::string sheet = operators_sheet(set);
  EXPECT_EQ(column(sheet, 5), Texts(3, "&ndash;"));
  EXPECT_NE(sheet.find("its profile does not tell heat"), std::string::npos);
}

TEST(SetPages, KeepHostileNamesText) {
  BuiltSet set = made_up_set();
  const std::string hostile = "</script><script>alert(1)</script><!--\"' & {{order}}{{data}}";
  set.name = set.coil_name = set.coil_file = set.songs[0].title = hostile;
  set.songs[1].title = std::string(300, 'x');
  set.songs[2].title = "\xff broken \xc3";
  set.remarks = {hostile};
  const std::string page = evening_page(set), sheet = operators_sheet(set);
  for (const std::string& text : {page, sheet}) {
    EXPECT_EQ(text.find("<script>alert"), std::string::npos);
    EXPECT_EQ(text.find("<!--\""), std::string::npos);
    EXPECT_NE(text.find("&lt;/script&gt;"), std::string::npos);
    EXPECT_NE(text.find(std::string(300, 'x')), std::string::npos);
  }
  EXPECT_EQ(data_of(page).at("set").at("name").get<std::string>(), hostile);
  EXPECT_EQ(column(sheet, 0).size(), 3U);
  EXPECT_EQ(sheet.find("<script"), std::string::npos);
}

TEST_F(Sets, PagesAreWrittenIntoTheFolderAndAgainWhereTheyChange) {
  use_warm_mosfets("65.0");
  evening_.add_made_up(1, 3, 1, 2);
  evening_.add_made_up(2, 3, 1, 2);
  int asked = 0;
  const auto build_with = [&](const std::string& made_with) {
    return build({.folder = out(), .pages = {{"page.html", made_with, [&](const BuiltSet& set) {
                                                ++asked;
                                                return set.name + made_with;
                                              }}}});
  };
  EXPECT_EQ(build_with("a").work.written, 4);
  EXPECT_EQ(build_with("a").work.written, 0);
  EXPECT_EQ(asked, 1);
  EXPECT_EQ(text_of_file(out() + "/page.html"), "Lantern nighta");
  const SetBuild again = build_with("b");
  EXPECT_EQ(again.work.woven, 0);
  EXPECT_EQ(text_of_file(out() + "/page.html"), "Lantern nightb");
  fs::remove(out() + "/page.html");
  build_with("b");
  EXPECT_EQ(text_of_file(out() + "/page.html"), "Lantern nightb");
}

}  // namespace
}  // namespace burstloom::testing
