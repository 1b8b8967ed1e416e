// What any program that listens to a recording has to do at least: decode, mix to mono, one short-time
// Fourier transform (2048 samples, every 512). decode_and_stft FILE: beside.py sets listening beside it.
#include <kiss_fftr.h>
#include <sndfile.h>

#include <cmath>
#include <cstdio>
#include <memory>
#include <numbers>
#include <vector>

namespace {

constexpr int kLength = 2048, kHop = 512, kBlock = 16'384;

std::vector<float> decoded_to_mono(const char* path) {
  SF_INFO info{};
  const std::unique_ptr<SNDFILE, decltype(&sf_close)> file(sf_open(path, SFM_READ, &info), sf_close);
  if (!file) return {};
  const auto channels = static_cast<std::size_t>(info.channels);
  std::vector<float> block(kBlock * channels), mono;
  mono.reserve(static_cast<std::size_t>(info.frames));
  for (sf_count_t count = 0; (count = sf_readf_float(file.get(), block.data(), kBlock)) > 0;)
    for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
      float sum = 0;
      for (std::size_t c = 0; c < channels; ++c) sum += block[i * channels + c];
      mono.push_back(sum / static_cast<float>(channels));
    }
  return mono;
}

}  // namespace

int main(int count, char** words) {
  if (count != 2) return std::fprintf(stderr, "decode_and_stft FILE\n"), 2;
  const std::vector<float> sound = decoded_to_mono(words[1]);
  std::vector<float> window(kLength), piece(kLength);
  for (int i = 0; i < kLength; ++i)
    window[static_cast<std::size_t>(i)] =
        static_cast<float>(0.5 - 0.5 * std::cos(2 * std::numbers::pi * i / kLength));
  std::vector<kiss_fft_cpx> spectrum(kLength / 2 + 1);
  const std::unique_ptr<kiss_fftr_state, decltype(&kiss_fftr_free)> plan(
      kiss_fftr_alloc(kLength, 0, nullptr, nullptr), kiss_fftr_free);
  double power = 0;
  for (std::size_t at = 0; at + kLength <= sound.size(); at += kHop) {
    for (std::size_t i = 0; i < kLength; ++i) piece[i] = sound[at + i] * window[i];
    kiss_fftr(plan.get(), piece.data(), spectrum.data());
    for (const kiss_fft_cpx& bin : spectrum) power += static_cast<double>(bin.r * bin.r + bin.i * bin.i);
  }
  std::printf("%g\n", power);
  return sound.empty() ? 3 : 0;
}
