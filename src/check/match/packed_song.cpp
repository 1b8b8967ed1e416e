#include "packed_song.hpp"

#include <algorithm>

#include "burstloom/stream/leb128.hpp"

namespace burstloom::align_detail {
namespace {

constexpr std::size_t kMarkEvery = 64;

std::int64_t number_at(const Bytes& bytes, std::size_t& at) {
  std::uint64_t value = 0;
  for (unsigned shift = 0;; shift += 7) {
    const std::uint8_t byte = bytes[at++];
    value |= std::uint64_t{byte & 0x7Fu} << shift;
    if (byte < 0x80) return static_cast<std::int64_t>(value);
  }
}

}  // namespace

PackedSong::PackedSong(const BurstStream& song)
    : size_(song.bursts.size()), us_per_tick_(1e6 / static_cast<double>(song.tick_hz)) {
  Tick end = 0, start = 0;
  for (std::size_t i = 0; i < size_; ++i) {
    const Burst& burst = song.bursts[i];
    if (i % kMarkEvery == 0) marks_.push_back({bytes_.size(), end});
    if (i > 0)
      shortest_period_us_ =
          std::min(shortest_period_us_, static_cast<double>(burst.start - start) * us_per_tick_);
    append_leb128(bytes_, static_cast<std::uint64_t>(burst.start - end));
    append_leb128(bytes_, static_cast<std::uint64_t>(burst.on));
    start = burst.start;
    end = burst.end();
  }
  bytes_.shrink_to_fit();
}

std::size_t PackedSong::first_from(double time_us) const {
  const auto mark = std::partition_point(marks_.begin(), marks_.end(), [&](const Mark& it) {
    return static_cast<double>(it.end) * us_per_tick_ < time_us;
  });
  const auto passed = static_cast<std::size_t>(mark - marks_.begin());
  Reader reader(*this, passed > 0 ? (passed - 1) * kMarkEvery : 0);
  while (!reader.over() && reader.burst().start_us < time_us) reader.next();
  return reader.number();
}

PackedSong::Reader::Reader(const PackedSong& song, std::size_t number)
    : song_(&song), number_(number), at_(song.bytes_.size()), end_(0) {
  if (over()) return;
  const Mark& mark = song.marks_[number / kMarkEvery];
  number_ = number / kMarkEvery * kMarkEvery;
  at_ = mark.at;
  end_ = mark.end;
  decode();
  while (number_ < number) next();
}

void PackedSong::Reader::next() {
  ++number_;
  if (!over()) decode();
}

void PackedSong::Reader::decode() {
  const Tick start = end_ + number_at(song_->bytes_, at_);
  const Tick on = number_at(song_->bytes_, at_);
  end_ = start + on;
  burst_ = {static_cast<double>(start) * song_->us_per_tick_, static_cast<double>(on) * song_->us_per_tick_};
}

}  // namespace burstloom::align_detail
