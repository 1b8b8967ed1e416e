// The player that chips run, on this machine in real time, at the far end of a pseudo terminal that is read
// at the pace of a serial line. Its time is its own: where the machine keeps it waiting it falls behind and
// catches up, as no chip has to, so that a busy machine loses no burst here.
#pragma once

#include <string>
#include <thread>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace live_check {

class PseudoTerminal {
 public:
  PseudoTerminal();
  PseudoTerminal(const PseudoTerminal&) = delete;
  PseudoTerminal& operator=(const PseudoTerminal&) = delete;
  ~PseudoTerminal();

  [[nodiscard]] const std::string& device() const { return device_; }
  [[nodiscard]] int file() const { return file_; }

 private:
  int file_;
  std::string device_;
};

/// One at a time: the player keeps its state in global variables.
class HostPlayer {
 public:
  /// With a `pace` below 1 its time passes so much more slowly than real time.
  explicit HostPlayer(double pace = 1);
  HostPlayer(const HostPlayer&) = delete;
  HostPlayer& operator=(const HostPlayer&) = delete;
  ~HostPlayer();

  [[nodiscard]] const std::string& device() const { return line_.device(); }
  /// The chip's time.
  [[nodiscard]] burstloom::Tick now() const;
  /// Nothing passes the line any more, either way. The chip's time of it.
  burstloom::Tick pull_cable();
  /// How it stands, in words, for a test that fails.
  [[nodiscard]] std::string said() const;
  /// The bursts of the pin, in the chip's time.
  std::vector<burstloom::Burst> stop();

 private:
  PseudoTerminal line_;
  std::thread thread_;
};

}  // namespace live_check
