// Recordings as they are listened to: without silent ends, loud enough.
#include "burstloom/listen/sound_file.hpp"

#include "burstloom/listen/loudness_meter.hpp"
#include "sound_files.hpp"
#include "tones.hpp"

namespace burstloom::test {
namespace {

class Recordings : public SoundFiles {
 protected:
  // A tone from `from_s` until `until_s` of `length_s`.
  [[nodiscard]] std::string tone_file(double from_s, double until_s, double length_s, double peak) const {
    const Sound sound = sampled(44'100, length_s, [=](double t) {
      return t >= from_s && t < until_s ? peak * std::sin(two_pi * 440 * t) : 0.0;
    });
    return write_sound("tone.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 44'100, 1, sound.samples);
  }
};

TEST_F(Recordings, BeginATenthOfASecondBeforeTheFirstSound) {
  const std::string path = tone_file(2, 4, 7, 0.5);
  const Recording recording(path);
  EXPECT_NEAR(recording.left_out_before_s(), 1.9, 0.0101);
  EXPECT_NEAR(recording.left_out_after_s(), 2.5, 0.0101);
  EXPECT_NEAR(recording.length_s(), 2.6, 0.0201);
  ASSERT_EQ(recording.remarks().size(), 1U);
  EXPECT_EQ(recording.remarks()[0], "silence left out: 1.9 s before the first sound, 2.5 s after the last");
  const Sound all = read_sound(path), part = held(recording);
  ASSERT_EQ(static_cast<std::int64_t>(part.samples.size()), recording.figures().samples);
  const auto first = static_cast<std::size_t>(std::llround(recording.left_out_before_s() * 44'100));
  EXPECT_TRUE(std::equal(part.samples.begin(), part.samples.end(),
                         all.samples.begin() + static_cast<std::ptrdiff_t>(first)));
}

TEST_F(Recordings, KeepTheirSilenceWhenAsked) {
  const Recording recording(tone_file(2, 4, 7, 0.5), true);
  EXPECT_EQ(recording.length_s(), 7);
  EXPECT_TRUE(recording.remarks().empty());
}

TEST_F(Recordings, WithoutSilentEndsOrWithoutSoundAreLeftAlone) {
  EXPECT_EQ(Recording(tone_file(0.05, 2.8, 3, 0.5)).length_s(), 3);
  const Recording silent(tone_file(0, 0, 3, 0));
  EXPECT_EQ(silent.length_s(), 3);
  EXPECT_EQ(Raised(silent).raised_db(), 0);
  EXPECT_TRUE(silent.remarks().empty());
}

// For a place without files: what was decoded elsewhere is heard as its file is.
TEST_F(Recordings, OfDecodedSamplesAreHeardAsTheirFile) {
  const std::string path = std::string(BURSTLOOM_SAMPLES) + "/harbour-chords.flac";
  const Recording file(path), decoded(std::make_unique<DecodedSound>(read_sound(path)));
  EXPECT_EQ(decoded.original().title(), file.original().title());
  EXPECT_EQ(decoded.remarks(), file.remarks());
  EXPECT_EQ(decoded.length_s(), file.length_s());
  EXPECT_EQ(Raised(decoded).raised_db(), Raised(file).raised_db());
  const Score heard = std::get<Score>(listen_notes(decoded)), expected = std::get<Score>(listen_notes(file));
  ASSERT_GT(heard.notes.size(), 10U);
  ASSERT_EQ(heard.notes.size(), expected.notes.size());
  for (std::size_t i = 0; i < heard.notes.size(); ++i) {
    EXPECT_EQ(heard.notes[i].start_s, expected.notes[i].start_s);
    EXPECT_EQ(heard.notes[i].key, expected.notes[i].key);
    EXPECT_EQ(heard.notes[i].velocity, expected.notes[i].velocity);
  }
}

TEST_F(Recordings, OfDecodedSamplesAreLookedOverAsAFileIs) {
  Sound sound = sampled(44'100, 1, [](double t) { return 0.5 * std::sin(two_pi * 440 * t); });
  sound.samples[7] = std::numeric_limits<float>::quiet_NaN();
  const DecodedSound decoded(sound);
  ASSERT_EQ(decoded.remarks().size(), 1U);
  EXPECT_EQ(decoded.remarks()[0], "1 samples were not a number or far out of range and were replaced by 0");
  EXPECT_EQ(samples_of(decoded)[7], 0);
  EXPECT_THROW(DecodedSound(Sound{44'100, {}, "", {}}), Error);
  EXPECT_THROW(DecodedSound(Sound{7'999, {0.5F}, "", {}}), Error);
  EXPECT_THROW(DecodedSound(Sound{192'001, {0.5F}, "", {}}), Error);
}

// ITU-R BS.1770: measured again, by the same standard's meter.
TEST_F(Recordings, SoftOnesAreRaisedToMinus23Lufs) {
  for (const double peak : {0.005, 0.02}) {
    const Recording recording(tone_file(0, 5, 5, peak));
    LoudnessMeter meter(1, 44'100, false);
    meter.add(samples_of(Raised(recording)));
    EXPECT_NEAR(meter.integrated_lufs().value_or(0), -23, 0.05) << peak;
  }
  EXPECT_EQ(Raised(Recording(tone_file(0, 5, 5, 0.0005))).raised_db(), 40);
  EXPECT_EQ(Raised(Recording(tone_file(0, 5, 5, 0.5))).raised_db(), 0);
}

// So that the ways that have a gate hear a recording 40 dB softer as well.
TEST_F(Recordings, SoftOnesAreHeardAsLoudOnes) {
  const auto voiced_in = [&](double peak) {
    const Recording recording(tone_file(0, 5, 5, peak));
    return voiced_points(std::get<PitchTrack>(listen_follow(Raised(recording))));
  };
  EXPECT_GT(voiced_in(0.3), 900U);
  EXPECT_EQ(voiced_in(0.003), voiced_in(0.3));
  EXPECT_EQ(voiced_points(follow(read_sound(tone_file(0, 5, 5, 0.003)))), 0U);
}

}  // namespace
}  // namespace burstloom::test
