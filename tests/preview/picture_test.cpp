// Pictures, by their pixels: what is drawn stands where its value belongs, and no title can do harm.
#include "burstloom/preview/picture.hpp"

#include <cairo.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <memory>
#include <numbers>

#include "../../src/preview/axis.hpp"
#include "../coil/sample.hpp"
#include "../stream/stream_support.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/preview/sentence.hpp"
#include "trains.hpp"

namespace burstloom {
namespace {

// A decoded PNG.
class Pixels {
 public:
  explicit Pixels(const std::string& png) : png_(png) {
    surface_.reset(cairo_image_surface_create_from_png_stream(read, this));
    EXPECT_EQ(cairo_surface_status(surface_.get()), CAIRO_STATUS_SUCCESS);
  }
  [[nodiscard]] int width() const { return cairo_image_surface_get_width(surface_.get()); }
  [[nodiscard]] int height() const { return cairo_image_surface_get_height(surface_.get()); }
  [[nodiscard]] int red(int x, int y) const { return at(x, y, 16); }
  [[nodiscard]] int green(int x, int y) const { return at(x, y, 8); }
  [[nodiscard]] int blue(int x, int y) const { return at(x, y, 0); }
  [[nodiscard]] bool is_vermilion(int x, int y) const {
    return red(x, y) > 190 && green(x, y) < 140 && blue(x, y) < 80;
  }
  [[nodiscard]] bool is_blue(int x, int y) const { return red(x, y) < 60 && blue(x, y) > 150; }

  // Rows of the panel below the header that have at least `least` such pixels.
  template <class Is>
  [[nodiscard]] std::vector<int> rows(int from, int until, int least, Is is) const {
    std::vector<int> found;
    for (int y = from; y < until; ++y) {
      int count = 0;
      for (int x = 232; x < 1508; ++x) count += is(x, y);
      if (count >= least) found.push_back(y);
    }
    return found;
  }

