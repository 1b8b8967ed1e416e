// Small inputs of every kind for the fuzzers to begin with: fuzz_seeds FOLDER writes FOLDER/TARGET/NUMBER.
#include <sndfile.h>

#include <cmath>
#include <filesystem>
#include <map>

#include "burstloom/coil/steps.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/link/frames.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/sets/weave_one.hpp"
#include "burstloom/tables/tables.hpp"
#include "burstloom/weave/weave.hpp"
#include "support/sixteen_channels.hpp"
#include "support/table_header.hpp"

namespace burstloom::fuzz {
namespace {

class Seeds {
 public:
  explicit Seeds(std::string folder) : folder_(std::move(folder)) {}
  [[nodiscard]] std::string next_path(const std::string& target) {
    std::filesystem::create_directories(folder_ + "/" + target);
    return folder_ + "/" + target + "/" + std::to_string(++count_[target]);
  }
  void add(const std::string& target, std::string_view text) { write_file(next_path(target), text); }
  void add(const std::string& target, const Bytes& bytes) { write_file(next_path(target), bytes); }

 private:
  std::string folder_;
  std::map<std::string, int> count_;
};

const char* const kSet = R"(name = "A short evening"
coil = "coil.toml"
start_c = 25
pause_s = 20
[[song]]
file = "one.mid"
title = "One"
voices = 2
transpose = -3
[[song]]
file = "two.flac"
how = "follow"
snap = 4
gain_db = -3.5
keep_silence = true
pause_s = 0
[[song]]
file = "three.wav"
how = "carrier"
carrier_hz = 20000
)";

Bytes bytes_of(const std::string& header) {
  return parse(header).bytes;
}

void add_music(Seeds& seeds, const Profile& coil) {
  for (const auto& [seconds, channels] : {std::pair{2.0, 1}, {4.0, 4}, {1.0, 16}}) {
    const Score score = testing::sixteen_channel_score(seconds, channels);
    const Bytes midi = to_midi(score);
    seeds.add("midi", midi);
    for (const Bytes& options : {Bytes{0, 190, 2, 1}, Bytes{2, 40, 5, 130}, Bytes{3, 255, 15, 5}}) {
      Bytes line = options;
      line.insert(line.end(), midi.begin(), midi.end());
      seeds.add("line", line);
    }
    seeds.add("arrangement", suggest_arrangement(score, summarise(score, {})));
    const Wanted wanted = wanted_from_score(score, coil, {.voices = 3});
    const Guarded guarded = place(wanted.bursts, coil, kDefaultTickHz, wanted.length);
    const Account account = account_of(score, wanted.fates, guarded, coil);
    seeds.add("burst", to_burst_file({guarded.stream, score.title, coil.text, account}));
    seeds.add("table", bytes_of(table_header(TableInput{guarded.stream, score.title, coil, 0, account},
                                             target_named("rp2040"))));
  }
}

void add_streams(Seeds& seeds, const Profile& coil) {
  for (const BurstStream& stream : {rising_bursts(coil, 12), steady_tone(coil, 220, 20, 0.5)}) {
    seeds.add("burst", to_burst_file({stream, "Bench", "", {}}));
    seeds.add("csv", to_csv(stream));
    seeds.add("vcd", to_vcd(stream));
    seeds.add("table",
              bytes_of(table_header(TableInput{stream, "Bench", coil, 0, {}}, target_named("rp2040"))));
  }
  seeds.add("csv", "start_us,on_us\n# a remark\n12.5,10\n500,7.25\n");
  seeds.add("vcd",
            "$timescale 10 ns $end\n$scope module top $end\n$var wire 1 ! gate $end\n$var wire 8 # bus [7:0] "
            "$end\n$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n0!\nbx #\n$end\n#100\n1!\n#1100\n0!\n"
            "#5000\nx!\n#5600\n0!\n");
}

void add_wires(Seeds& seeds) {
  for (const FrameType type : {FrameType::player, FrameType::status})
    for (std::size_t size = 8; size <= 32; size += 4) {
      Bytes body(size, 3);
      body[0] = static_cast<std::uint8_t>(type);
      body[1] = kLinkVersion;
      seeds.add("frames", frame_of(body));
    }
  seeds.add("keys",
            Bytes{0, 0x90, 60, 100, 3, 0xB0, 64, 127, 5, 0x80, 60, 0, 2, 0xE0, 0, 80, 1, 0xB0, 64, 0});
  seeds.add("keys",
            Bytes{0, 0x99, 36, 127, 0, 0x90, 40, 90, 0, 47, 90, 0, 2, 0x91, 88, 127, 7, 0xFE, 0xF8, 0xFF});
}

void add_sounds(Seeds& seeds) {
  constexpr int kRate_hz = 8000;
  for (const int format : {SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_WAV | SF_FORMAT_FLOAT,
                           SF_FORMAT_AIFF | SF_FORMAT_PCM_24, SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
                           SF_FORMAT_OGG | SF_FORMAT_VORBIS, SF_FORMAT_RF64 | SF_FORMAT_PCM_16}) {
    SF_INFO info{};
    info.samplerate = kRate_hz;
    info.channels = 2;
    info.format = format;
    SNDFILE* file = sf_open(seeds.next_path("sound").c_str(), SFM_WRITE, &info);
    if (file == nullptr)
      throw Error(Fault::machine, "libsndfile writes no such seed", "seeds", "look at add_sounds");
    std::vector<float> samples;
    for (int i = 0; i < kRate_hz / 5; ++i)
      for (int channel = 0; channel < 2; ++channel)
        samples.push_back(0.4f * static_cast<float>(std::sin(0.05 * (4 + channel) * i)));
    sf_writef_float(file, samples.data(), kRate_hz / 5);
    sf_close(file);
  }
}

}  // namespace
}  // namespace burstloom::fuzz

int main(int count, char** words) {
  using namespace burstloom;
  if (count != 2) return std::fprintf(stderr, "fuzz_seeds FOLDER\n"), 2;
  fuzz::Seeds seeds(words[1]);
  const std::string coils = BURSTLOOM_SAMPLES "/coils/";
  for (const char* name : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"})
    seeds.add("profile", read_profile(coils + name + ".toml").text);
  seeds.add("profile", profile_to_fill_in());
  const Profile coil = read_profile(coils + "bench-36v.toml");
  fuzz::add_music(seeds, coil);
  fuzz::add_streams(seeds, coil);
  fuzz::add_wires(seeds);
  fuzz::add_sounds(seeds);
  seeds.add("set", fuzz::kSet);
  return 0;
}
