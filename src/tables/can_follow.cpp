#include "can_follow.hpp"

#include <algorithm>

extern "C" {
#include "burst_table.h"
#include "table.h"
}

namespace burstloom::table_detail {
namespace {

// The player at work (firmware-out/player/player.c): it reads ahead, a step at a time, while what is due
// leaves the time for a step, and at the latest when it has nothing left to play.
class Reading {
 public:
  Reading(const Target& target, const std::vector<Wish>& wishes, int voices,
          const std::vector<bool>& tells_after)
      : target_(target),
        wishes_(wishes),
        tells_after_(tells_after),
        weaving_(target.weaving_ticks + voices * target.weaving_ticks_per_voice) {}

  /// Reads what there is time for until `due`, or the next burst whatever the time.
  void read(Tick& now, Tick due) {
    while (next_ < wishes_.size() && (ahead_ == 0 || (ahead_ <= TABLE_MOST_AHEAD && now + step() <= due)))
      take_step(now);
  }
  [[nodiscard]] bool is_at_end() const { return ahead_ == 0; }
  [[nodiscard]] Tick next_start() const { return due_->start; }
  Tick play() {
    --ahead_;
    return due_++->end();
  }

 private:
  [[nodiscard]] Tick step() const { return std::max(target_.telling_ticks, weaving_); }
  void take_step(Tick& now) {
    if (must_tell_) {
      now += target_.telling_ticks;
      must_tell_ = false;
      return;
    }
    now += weaving_;
    must_tell_ = tells_after_[next_];
    if (const Burst* made = wishes_[next_++].made)
      if (ahead_++ == 0) due_ = made;
  }

  const Target& target_;
  const std::vector<Wish>& wishes_;
  const std::vector<bool>& tells_after_;
  Tick weaving_;
  std::size_t next_ = 0;
  bool must_tell_ = false;
  const Burst* due_ = nullptr;  // of those read ahead, which stand side by side in the stream
  int ahead_ = 0;
};

}  // namespace

bool can_follow(const Target& target, const CompiledLimits& limits, const std::vector<Wish>& wishes,
                int voices, const std::vector<bool>& tells_after) {
  const Tick gap = shortest_gap(target, limits);
  Reading reading(target, wishes, voices, tells_after);
  Tick now = -kLongestGapTicks;
  for (reading.read(now, now); !reading.is_at_end(); reading.read(now, now)) {
    const Tick due = reading.next_start() - gap;
    if (now > due) return false;
    reading.read(now, due);
    now = reading.play();
  }
  return true;
}

}  // namespace burstloom::table_detail