 private:
  static cairo_status_t read(void* self, unsigned char* data, unsigned length) {
    auto* pixels = static_cast<Pixels*>(self);
    if (pixels->at_ + length > pixels->png_.size()) return CAIRO_STATUS_READ_ERROR;
    std::memcpy(data, pixels->png_.data() + pixels->at_, length);
    pixels->at_ += length;
    return CAIRO_STATUS_SUCCESS;
  }
  [[nodiscard]] int at(int x, int y, int shift) const {
    const unsigned char* line =
        cairo_image_surface_get_data(surface_.get()) + y * cairo_image_surface_get_stride(surface_.get());
    std::uint32_t pixel;
    std::memcpy(&pixel, line + 4 * x, 4);
    return static_cast<int>(pixel >> shift & 255);
  }
  struct Free {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  };
  const std::string& png_;
  std::size_t at_ = 0;
  std::unique_ptr<cairo_surface_t, Free> surface_;
};

// One panel: its box is 120 high, from row 112 to 232, its scale reaches from 0 to 1.25 times the limit.
constexpr int kTop = 112, kBottom = 232;
PictureContent one_series(double value, double allowed, bool exact) {
  Series series{"on-time", "us", Course::straight, exact, {}, LimitResult{}};
  series.judged->limit = "on-time max";
  series.judged->unit = "us";
  series.judged->allowed = allowed;
  Timeline timeline;
  timeline.until_s = 10;
  timeline.columns = 100;
  for (int i = 0; i < 100; ++i) series.points.push_back({0.05 + i / 10.0, value, value});
  timeline.series.push_back(series);
  PictureContent content;
  content.title = "one";
  content.timeline = timeline;
  return content;
}

TEST(Picture, CourseAndLimitStandAtTheirValues) {
  for (const bool exact : {false, true}) {
    const std::string png = picture(one_series(50, 100, exact), PictureKind::png);
    const Pixels pixels(png);
    const auto limit =
        pixels.rows(kTop + 2, kBottom, 600, [&](int x, int y) { return pixels.is_vermilion(x, y); });
    ASSERT_FALSE(limit.empty());
    EXPECT_NEAR(limit[0], kBottom - 120 * 100 / 125, 2);
    const auto course =
        pixels.rows(kTop + 2, kBottom, 1'200, [&](int x, int y) { return pixels.is_blue(x, y); });
    ASSERT_FALSE(course.empty());
    EXPECT_NEAR(course[0], kBottom - 120 * 50 / 125, 2);
    EXPECT_LE(course.size(), 3u);
  }
}

// A limit that would press the course flat is named, not drawn.
TEST(Picture, AFarLimitDoesNotFlattenTheCourse) {
  const std::string png = picture(one_series(5, 100, false), PictureKind::png);
  const Pixels pixels(png);
  EXPECT_TRUE(
      pixels.rows(kTop + 2, kBottom, 600, [&](int x, int y) { return pixels.is_vermilion(x, y); }).empty());
  const auto course =
      pixels.rows(kTop + 2, kBottom, 1'200, [&](int x, int y) { return pixels.is_blue(x, y); });
  ASSERT_FALSE(course.empty());
  EXPECT_NEAR(course[0], kBottom - 120 / 1.25, 2);
}

TEST(Picture, ViolationsAreMarkedWhereTheyAre) {
  PictureContent content = one_series(50, 100, false);
  content.timeline->spans = {{"on-time max", "us", 5.0, 5.0, 120, 100, 1},
                             {"gap", "us", 2.5, 2.5, 10, 100, 1}};
  const std::string png = picture(content, PictureKind::png);
  const Pixels pixels(png);
  const auto marked = [&](double at_s) {
    return pixels.is_vermilion(230 + static_cast<int>(1280 * at_s / 10), kTop + 4);
  };
  EXPECT_TRUE(marked(5.0));
  EXPECT_FALSE(marked(2.5)) << "a violation of another limit";
  EXPECT_FALSE(marked(7.5));
  content.timeline->spans.push_back({"on-time max", "us", 6.5, 7.5, 120, 100, 3});
  const std::string with_span = picture(content, PictureKind::png);
  for (const int x : {832, 896, 960}) EXPECT_TRUE(Pixels(with_span).is_vermilion(230 + x, kTop + 2)) << x;
}

// 1 kHz from the middle on: bright right of the middle at the height of 1 kHz, dark elsewhere.
TEST(Picture, ASpectrogramStandsUprightAndInTime) {
  Sound sound;
  sound.rate_hz = 48'000;
  for (int n = 0; n < 480'000; ++n)
    sound.samples.push_back(
        n < 240'000 ? 0.0f : static_cast<float>(0.5 * std::sin(2 * std::numbers::pi * n / 48.0)));
  PictureContent content;
  content.spectrograms.push_back({"source", spectrogram(sound)});
  const std::string png = picture(content, PictureKind::png);
  const Pixels pixels(png);
  const int y = 112 + 260 - static_cast<int>(260 * std::log(1'000.0 / 30) / std::log(16'000.0 / 30));
  EXPECT_GT(pixels.red(230 + 960, y), 200);
  EXPECT_LT(pixels.red(230 + 320, y), 60);
  EXPECT_LT(pixels.red(230 + 960, y + 100), 60);
  EXPECT_LT(pixels.red(230 + 960, y - 60), 60);
}

PictureContent whole_song(const std::string& title) {
  const Profile profile = parse_profile(kSample, "c.toml");
  const BurstStream stream = test::scattered(3'000);
  PictureContent content;
  content.title = title;
  content.judgement = judge(stream, profile);
  content.timeline = make_timeline(stream, profile, *content.judgement);
  return content;
}

TEST(Picture, NoTitleDoesHarm) {
  const std::string hostile[] = {"<script>alert(1)</script>",
                                 "\"quotes\" & 'more' ]]>",
                                 "\xF0\x9F\x8E\xB9 \xF0\x9F\x94\xA5 emoji",
                                 std::string(300, 'x'),
                                 "broken \xC3\x28 \xFF utf-8",
                                 "new\nline\ttab",
                                 std::string("nul\0nul", 7),
                                 ""};
  for (const std::string& title : hostile) {
    const std::string svg = picture(whole_song(title), PictureKind::svg);
    EXPECT_EQ(svg.find("script"), std::string::npos);
    EXPECT_EQ(svg.find("alert"), std::string::npos);
    EXPECT_EQ(svg.rfind("</svg>"), svg.size() - 7);
    const std::string png = picture(whole_song(title), PictureKind::png);
    EXPECT_EQ(Pixels(png).width(), 1'600) << title;
    const std::string again = picture(whole_song(title), PictureKind::png);
    EXPECT_EQ(png, again) << "the same input gives the same bytes";
  }
}

TEST(Picture, SentenceIsTheVerdictInWordsAndWhatWasNotJudged) {
  Judgement judgement;
  EXPECT_EQ(sentence_of(judgement), "Within limits.");
  judgement.limits.push_back(
      {.limit = "gap", .unit = "us", .worst = 95, .allowed = 100, .at_s = 1, .margin_percent = -5});
  judgement.limits[0].held = false;
  judgement.verdict = Verdict::outside_limits;
  judgement.not_judged = {{"junction", "no model"}, {"supply", "no limit"}};
  EXPECT_EQ(sentence_of(judgement),
            "Outside limits: 1 limit exceeded: gap, 5 % below its 100 µs minimum (95 µs at 0:01.000). Not "
            "judged: junction, supply.");
}

TEST(Picture, IsOfTheKindThatItsNameEndsIn) {
  EXPECT_EQ(picture(one_series(1, 2, true), picture_kind("p.PNG")).substr(1, 3), "PNG");
  EXPECT_EQ(picture(one_series(1, 2, true), picture_kind("p.svg")).substr(0, 5), "<?xml");
  test::expect_error(Fault::usage, ".jpg", [] { (void)picture_kind("p.jpg"); });
  test::expect_error(Fault::usage, "nothing", [] { (void)picture({}, PictureKind::png); });
}

std::vector<std::string> labels(const std::vector<preview_detail::Mark>& marks) {
  std::vector<std::string> found;
  for (const auto& mark : marks) found.push_back(mark.label);
  return found;
}
using Labels = std::vector<std::string>;

TEST(Axis, MarksStandAtRoundValues) {
  using namespace preview_detail;
  EXPECT_EQ(labels(round_marks(0, 62.5, 3)), (Labels{"0", "50"}));
  EXPECT_EQ(labels(round_marks(-0.001, 1, 4)), (Labels{"0.0", "0.5", "1.0"}));
  EXPECT_EQ(labels(round_marks(20, 20.01, 2)), (Labels{"20.000", "20.005", "20.010"}));
  EXPECT_TRUE(round_marks(1, 1, 4).empty());
  EXPECT_EQ(labels(time_marks(0, 0.3, 3).marks), (Labels{"0.0", "0.1", "0.2", "0.3"}));
  EXPECT_EQ(labels(time_marks(0, 300, 5).marks), (Labels{"0:00", "1:00", "2:00", "3:00", "4:00", "5:00"}));
  EXPECT_EQ(time_marks(0, 300, 5).unit, "min:s");
  EXPECT_EQ(labels(frequency_marks(30, 2'000)),
            (Labels{"50 Hz", "100 Hz", "200 Hz", "500 Hz", "1 kHz", "2 kHz"}));
  EXPECT_LE(time_marks(0, 6 * 3600, 12).marks.size(), 13u);
}

}  // namespace
}  // namespace burstloom
