// The folder in which an evening is built: what is there already, what is written, what was left behind.
//
//   FOLDER/songs/01-a.burst ...     for the user
//   FOLDER/.burstloom/lock          held while a run is at work; the system lets go of it however the run
//   ends FOLDER/.burstloom/made.json     which file was made from what, and what it holds
//   FOLDER/.burstloom/<hash>.*      results by what they were made from, for the next run
//
// Every file is written under a temporary name and renamed. A file is written before it is entered in
// made.json: a run that is killed in between makes it once more.
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
  /// Makes the folder if need be, takes the lock, removes temporary files that a killed run left. Throws
  /// Error: machine when the folder cannot be made or written, usage when another run is at work there.
  explicit Workshop(const std::string& folder);
  ~Workshop();
  Workshop(const Workshop&) = delete;
  Workshop& operator=(const Workshop&) = delete;

  /// A kept result; nothing when there is none. `name` is a hash with an ending.
  [[nodiscard]] std::optional<Bytes> kept(const std::string& name) const;
  void keep(const std::string& name, std::span<const std::uint8_t> content);
  /// Removes kept results other than those that were asked for or kept since the lock was taken.
  void forget_the_rest();

  /// Writes `path` below the folder unless it was made from `key` and is still what it was then. Calls
  /// `content` only where it writes. May be called by several threads for different paths. Says whether it
  /// wrote.
  bool make(const std::string& path, const std::string& key, const std::function<std::string()>& content);
  /// Whether that file was made from `key` (empty: from anything) and is still what it was then.
  [[nodiscard]] bool is_made(const std::string& path, const std::string& key) const;
  /// Takes these out of the list of what was made; the files stay until they are made anew.
  void disown(const std::set<std::string>& paths);
  [[nodiscard]] std::string text_of(const std::string& path) const;
  /// Files in songs/ that are not among `made`, for people to look at.
  [[nodiscard]] std::vector<std::string> strays(const std::set<std::string>& made) const;
  /// Forgets what is said of files that are not there any more.
  void tidy_list(const std::set<std::string>& made);

 private:
  struct Made {
    std::string key, content;  // hashes
  };
  void read_list();
  void write_list() const;
  [[nodiscard]] std::string inside(const std::string& path) const { return folder_ + "/" + path; }

  std::string folder_;
  int lock_ = -1;
  mutable std::mutex mutex_;  // of what is known
  std::mutex writing_;        // two threads must not write the same file at once
  std::map<std::string, Made> made_;
  mutable std::set<std::string> used_;
};

}  // namespace burstloom
