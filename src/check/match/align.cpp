#include "burstloom/check/align.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "follower.hpp"
#include "landmarks.hpp"

namespace burstloom {

using namespace align_detail;

namespace {

constexpr std::size_t kTrial = 512;  // bursts on which a suggestion is tried
constexpr std::size_t kMostWaiting = 2 * kTrial;
constexpr std::int64_t kEnoughFound = 24;   // by a trial that goes well to its end
constexpr std::int64_t kEnoughAlone = 128;  // by one that breaks off: a song stopped soon after its beginning
constexpr std::int64_t kMostOff =
    6;  // at most a sixth as many missing or extra: songs share notes, and chords
constexpr std::size_t kMostSuggestions = 256;
constexpr double kPartsStretches_us = 1e6;

}  // namespace

// Bursts wait until enough have come to search among them; once a song is found, a follower takes them as
// they come.
//
//   searching --a trial holds--> following --lost, or over--> searching
//
// A song that was lost rests for a while: found again further on, with its clock where it would be, it goes
// on.
class Aligner::Impl {
 public:
  explicit Impl(double tolerance_us) : tolerance_us_(tolerance_us) {}

  void add_song(const BurstStream& song) {
    songs_.emplace_back(song);
    landmarks_.add(songs_.back(), static_cast<std::uint32_t>(songs_.size() - 1));
  }

  void begin(std::int64_t tick_hz) {
    landmarks_.sort();
    us_per_tick_ = 1e6 / static_cast<double>(tick_hz);
    waiting_.clear();
    following_.reset();
    resting_.reset();
    alignment_ = {};
    alignment_.on_time_within_us = on_time_within_us(tolerance_us_);
    searched_ = 0;
    free_from_us_ = 0;
  }

  void take(std::span<const Burst> block) {
    for (const Burst& burst : block)
      take(TimedBurst{static_cast<double>(burst.start) * us_per_tick_,
                      static_cast<double>(burst.on) * us_per_tick_});
  }

  Alignment finish() {
    for (bool more = true; more;) {
      if (following_) {
        settle();
        rest();
      }
      const std::size_t before = waiting_.size();
      search(true);
      more = following_ || waiting_.size() < before;
    }
    forget_first(waiting_.size());
    end_resting();
    note_order();
    return std::move(alignment_);
  }

 private:
  struct Followed {
    std::size_t song;
    Follower follower;
  };
  /// A song suggested by a landmark, with how well it went on trial.
  struct Suggestion {
    std::size_t song = 0, number = 0;  // of the burst
    Clock clock;
    double rank = 0;
    bool goes_on = false;
  };

  void take(const TimedBurst& burst) {
    if (following_) return follow(burst);
    waiting_.push_back(burst);
    if (waiting_.size() >= kMostWaiting) search(false);
  }

  void follow(const TimedBurst& burst) {
    const Follower::Says says = following_->follower.take(burst);
    if (says == Follower::Says::found) {
      waiting_.clear();
      return;
    }
    if (says == Follower::Says::over) settle();
    waiting_.push_back(burst);
    if (says == Follower::Says::not_of_it) return;
    rest();
    if (says == Follower::Says::over) end_resting();
  }

  // No more of the song is to come: those that wait may have been its last.
  void settle() {
    if (following_->follower.settle()) waiting_.clear();
  }

  void rest() {
    end_resting();
    if (following_->follower.found() > 0) {
      resting_ = std::move(following_);
      free_from_us_ = resting_->follower.playing().end_s * 1e6;
    }
    following_.reset();
    searched_ = 0;
  }

  void end_resting() {
    if (resting_) {
      Playing playing = resting_->follower.playing();
      playing.song = resting_->song;
      alignment_.playings.push_back(playing);
    }
    resting_.reset();
  }

  // ---- searching

  // Looks for landmarks among those that wait, as long as enough follow to try what they suggest.
  void search(bool at_end) {
    const std::size_t needed = at_end ? kLandmark : kTrial;
    for (; searched_ + needed <= waiting_.size(); ++searched_) {
      const auto best = best_suggestion(searched_);
      if (!best) continue;
      start(*best, searched_);
      return;
    }
    if (searched_ > kTrial) {
      forget_first(searched_ - kTrial);
      searched_ = kTrial;
    }
  }

