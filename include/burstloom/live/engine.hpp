// Messages in, bursts out, in real time: the notes of a keyboard woven and guarded as `weave` and `place` do
// it, with nothing known of what is still to come.
//
// It has no clock, no thread and no device of its own: fed with (time, message), it gives the bursts up to a
// moment. So what it does can be tested, and what was played can be played again to the tick. After
// construction nothing here allocates, locks or throws, and the work of each call is bounded.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <span>

#include "burstloom/coil/profile.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/score/midi_recording.hpp"
#include "burstloom/stream/burst.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom {

/// Messages count at whole multiples of this, which a recording as a MIDI file keeps exactly.
inline constexpr double kLiveStep_s = kMidiRecordingStep_s;
/// No note sounds for longer, however long its key is held.
inline constexpr double kLongestLiveNote_s = 60;
inline constexpr std::size_t kMostLiveVoices = 16;

struct LiveOptions {
  WeaveOptions weave;  ///< tick_hz, voices, cap_of_period, choose_phase
  Arrangement
      arrangement;  ///< its channels' lines hold (on, role, transpose, gain_db, envelope), and its drums
};

/// A wanted burst and what became of it.
struct LiveBurst {
  Tick wanted_start = 0, wanted_on = 0;
  Tick start = 0, on = 0;  ///< both 0 when dropped
  std::uint32_t note = 0;  ///< which note-on since the beginning, counted from 0
  std::uint16_t voice = 0;
  Fate fate = Fate::kept;
  Causes causes = 0;
};

/// A note that came in.
struct LiveNote {
  std::uint32_t note = 0;  ///< as in LiveBurst
  Tick start = 0;
  std::uint8_t channel = 0, key = 0, velocity = 0;  ///< as in the message, channel 0 to 15
  std::uint16_t voice = 0;
  bool drums = false;
};

/// How things stand, for a view.
struct LiveState {
  std::array<LiveNote, kMostLiveVoices + 1> sounding{};
  std::size_t sounding_count = 0;
  std::int64_t notes = 0, stolen = 0, skipped = 0;  ///< since the beginning
  std::array<std::int64_t, kFates> bursts{};        ///< since the beginning, by Fate
  std::array<std::int64_t, 32> because{};  ///< bursts changed, by bit of Causes (a burst may have several)
  Tick longest_on_allowed = 0;             ///< by set_longest_on and the coil
  Tick last_on = 0;                        ///< of the last burst
  double gain = 1;                         ///< what passages are turned down by now, 0 to 1
  /// Parts of what is allowed, 0 to 1; below 0 where nothing is limited or nothing is known.
  std::array<double, kMostDutyWindows> duty{};  ///< by window, in the profile's order
  double break_rate = -1, supply = -1, tank_current = -1;
  double junction_c = 0, sink_c = 0;  ///< predicted, now
  bool knows_heat = false;
};

class LiveEngine {
 public:
  /// Throws Error (usage) for options out of range, for fewer than 100 000 ticks a second, for arrangements
  /// that need to know the song (tracks, times, fades, voices), and what CausalGuard throws.
  LiveEngine(const Profile& profile, const LiveOptions& options);
  LiveEngine(LiveEngine&&) noexcept;
  LiveEngine& operator=(LiveEngine&&) noexcept;
  ~LiveEngine();

  /// A whole MIDI message without running status. Notes, pedals, bends, pressure, programs and controllers
  /// count as in files; system reset (FF) ends all; others do nothing. `at` is brought up to the next whole
  /// step, and to the time of the message before or of the last `make` where it is earlier. What is heard is
  /// kept until `make` comes to it; false where there is no room for it (over 4096 messages at once): then
  /// nothing of it counts.
  bool hear(Tick at, std::span<const std::uint8_t> message) noexcept;
  /// The moment at which a message heard now would count.
  [[nodiscard]] Tick counts_at(Tick at) const noexcept;
  /// As all sound off and reset all controllers (120, 121) on every channel. What waits to be heard before it
  /// is forgotten where there is no room.
  void end_all(Tick at) noexcept;
  /// No burst is longer from now on (soft start); the coil's own longest holds beside it.
  void set_longest_on(Tick on) noexcept;

  /// What was wanted before `until`, in order, as many as `out` holds: where all of it is filled there may be
  /// more. Bursts are final; they do not overlap and keep every limit of the profile.
  [[nodiscard]] std::size_t make(Tick until, std::span<LiveBurst> out) noexcept;

  [[nodiscard]] LiveState state() const noexcept;
  [[nodiscard]] std::int64_t tick_hz() const noexcept;

 private:
  class Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace burstloom
