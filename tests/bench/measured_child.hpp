// What a program takes, as the system counts it.
#pragma once

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <string>
#include <vector>

namespace burstloom::bench {

struct Taken {
  double processor_s = 0, peak_mb = 0;
  int code = -1;  ///< exit code; -1 where it was killed
};

/// Runs `words`, whose first is the program's path, and waits; what it prints goes nowhere.
inline Taken run_measured(std::vector<std::string> words) {
  const pid_t child = fork();
  if (child == 0) {
    std::vector<char*> pointers;
    for (std::string& word : words) pointers.push_back(word.data());
    pointers.push_back(nullptr);
    if (std::freopen("/dev/null", "w", stdout) == nullptr) _exit(127);
    execv(pointers[0], pointers.data());
    _exit(127);
  }
  int status = 0;
  rusage usage{};
  wait4(child, &status, 0, &usage);
  const auto seconds = [](const timeval& time) {
    return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec);
  };
  return {seconds(usage.ru_utime) + seconds(usage.ru_stime), static_cast<double>(usage.ru_maxrss) / 1024,
          WIFEXITED(status) ? WEXITSTATUS(status) : -1};
}

}  // namespace burstloom::bench