  std::optional<Suggestion> best_suggestion(std::size_t at) {
    std::array<double, kLandmark> starts{};
    for (std::size_t i = 0; i < kLandmark; ++i) starts[i] = waiting_[at + i].start_us;
    const std::uint32_t look = look_of(starts.data());
    if (at > 0 && look == last_look_) return std::nullopt;  // within a tone that goes on
    last_look_ = look;
    std::optional<Suggestion> best;
    std::size_t tried = 0;
    for (const Landmark& mark : landmarks_.like(look)) {
      const double ratio = (starts.back() - starts.front()) / static_cast<double>(mark.span_us);
      if (std::abs(ratio - 1) > 1.2 * kClockWithin) continue;  // short spans do not tell it better
      const auto suggestion = tried_on(at, mark, ratio);
      if (suggestion && (!best || suggestion->rank > best->rank)) best = suggestion;
      if (++tried == kMostSuggestions) break;
    }
    return best;
  }

  std::optional<Suggestion> tried_on(std::size_t at, const Landmark& mark, double ratio) const {
    const PackedSong& song = songs_[mark.song];
    const double own_us = PackedSong::Reader(song, mark.number).burst().start_us;
    const Clock clock{own_us, waiting_[at].start_us, ratio, static_cast<double>(mark.span_us)};
    Follower trial(song, mark.number, clock, tolerance_us_);
    bool lost = false;
    for (std::size_t i = at; i < waiting_.size() && i < at + kTrial && !lost; ++i) {
      const Follower::Says says = trial.take(waiting_[i]);
      if (says == Follower::Says::over) break;
      lost = says == Follower::Says::lost;
    }
    const std::int64_t found = trial.found();
    const auto ahead = static_cast<std::int64_t>(song.size() - mark.number);
    const std::int64_t enough = lost ? kEnoughAlone : std::min(kEnoughFound, ahead);
    if (found < enough || trial.not_found() > found / kMostOff + (lost ? kMissingAtEnds : 0))
      return std::nullopt;
    if (std::abs(trial.clock().ratio - 1) > kClockWithin * 1.01) return std::nullopt;
    Suggestion suggestion{mark.song,
                          mark.number,
                          {own_us, waiting_[at].start_us, trial.clock().ratio, trial.clock().span_us},
                          0,
                          false};
    suggestion.goes_on = goes_on(suggestion);
    if (lost && !suggestion.goes_on && mark.number > static_cast<std::size_t>(kMissingAtEnds))
      return std::nullopt;
    suggestion.rank = rank(suggestion, at, found - trial.not_found());
    return suggestion;
  }

  // Where it lies in the song's own time what has been free since the last playing.
  [[nodiscard]] std::size_t first_number_since(const Suggestion& it, double from_us) const {
    return songs_[it.song].first_from(it.clock.song_time_us(from_us) - 1);
  }

  // Of suggestions that go as well the one is right before whose place nothing of the song is missing; and
  // the next song of the set before another.
  [[nodiscard]] double rank(const Suggestion& it, std::size_t at, std::int64_t score) const {
    constexpr double kMostBefore = 64;
    const double expected =
        static_cast<double>(it.number - std::min(it.number, first_number_since(it, free_from_us_)));
    const double missing = std::clamp(expected - static_cast<double>(at), 0.0, kMostBefore);
    const double next =
        !alignment_.playings.empty() && it.song == alignment_.playings.back().song + 1 ? 0.5 : 0;
    return static_cast<double>(score) - missing + next + (it.goes_on ? 2 * kMostBefore : 0);
  }

  // Whether it is the song that was lost, further on, with its clock about where it was.
  [[nodiscard]] bool goes_on(const Suggestion& it) const {
    if (!resting_ || resting_->song != it.song || it.number <= resting_->follower.last_number()) return false;
    const Clock& clock = resting_->follower.clock();
    constexpr double kSlack_us = 500, kDrift = 1e-4;
    return std::abs(clock.at(it.clock.song_us) - it.clock.capture_us) <
           kSlack_us + kDrift * (it.clock.song_us - clock.song_us);
  }

  /// Where a song begins among those that wait.
  struct Place {
    std::size_t at = 0, number = 0;  // of the burst there and in the song
  };

