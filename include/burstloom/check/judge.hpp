// The judge: what a stream or a capture is, against what the coil survives. Shares no code with the guard.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

enum class Verdict { within_limits, outside_limits, cannot_tell };
/// "within limits", "outside limits", "cannot tell".
[[nodiscard]] const char* name_of(Verdict verdict);

/// One limit's worst value over the whole stream.
struct LimitResult {
  std::string limit;  ///< "on-time max", "gap", "duty 10 ms" ...
  std::string unit;
  double worst = 0;      ///< as the gate sees it at worst: pulse stretch and clock tolerance included
  double in_stream = 0;  ///< the same as it stands in the stream or capture, without them
  double allowed = 0;
  double at_s = 0;  ///< where the worst is: the burst's start, or the end of the worst window
  bool held = true;
  bool unsure = false;  ///< a capture's resolution leaves open whether it is held
  double margin_percent =
      0;  ///< how far the worst is from the limit, in percent of the limit; negative: past it
};

struct Violation {
  std::string limit, unit;
  double at_s = 0, value = 0, allowed = 0;
};

/// Violations of one limit that stand close together, as one stretch of time.
struct ViolationSpan {
  std::string limit, unit;
  double from_s = 0, until_s = 0;  ///< its first violation and its last
  double worst = 0, allowed = 0;
  std::int64_t count = 0;  ///< of violations
};

struct NotJudged {
  std::string limit;
  std::string why;
};

struct Judgement {
  Verdict verdict = Verdict::within_limits;
  std::vector<LimitResult> limits;
  std::vector<Violation> violations;  ///< the first `kViolationsListed`, in order of time
  std::int64_t violations_in_all = 0;
  std::vector<ViolationSpan> spans;  ///< all of them, in order of time; at most `kSpansListed` for each limit
  std::vector<NotJudged> not_judged;
  std::vector<std::string> remarks;  ///< what the reader of a capture noticed, what a verdict rests on
  double tolerance_us = 0;           ///< how well the edges are known; 0 for streams
  /// Shortest silence (s) after the song before it may start again, any number of times: windows cross the
  /// seam, and the switches start warm. nullopt if the song itself is outside, if a day would not be enough,
  /// or if not asked.
  std::optional<double> rest_before_repeat_s;
};

inline constexpr std::size_t kViolationsListed = 1000;
/// Violations of one limit no more than this apart are one span. Where that leaves more than `kSpansListed`
/// spans, the distance is doubled until it does not.
inline constexpr double kSpansApart_s = 0.1;
inline constexpr std::size_t kSpansListed = 1000;

struct JudgeOptions {
  double tolerance_us = 0;   ///< of a capture's edges, 0 to 5
  bool measured = false;     ///< a capture: its times hold the clock's error already, none is added
  bool last_is_cut = false;  ///< the last burst is at least as long as it looks
  bool first_is_cut = false;
  /// False: the rest before a repeat is not looked for; it takes longest where heat binds.
  bool seek_rest = true;
};

/// Judges the whole stream against every limit of the profile. The stream must keep its invariant
/// (`require_in_order`). Plain, yet linear in the number of bursts.
[[nodiscard]] Judgement judge(const BurstStream& stream, const Profile& profile,
                              const JudgeOptions& options = {});

/// The same judge, fed a block at a time, for captures of any length: it holds no more than the bursts of the
/// longest window.
class RunningJudge {
 public:
  /// The profile must outlive it; `options.last_is_cut` is asked for at the end only. Throws Error (usage)
  /// for a tolerance out of range.
  RunningJudge(const Profile& profile, std::int64_t tick_hz, const JudgeOptions& options);
  RunningJudge(RunningJudge&&) noexcept;
  ~RunningJudge();

  /// Bursts in order that keep a stream's invariant, blocks of any size.
  void take(std::span<const Burst> block);
  /// Once, after the last block. `whole`, where the caller has all of the bursts: how long the switches must
  /// rest before the stream may start again can take trials; without it that is then left open, and a remark
  /// says so.
  [[nodiscard]] Judgement finish(Tick length, bool last_is_cut, const BurstStream* whole = nullptr);

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace burstloom
