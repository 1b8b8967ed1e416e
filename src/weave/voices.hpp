// Who sounds: notes shared out to the few voices of one spark.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "burstloom/score/score.hpp"
#include "burstloom/weave/note_fate.hpp"

namespace burstloom::weave_detail {

/// A note, or what is left of it, in a voice of its own.
struct Sounding {
  std::size_t note = 0;  ///< its index in the score
  double start_s = 0, end_s = 0;
  double key = 69;  ///< as played, moved by octaves or not; without bend
  double velocity = 1;
  int channel = 0, voice = 0;
  Part part = Part::inner;  ///< at its onset
  bool part_is_stated = false;
};

struct Shared {
  std::vector<Sounding> sounding;  ///< in order of start
  std::vector<NoteFate> fates;     ///< of all notes but percussion, in order of note, then time
};

inline constexpr int kMostVoices = 16;

/// What each of the notes that sound together is right now, from the parts that they had at their onsets: of
/// those that lead, the one that began last leads now (the highest of equals); the bass is a stated one, else
/// the lowest that does not lead; all others are inner voices. A stated inner voice stays one. `roles` has a
/// place for each.
void roles_now(std::span<const Sounding* const> together, std::span<Part> roles);

/// The notes that have a voice, at one moment. Allocates nothing once it stands.
class Stage {
 public:
  explicit Stage(int voices);

  /// What a newcomer did to the stage.
  struct Entered {
    std::optional<int> voice;            ///< its own; nothing where it did not get one
    std::optional<Sounding> gave_way{};  ///< who went for want of voices, the newcomer itself perhaps
    std::size_t by = 0;                  ///< the note that it gave way to
  };
  Entered enter(Sounding newcomer);
  [[nodiscard]] const std::vector<Sounding>& on_stage() const { return on_stage_; }
  void leave(std::size_t note);
  /// All that end until `now_s` leave.
  void clear_until(double now_s);

 private:
  void free(const Sounding& it) { taken_[static_cast<std::size_t>(it.voice)] = false; }
  int free_voice(Part part);
  void find_roles();
  [[nodiscard]] std::size_t most_important() const;
  [[nodiscard]] int standing(std::size_t place) const;
  [[nodiscard]] std::size_t who_gives_way() const;

  std::vector<bool> taken_;
  std::vector<Sounding> on_stage_;
  std::vector<const Sounding*> together_;
  std::vector<Part> roles_;
};

/// Shares `voices` voices out: when a note comes in and none is free, one of those sounding gives way for
/// good (so nothing flickers). In this order: doublings of a note of higher standing (unisons, then octaves),
/// inner voices, the bass, the lead; of equals the softest, then the oldest. What would sound for less than
/// kShortestSound_s before it gave way is not begun. `parts` and `octaves` (by note): parts.hpp, range.hpp.
[[nodiscard]] Shared share_voices(const Score& score, int voices, const std::vector<Part>& parts,
                                  const std::vector<int>& octaves);

}  // namespace burstloom::weave_detail
