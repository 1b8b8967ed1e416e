#include "landmarks.hpp"

#include <algorithm>
#include <array>
#include <tuple>

namespace burstloom::align_detail {
namespace {

constexpr std::size_t kBeginning = 32;  // bursts of a song from which every landmark is kept
constexpr std::uint32_t kOneIn = 16;

// Whether a look is one of those that are kept, the same for songs and captures: by bits that are well mixed.
bool is_kept(std::uint32_t look) {
  return (look * 0x9E3779B1u) >> 28 == 0;  // Knuth's multiplicative hash, TAOCP vol. 3, 6.4; from memory
}
static_assert(kOneIn == 1u << (32 - 28));

}  // namespace

std::uint32_t look_of(const double* starts_us) {
  const double span_us = starts_us[kLandmark - 1] - starts_us[0];
  std::uint32_t look = 0;
  for (std::size_t i = 1; i + 1 < kLandmark; ++i)
    look = look << 5 | std::min<std::uint32_t>(
                           31, static_cast<std::uint32_t>(32 * (starts_us[i] - starts_us[0]) / span_us));
  return look;
}

void Landmarks::add(const PackedSong& song, std::uint32_t its_number) {
  std::array<double, kLandmark> starts{};
  std::uint32_t before = 0;
  for (PackedSong::Reader reader(song, 0); !reader.over(); reader.next()) {
    std::shift_left(starts.begin(), starts.end(), 1);
    starts.back() = reader.burst().start_us;
    if (reader.number() + 1 < kLandmark) continue;
    const std::size_t first = reader.number() + 1 - kLandmark;
    const std::uint32_t look = look_of(starts.data());
    if (first == 0 || (look != before && (first < kBeginning || is_kept(look))))
      places_.push_back({look, its_number, static_cast<std::uint32_t>(first),
                         static_cast<float>(starts.back() - starts.front())});
    before = look;
  }
}

void Landmarks::sort() {
  places_.shrink_to_fit();
  std::sort(places_.begin(), places_.end(), [](const Landmark& a, const Landmark& b) {
    return std::tie(a.look, a.song, a.number) < std::tie(b.look, b.song, b.number);
  });
}

std::span<const Landmark> Landmarks::like(std::uint32_t look) const {
  const auto [from, until] =
      std::equal_range(places_.begin(), places_.end(), Landmark{.look = look},
                       [](const Landmark& a, const Landmark& b) { return a.look < b.look; });
  return {from, until};
}

}  // namespace burstloom::align_detail
