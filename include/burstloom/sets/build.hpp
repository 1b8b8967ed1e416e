// Builds an evening: every song woven, heat and bus carried from one to the next, each checked by itself and
// the whole as one stream.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "burstloom/sets/built_set.hpp"
#include "burstloom/sets/set_file.hpp"
#include "burstloom/stream/files.hpp"
#include "burstloom/weave/ceiling.hpp"

namespace burstloom {

/// A page about the whole evening, written into the set's folder.
struct SetPage {
  std::string path;         ///< below the folder, such as "evening.html"
  std::string made_with{};  ///< what its text follows from beside the set: another value makes it again
  std::function<std::string(const BuiltSet&)> text;
};

struct BuildOptions {
  int jobs = 1;                       ///< threads, 1 to 64; the result does not depend on it
  std::string folder{};               ///< what is written goes there; empty: nothing is written
  bool force = false;                 ///< also replace files there that no run made, or that were edited
  std::string made_by{};              ///< names the program that builds: results of another are made again
  double longest_s = kLongestSong_s;  ///< of one song, as in WeaveOptions
  bool plan = false;                  ///< also propose pauses and an order
  bool seek_rest =
      true;  ///< look for the rest before a repeat of the evening: takes longest where heat binds
  /// A song's page, from its file; empty: none. Called by several threads.
  std::function<std::string(const BurstFile&, const Profile&)> preview{};
  std::vector<SetPage> pages{};
  /// Told what is done, 0 to 1, and the step; by one thread at a time. May be empty.
  std::function<void(double part, const std::string& step)> tell{};
};

/// What a run had to do.
struct BuildWork {
  int woven = 0;    ///< songs, or songs for another start; what was kept from runs before is not counted
  int judged = 0;   ///< songs, and the evening
  int written = 0;  ///< files for the user
};

struct SetBuild {
  BuiltSet set;
  BuildWork work;
  /// Files in songs/ that no song of the set makes (any more). They are never removed.
  std::vector<std::string> strays;
};

/// A name for the running program that no other build of it has: `version` and a hash of its file, where that
/// can be read.
[[nodiscard]] std::string this_program(const std::string& version);

/// Builds, or finds that all is built. Throws Error: bad_input for files that cannot be read, machine where
/// the folder cannot be written, usage where another run is at work there, files of others are in the way or
/// an option does not fit its song. Killed at any moment it leaves whole files only, and the next run goes on
/// from there.
[[nodiscard]] SetBuild build_set(const SetFile& file, const BuildOptions& options);

}  // namespace burstloom