  // Back from the landmark, which was perhaps not the first of the song's: as long as bursts are found, in a
  // row or with few misses between them.
  [[nodiscard]] Place first_place(const Suggestion& it, std::size_t at, std::size_t not_before) const {
    constexpr int kMostMisses = 6;
    const PackedSong& song = songs_[it.song];
    const std::size_t from = std::max(not_before, it.number - std::min(it.number, kMostWaiting));
    std::vector<double> own_us;
    for (PackedSong::Reader reader(song, from); reader.number() < it.number; reader.next())
      own_us.push_back(reader.burst().start_us);
    Place first{at, it.number};
    bool in_a_row = true;
    for (int misses = 0; at > 0 && !own_us.empty() && misses < kMostMisses;) {
      const double late_us = waiting_[at - 1].start_us - it.clock.at(own_us.back());
      const bool found =
          std::abs(late_us) <= start_within_us(tolerance_us_) + it.clock.unsure_us(own_us.back());
      if (found || late_us > 0) --at;
      if (found || late_us <= 0) own_us.pop_back();
      if (found && in_a_row) first = {at, from + own_us.size()};
      misses = found && in_a_row ? 0 : misses + (found ? 0 : 1);
      in_a_row = found;
    }
    return first;
  }

  void start(const Suggestion& it, std::size_t at) {
    const std::size_t not_before = it.goes_on ? resting_->follower.last_number() + 1 : 0;
    const Place first = first_place(it, at, not_before);
    if (it.goes_on) {
      following_ = std::move(resting_);
      resting_.reset();
      following_->follower.go_on(first.number, it.clock);
      if (first.at > 0) forget_first(first.at);
    } else {
      end_resting();
      following_ = Followed{it.song, Follower(songs_[it.song], first.number, it.clock, tolerance_us_)};
      forget_first(first.at);
    }
    searched_ = 0;
    const std::vector<TimedBurst> again = std::exchange(waiting_, {});
    const std::int64_t before = following_->follower.found();
    bool got_on = false;
    std::size_t i = 0;
    for (; i < again.size() && following_; ++i) {
      follow(again[i]);
      got_on |= following_ && following_->follower.found() > before;
    }
    waiting_.insert(waiting_.end(), again.begin() + static_cast<std::ptrdiff_t>(i), again.end());
    if (!got_on)
      forget_first(std::min<std::size_t>(1, waiting_.size()));  // or it would be suggested indefinitely
    if (!following_ && waiting_.size() >= kMostWaiting) search(false);
  }

  // ---- what is unknown

  void forget_first(std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) note_unknown(waiting_[i]);
    waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(count));
  }

  void note_unknown(const TimedBurst& burst) {
    const bool same = unknown_until_us_ >= free_from_us_ && alignment_.unknown_stretches > 0 &&
                      burst.start_us - unknown_until_us_ < kPartsStretches_us;
    unknown_until_us_ = burst.end_us();
    ++alignment_.unknown_bursts;
    if (!same && ++alignment_.unknown_stretches <= static_cast<std::int64_t>(kUnknownListed))
      alignment_.unknown.push_back({burst.start_us / 1e6, 0, 0});
    if (alignment_.unknown_stretches > static_cast<std::int64_t>(kUnknownListed)) return;
    alignment_.unknown.back().until_s = burst.end_us() / 1e6;
    ++alignment_.unknown.back().bursts;
  }

  void note_order() {
    std::vector<bool> played(songs_.size());
    std::size_t latest = 0;
    for (Playing& it : alignment_.playings) {
      it.repeated = played[it.song];
      it.out_of_order = !it.repeated && it.song < latest;
      played[it.song] = true;
      latest = std::max(latest, it.song);
    }
    for (std::size_t song = 0; song < songs_.size(); ++song)
      if (!played[song]) alignment_.not_played.push_back(song);
  }

  double tolerance_us_, us_per_tick_ = 0.5;
  std::vector<PackedSong> songs_;
  Landmarks landmarks_;
  std::vector<TimedBurst>
      waiting_;               // those since the last one that was found, or that no song was found in yet
  std::size_t searched_ = 0;  // of them
  std::uint32_t last_look_ = 0;
  std::optional<Followed> following_, resting_;
  double free_from_us_ = 0, unknown_until_us_ = 0;
  Alignment alignment_;
};

Aligner::Aligner(double tolerance_us) : impl_(std::make_unique<Impl>(tolerance_us)) {}
Aligner::Aligner(Aligner&&) noexcept = default;
Aligner::~Aligner() = default;

void Aligner::add_song(const BurstStream& song) {
  impl_->add_song(song);
}
void Aligner::begin(std::int64_t tick_hz) {
  impl_->begin(tick_hz);
}
void Aligner::take(std::span<const Burst> block) {
  impl_->take(block);
}
Alignment Aligner::finish() {
  return impl_->finish();
}

}  // namespace burstloom
