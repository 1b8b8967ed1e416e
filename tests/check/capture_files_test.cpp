// Files of captures, read and judged as the command line does it. Nothing odd about a wire is taken for
// silence.
#include <algorithm>
#include <filesystem>
#include <string>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/stream/files.hpp"
#include "support.hpp"

namespace burstloom {
namespace {

using testing::lenient_profile;
using testing::result_of;

Profile strict_profile() {
  Profile profile = lenient_profile();
  profile.limits.on_time_min_us = 8;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{10, 20}};
  return profile;
}

class CaptureFiles : public ::testing::Test {
 protected:
  void SetUp() override {
    const std::string test = ::testing::UnitTest::GetInstance()->current_test_info()->name();
    folder_ = std::filesystem::temp_directory_path() / ("burstloom-capture-" + test);
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  StreamFile read(const std::string& name, const Bytes& bytes, bool invert = false) const {
    const std::string path = (folder_ / name).string();
    write_file(path, bytes);
    return read_stream(path, {.wire = "", .invert = invert});
  }
  Judgement judged(const std::string& name, const Bytes& bytes, bool invert = false) const {
    const StreamFile file = read(name, bytes, invert);
    JudgeOptions options;
    if (file.capture && !file.capture->exact)
      options = {.tolerance_us = std::min(5.0, file.capture->sample_us),
                 .measured = true,
                 .last_is_cut = file.capture->ends_high,
                 .first_is_cut = file.capture->starts_high};
    return judge(file.file.stream, strict_profile(), options);
  }
  Judgement judged(const std::string& name, const std::string& text, bool invert = false) const {
    return judged(name, Bytes(text.begin(), text.end()), invert);
  }

 private:
  std::filesystem::path folder_;
};

// ---- WAV, as a recorder of any make writes it: 16 bits, mono, a million samples a second.

constexpr int kRate = 1'000'000;

void put(Bytes& bytes, std::uint32_t value, int count) {
  for (int i = 0; i < count; ++i) bytes.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}
void put(Bytes& bytes, const std::string& tag) {
  bytes.insert(bytes.end(), tag.begin(), tag.end());
}

// Microsoft Multimedia Programming Interface and Data Specifications 1.0, "Waveform Audio File Format"
// (from memory).
Bytes wav_of(const std::vector<std::int16_t>& samples) {
  const auto data = static_cast<std::uint32_t>(samples.size() * 2);
  Bytes bytes;
  put(bytes, "RIFF"), put(bytes, 36 + data, 4), put(bytes, "WAVEfmt "), put(bytes, 16, 4);
  put(bytes, 1, 2), put(bytes, 1, 2), put(bytes, kRate, 4), put(bytes, kRate * 2, 4);
  put(bytes, 2, 2), put(bytes, 16, 2), put(bytes, "data"), put(bytes, data, 4);
  for (const std::int16_t sample : samples) put(bytes, static_cast<std::uint16_t>(sample), 2);
  return bytes;
}

// High from each even edge to the next, for `length` microseconds.
std::vector<std::int16_t> samples_of(const std::vector<std::size_t>& edges, std::size_t length,
                                     bool high = false) {
  std::vector<std::int16_t> samples;
  std::size_t next = 0;
  for (std::size_t at = 0; at < length; ++at) {
    if (next < edges.size() && at == edges[next]) high = !high, ++next;
    samples.push_back(high ? 20'000 : -300);
  }
  return samples;
}

TEST_F(CaptureFiles, WavOfAGoodGate) {
  const Judgement judgement = judged("a.wav", wav_of(samples_of({50, 70, 400, 430}, 20'000)));
  EXPECT_EQ(judgement.verdict, Verdict::within_limits);
  EXPECT_EQ(judgement.tolerance_us, 1);
  EXPECT_NEAR(result_of(judgement, "on-time max").worst, 30, 1e-9);
}

TEST_F(CaptureFiles, WavStuckHigh) {
  const Judgement judgement = judged("a.wav", wav_of(samples_of({}, 20'000, true)));
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_NEAR(result_of(judgement, "on-time max").worst, 20'000, 1e-6);
}

TEST_F(CaptureFiles, WavStuckHighWithNoise) {
  std::vector<std::int16_t> samples = samples_of({}, 20'000, true);
  for (std::size_t i = 0; i < samples.size(); i += 3) samples[i] = 19'500;
  EXPECT_EQ(judged("a.wav", wav_of(samples)).verdict, Verdict::outside_limits);
}

TEST_F(CaptureFiles, WavOfAnInvertedWireStuckLow) {
  EXPECT_EQ(judged("a.wav", wav_of(samples_of({}, 20'000)), true).verdict, Verdict::outside_limits);
}

TEST_F(CaptureFiles, WavHighAtTheStart) {
  EXPECT_EQ(judged("a.wav", wav_of(samples_of({20, 400, 430}, 20'000, true))).verdict, Verdict::cannot_tell);
  EXPECT_EQ(judged("a.wav", wav_of(samples_of({90, 400, 430}, 20'000, true))).verdict,
            Verdict::outside_limits);
}

TEST_F(CaptureFiles, WavCutOffWithinABurst) {
  EXPECT_EQ(judged("a.wav", wav_of(samples_of({50, 70, 400}, 420))).verdict, Verdict::cannot_tell);
  EXPECT_EQ(judged("a.wav", wav_of(samples_of({50, 70, 400}, 470))).verdict, Verdict::outside_limits);
  EXPECT_EQ(judged("a.wav", wav_of(samples_of({50, 70, 400}, 401))).verdict, Verdict::cannot_tell);
}

TEST_F(CaptureFiles, WavInverted) {
  const Bytes bytes = wav_of(samples_of({50, 70, 400, 430}, 20'000, true));  // low for 20 us and for 30
  EXPECT_EQ(judged("a.wav", bytes, true).verdict, Verdict::within_limits);
  EXPECT_EQ(judged("a.wav", bytes).verdict, Verdict::outside_limits);
}

TEST_F(CaptureFiles, WavWithGlitches) {
  // One sample high between two bursts: a burst too short. One sample low within a burst: still one burst.
  const Judgement high = judged("a.wav", wav_of(samples_of({50, 70, 300, 301, 600, 630}, 20'000)));
  EXPECT_EQ(high.verdict, Verdict::outside_limits);
  EXPECT_FALSE(result_of(high, "on-time min").held);
  const Judgement low = judged("a.wav", wav_of(samples_of({50, 80, 81, 120}, 20'000)));
  EXPECT_EQ(low.verdict, Verdict::outside_limits);
  EXPECT_NEAR(result_of(low, "on-time max").worst, 70, 1e-9);
}

TEST_F(CaptureFiles, WavWithoutItsEnd) {
  Bytes bytes = wav_of(samples_of({50, 70, 400, 470}, 20'000));
  bytes.resize(44 + 2 * 460);  // the download broke off 60 us into a burst
  EXPECT_EQ(judged("a.wav", bytes).verdict, Verdict::outside_limits);
  bytes.resize(44);
  EXPECT_THROW((void)judged("a.wav", bytes), Error);
}

// ---- VCD

std::string vcd_of(const std::string& changes) {
  return "$timescale 1 us $end\n$var wire 1 ! gate $end\n$enddefinitions $end\n" + changes;
}

TEST_F(CaptureFiles, VcdOfAGoodGate) {
  EXPECT_EQ(judged("a.vcd", vcd_of("#0\n0!\n#50\n1!\n#70\n0!\n#400\n1!\n#430\n0!\n#900\n")).verdict,
            Verdict::within_limits);
}

TEST_F(CaptureFiles, VcdStuckHigh) {
  EXPECT_EQ(judged("a.vcd", vcd_of("#0\n1!\n#20000\n")).verdict, Verdict::outside_limits);
  EXPECT_EQ(judged("a.vcd", vcd_of("#0\n0!\n#20000\n"), true).verdict, Verdict::outside_limits);
}

TEST_F(CaptureFiles, VcdOfUnknownLevels) {
  for (const char* level : {"x", "z", "X", "Z"}) {
    const std::string text = vcd_of("#0\n0!\n#100\n" + std::string(level) + "!\n#300\n0!\n#900\n");
    EXPECT_EQ(judged("a.vcd", text).verdict, Verdict::outside_limits) << level;
    EXPECT_EQ(judged("a.vcd", text, true).verdict, Verdict::outside_limits) << level;
  }
}

TEST_F(CaptureFiles, VcdWhoseFirstValueComesLate) {
  const Judgement judgement = judged("a.vcd", vcd_of("#0\n#400\n0!\n#900\n"));
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_NEAR(result_of(judgement, "on-time max").worst, 400, 1e-9);
}

TEST_F(CaptureFiles, VcdCutOff) {
  EXPECT_EQ(judged("a.vcd", vcd_of("#0\n0!\n#50\n1!\n#70\n0!\n#400\n1!\n#420\n")).verdict,
            Verdict::cannot_tell);
  // Cut where the wire has just risen.
  EXPECT_EQ(judged("a.vcd", vcd_of("#0\n0!\n#50\n1!\n#70\n0!\n#400\n1!\n")).verdict, Verdict::cannot_tell);
  EXPECT_THROW((void)judged("a.vcd", vcd_of("")), Error);
  EXPECT_THROW((void)judged("a.vcd", vcd_of("#0\n#500\n")), Error);  // the wire never gets a value
}

TEST_F(CaptureFiles, VcdPulseWithinOneUnit) {
  const Judgement judgement = judged("a.vcd", vcd_of("#0\n0!\n#50\n1!\n0!\n#900\n"));
  EXPECT_NE(judgement.verdict, Verdict::within_limits);
  EXPECT_GT(result_of(judgement, "on-time max").in_stream, 0);
}

// ---- CSV holds times, not a wire: what is not a burst is refused.

TEST_F(CaptureFiles, Csv) {
  const std::string head = "# tick_hz=1000000\nstart_us,on_us\n";
  EXPECT_EQ(judged("a.csv", head + "50,20\n400,30\n").verdict, Verdict::within_limits);
  EXPECT_EQ(judged("a.csv", head + "50,20\n400,51\n").verdict, Verdict::outside_limits);
  for (const char* rows :
       {"50,\n", "50\n", "50,0\n", "50,-20\n", "50,20\n60,20\n", "50,20\n400,", "50,high\n"})
    EXPECT_THROW((void)judged("a.csv", head + rows), Error) << rows;
}

// ---- What Burstloom wrote itself is no measurement.

TEST_F(CaptureFiles, OurOwnVcdIsJudgedAsTheStream) {
  const BurstStream stream = testing::stream_of({{100, 100}, {1000, 100}}, 4000);
  const StreamFile file = read("a.vcd", [&] {
    const std::string text = to_vcd(stream);
    return Bytes(text.begin(), text.end());
  }());
  ASSERT_TRUE(file.capture.has_value());
  EXPECT_TRUE(file.capture->exact);
  EXPECT_EQ(file.file.stream, stream);
  EXPECT_EQ(judge(file.file.stream, strict_profile()).verdict, Verdict::within_limits);
}

}  // namespace
}  // namespace burstloom
