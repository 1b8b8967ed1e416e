// Work that falls into pieces, shared out among threads.
#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <exception>
#include <system_error>
#include <thread>
#include <vector>

namespace burstloom {

/// Threads that are waited for in any case.
struct JoinedThreads {
  JoinedThreads() = default;
  JoinedThreads(const JoinedThreads&) = delete;
  JoinedThreads& operator=(const JoinedThreads&) = delete;
  ~JoinedThreads() { join(); }
  void join() {
    for (std::thread& each : threads) each.join();
    threads.clear();
  }
  std::vector<std::thread> threads;
};

/// Calls `work(i)` for every i under `pieces` on up to `jobs` threads, in order of taking. After a throw no
/// further piece is begun; what the piece of the lowest number threw is thrown when all are done.
template <class Work>
void in_parallel(std::size_t pieces, int jobs, const Work& work) {
  std::atomic<std::size_t> next{0};
  std::atomic<bool> failed{false};
  std::vector<std::exception_ptr> thrown(pieces);
  const auto take = [&] {
    for (std::size_t i = next++; i < pieces && !failed; i = next++) {
      try {
        work(i);
      } catch (...) {
        thrown[i] = std::current_exception();
        failed = true;
      }
    }
  };
  JoinedThreads others;
  const auto helpers = std::min(pieces, static_cast<std::size_t>(std::max(1, jobs)));
  try {
    for (std::size_t i = 1; i < helpers; ++i) others.threads.emplace_back(take);
  } catch (const std::system_error&) {
    // No more threads are to be had: those there are do it all.
  }
  take();
  others.join();
  for (const std::exception_ptr& each : thrown)
    if (each) std::rethrow_exception(each);
}

}  // namespace burstloom
