// The command line, run in this process with its answer caught.
#pragma once

#include <fcntl.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "burstloom/command/command.hpp"
#include "support/folder.hpp"

namespace burstloom::testing {

struct Ran {
  int code = 0;
  std::string out, err;
};

/// Sends a stream of the process to a file while it lives.
class Caught {
 public:
  Caught(std::FILE* stream, const std::string& path) : stream_(stream), path_(path) {
    std::fflush(stream_);
    kept_ = ::dup(::fileno(stream_));
    const int file = ::open(path.c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
    ::dup2(file, ::fileno(stream_));
    ::close(file);
  }
  Caught(const Caught&) = delete;
  Caught& operator=(const Caught&) = delete;
  ~Caught() { give_back(); }

  std::string text() {
    give_back();
    std::ifstream file(path_, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }

 private:
  void give_back() {
    if (kept_ < 0) return;
    std::fflush(stream_);
    ::dup2(kept_, ::fileno(stream_));
    ::close(kept_);
    kept_ = -1;
  }

  std::FILE* stream_;
  std::string path_;
  int kept_ = -1;
};

/// Where commands find and leave what they remember, while it lives; "": HOME has to say.
class OwnConfiguration {
 public:
  explicit OwnConfiguration(const std::string& folder) {
    folder.empty() ? ::unsetenv(kVariable) : ::setenv(kVariable, folder.c_str(), 1);
  }
  OwnConfiguration(const OwnConfiguration&) = delete;
  OwnConfiguration& operator=(const OwnConfiguration&) = delete;
  ~OwnConfiguration() { set_nowhere(); }

  static bool set_nowhere() { return ::setenv(kVariable, "/dev/null/none", 1) == 0; }

 private:
  static constexpr const char* kVariable = "XDG_CONFIG_HOME";
};
/// No test asks the configuration of whoever runs it.
inline const bool kOwnConfiguration = OwnConfiguration::set_nowhere();

inline std::string content_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// Runs `burstloom WORDS...`; what it prints is caught in files below `folder`.
inline Ran run_command(const Folder& folder, std::vector<std::string> words) {
  words.insert(words.begin(), "burstloom");
  std::vector<const char*> argv;
  for (const std::string& word : words) argv.push_back(word.c_str());
  Ran ran;
  // Outside the folder that the test looks at.
  Caught out(stdout, folder.path() + ".out"), err(stderr, folder.path() + ".err");
  ran.code = burstloom::run(static_cast<int>(argv.size()), argv.data());
  ran.out = out.text();
  ran.err = err.text();
  std::filesystem::remove(folder.path() + ".out");
  std::filesystem::remove(folder.path() + ".err");
  return ran;
}

}  // namespace burstloom::testing
