#include "follower.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace burstloom::align_detail {
namespace {

constexpr double kWithin_us = 20;         // of jitter, besides the capture's own uncertainty
constexpr double kRatioKnown_us = 10;     // by how much a moment may be off that tells the clock's ratio
constexpr double kSecond_us = 1e6;        // the ratio is that of the last second or two: clocks drift
constexpr double kLeastSpan_us = 20'000;  // below it the ratio is better left as it was
constexpr std::int64_t kLost = 24;        // bursts in a row that are missing or not of the song

}  // namespace

double start_within_us(double tolerance_us) {
  return kWithin_us + 2 * tolerance_us;
}
double on_time_within_us(double tolerance_us) {
  return std::max(1.0, 2 * tolerance_us);  // both edges
}

double Clock::unsure_us(double time_us) const {
  return std::abs(time_us - song_us) * std::min(kClockWithin, kRatioKnown_us / span_us);
}

Follower::Follower(const PackedSong& song, std::size_t number, const Clock& clock, double tolerance_us)
    : song_(&song),
      next_(song, number),
      clock_(clock),
      within_us_(std::min(start_within_us(tolerance_us),
                          std::max(0.45 * song.shortest_period_us(), 2 * tolerance_us + 1))),
      on_time_within_us_(align_detail::on_time_within_us(tolerance_us)) {}

Follower::Says Follower::take(const TimedBurst& burst) {
  for (; !next_.over(); next_.next()) {
    const double own_us = next_.burst().start_us;
    const double late_us = burst.start_us - clock_.at(own_us);
    const double within_us = within_us_ + clock_.unsure_us(own_us);
    if (late_us < -within_us) {
      ++extra_since_;
      return miss();
    }
    if (late_us <= within_us) {
      const Says says = find(burst, late_us);
      next_.next();
      return says;
    }
    ++missing_since_;
    if (miss() == Says::lost) return Says::lost;
  }
  return Says::over;
}

Follower::Says Follower::miss() {
  in_a_row_ = 0;
  if (searching_) unsure_.clear();
  return !searching_ && missing_since_ + extra_since_ >= kLost ? Says::lost : Says::not_of_it;
}

Follower::Says Follower::find(const TimedBurst& burst, double late_us) {
  unsure_.push_back({next_.burst(), burst, next_.number()});
  if (found_ == 0 && in_a_row_ == 0)
    newer_ = older_ = {next_.burst().start_us, burst.start_us, clock_.ratio, clock_.span_us};
  move_clock(next_.burst(), burst.start_us - late_us, late_us);
  if (++in_a_row_ < 2 && missing_since_ + extra_since_ > 0) return Says::not_of_it;
  (void)settle();
  return Says::found;
}

bool Follower::settle() {
  if (unsure_.empty()) return false;
  for (const Found& found : unsure_) count(found);
  unsure_.clear();
  searching_ = false;
  missing_since_ = extra_since_ = 0;
  return true;
}

void Follower::count(const Found& found) {
  if (found_ == 0) {
    first_number_ = found.number;
    first_own_ = found.own;
    first_ = found.burst;
  } else {
    missing_ += std::exchange(missing_since_, 0);
    extra_ += std::exchange(extra_since_, 0);
  }
  ++found_;
  last_number_ = found.number;
  last_own_ = found.own;
  last_ = found.burst;
  if (std::abs(found.burst.on_us - found.own.on_us * clock_.ratio) > on_time_within_us_) ++wrong_on_time_;
  const double since_us = found.own.start_us - first_own_.start_us;
  fit_.add(since_us, found.burst.start_us - first_.start_us - since_us);
}

// A share of what the burst is late moves the clock; its ratio is what it did since a second ago or two.
void Follower::move_clock(const TimedBurst& own, double expected_us, double late_us) {
  constexpr std::int64_t kShares = 8;
  clock_.capture_us =
      expected_us + late_us / static_cast<double>(std::clamp<std::int64_t>(found_, 1, kShares));
  clock_.song_us = own.start_us;
  const double span_us = own.start_us - older_.song_us;
  if (span_us > std::max(kLeastSpan_us, found_ < kShares ? clock_.span_us : 0.0)) {
    clock_.ratio = (clock_.capture_us - older_.capture_us) / span_us;
    clock_.span_us = span_us;
  }
  if (own.start_us - newer_.song_us < kSecond_us) return;
  older_ = newer_;
  newer_ = clock_;
}

void Follower::go_on(std::size_t number, const Clock& clock) {
  missing_since_ = static_cast<std::int64_t>(number) - static_cast<std::int64_t>(last_number_) - 1;
  extra_since_ = 0;
  next_ = PackedSong::Reader(*song_, number);
  newer_ = older_ = clock_ = clock;
  searching_ = true;
  unsure_.clear();
  in_a_row_ = 0;
}

Playing Follower::playing() const {
  Playing playing;
  const auto before = static_cast<std::int64_t>(first_number_);
  const auto after = static_cast<std::int64_t>(song_->size() - 1 - last_number_);
  playing.from_start = before <= kMissingAtEnds;
  playing.to_end = after <= kMissingAtEnds;
  playing.start_s = first_.start_us / 1e6;
  playing.end_s = last_.end_us() / 1e6;
  playing.song_from_s = first_own_.start_us / 1e6;
  playing.song_until_s = last_own_.end_us() / 1e6;
  playing.bursts = found_;
  playing.missing = missing_ + (playing.from_start ? before : 0) + (playing.to_end ? after : 0);
  playing.extra = extra_;
  playing.wrong_on_time = wrong_on_time_;
  playing.clock_ppm = fit_.slope() * 1e6;
  playing.jitter_us = fit_.rms();
  playing.earliest_us = fit_.lowest();
  playing.latest_us = fit_.highest();
  return playing;
}

}  // namespace burstloom::align_detail
