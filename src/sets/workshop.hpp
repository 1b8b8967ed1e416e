// The folder in which an evening is built: what is there already, what is written, what was left behind.
//
//   FOLDER/songs/01-a.burst ...     for the user
//   FOLDER/.burstloom/lock          held while a run is at work; the system lets go of it however the run
//   ends FOLDER/.burstloom/made.json     which file was made from what, and what it holds
//   FOLDER/.burstloom/<hash>.*      results by what they were made from, for the next run
//
// Every file is written under a temporary name and renamed. It is entered in made.json first, beside what it
// held before: whichever of the two a killed run leaves is known to the next. Only files that hold what
// made.json says are replaced or removed, and no link is followed: the folder may come from a stranger, or
// its user may work in it.
#pragma once

#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "burstloom/common/files.hpp"

namespace burstloom {

class Workshop {
 public:
  /// Makes the folder if need be, takes the lock, removes temporary files that a killed run left. `force`
  /// replaces files of others, too. Throws Error: machine when the folder cannot be made or written, usage
  /// when another run is at work there, when it holds files of others, and where a link stands in a folder's
  /// place.
  explicit Workshop(const std::string& folder, bool force = false);
  ~Workshop();
  Workshop(const Workshop&) = delete;
  Workshop& operator=(const Workshop&) = delete;

  /// A kept result as it was kept; nothing when there is none. `name` is a hash with an ending.
  [[nodiscard]] std::optional<Bytes> kept(const std::string& name) const;
  void keep(const std::string& name, std::span<const std::uint8_t> content);
  /// Writes `path` below the folder unless it was made from `key` and is still what it was then. Calls
  /// `content` only where it writes. May be called by several threads for different paths. Says whether it
  /// wrote. Throws Error (usage) where a file of another stands there, or one that was edited.
  bool make(const std::string& path, const std::string& key, const std::function<std::string()>& content);
  /// Whether that file was made from `key` (empty: from anything) and is still what it was then.
  [[nodiscard]] bool is_made(const std::string& path, const std::string& key) const;
  /// The hash of what a file that was made holds.
  [[nodiscard]] std::string hash_of(const std::string& path) const;
  /// Forgets what these were made from; the files stay until they are made again.
  void disown(const std::set<std::string>& paths);
  [[nodiscard]] std::string text_of(const std::string& path) const;
  /// Files in songs/ that are not among `made`, for people to look at.
  [[nodiscard]] std::vector<std::string> strays(const std::set<std::string>& made) const;
  /// Removes kept results other than those that were asked for or kept since the lock was taken, and forgets
  /// what is not there any more.
  void tidy();

 private:
  struct Made {
    std::string key, content, before{};  // hashes; the last: of what stood there until this was written
  };
  void take_lock();
  void read_list();
  void write_list() const;
  void remove_temporaries() const;
  [[nodiscard]] bool is_temporary(const std::string& path) const;
  [[nodiscard]] bool is_unused(const std::string& path, const Made& made) const;
  bool place(const std::string& path, const std::string& key, std::span<const std::uint8_t> content);
  [[nodiscard]] std::string inside(const std::string& path) const { return folder_ + "/" + path; }

  std::string folder_;
  bool force_;
  int lock_ = -1;
  mutable std::mutex mutex_;  // of what is known
  std::mutex writing_;        // two threads must not write the same file at once
  std::map<std::string, Made> made_;
  mutable std::set<std::string> used_;
};

}  // namespace burstloom
