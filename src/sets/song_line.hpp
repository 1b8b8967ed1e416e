// Songs of a set, woven for a start and judged from a start, unless a run before has done so.
#pragma once

#include <atomic>
#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/sets/built_set.hpp"
#include "burstloom/sets/set_file.hpp"
#include "burstloom/stream/files.hpp"
#include "workshop.hpp"

namespace burstloom {

struct WovenSong {
  std::string key;  ///< hash of all that it was made from
  BurstFile file;   ///< its profile is the set's, whatever start it was woven for
  LedgerCounts ledger;
  std::vector<std::string> remarks;
};

/// Its functions may be called by several threads.
class SongLine {
 public:
  /// Reads all files that the set names, to know what they hold. `workshop` may be null; all must outlive
  /// this.
  SongLine(const SetFile& set, const Profile& coil, const std::string& made_by, Workshop* workshop,
           double longest_s);

  /// A hash of all that the song is made from, but for its start.
  [[nodiscard]] const std::string& inputs(std::size_t song) const { return inputs_[song]; }
  [[nodiscard]] WovenSong woven_for(std::size_t song, const HeatStart& start);
  /// The verdict on a stream, started there; with the rest before a repeat only where it is asked for.
  [[nodiscard]] Judgement judged(const HeatStart& start, const BurstStream& stream, bool seek_rest);

  [[nodiscard]] int woven() const { return woven_; }
  [[nodiscard]] int judged() const { return judged_; }

 private:
  [[nodiscard]] std::optional<WovenSong> kept(const std::string& key, const std::string& name) const;
  void keep(const WovenSong& song);
  [[nodiscard]] WovenSong weave(std::size_t song, const HeatStart& start) const;
  [[nodiscard]] std::optional<Judgement> kept_judgement(const std::string& key) const;
  void keep_judgement(const std::string& key, const Judgement& judgement);

  const SetFile& set_;
  const Profile& coil_;
  std::string made_by_;
  Workshop* workshop_;
  double longest_s_;
  std::vector<std::string> inputs_;
  std::atomic<int> woven_ = 0, judged_ = 0;
};

[[nodiscard]] std::string key_of_start(const std::string& key, const HeatStart& start);

}  // namespace burstloom
