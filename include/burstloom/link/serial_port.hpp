// A serial line to a player.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "burstloom/common/files.hpp"

namespace burstloom {

/// The devices in `folder` that a player may hang on, by the names that Linux gives them.
[[nodiscard]] std::vector<std::string> serial_ports(const std::string& folder = "/dev");
/// There is no such device; names those there are.
[[nodiscard]] Error no_such_port(const std::string& device);

/// A terminal device in raw mode, 8 data bits, no parity, 1 stop bit, for this program alone. It stays open
/// until the object goes.
class SerialPort {
 public:
  /// Throws Error: usage (there is no such device; it is no serial line; it cannot do that rate), machine (no
  /// permission, busy).
  SerialPort(const std::string& device, std::int64_t baud);
  SerialPort(const SerialPort&) = delete;
  SerialPort& operator=(const SerialPort&) = delete;
  ~SerialPort();

  /// Waits for something to happen, at most `longest_ms`, then writes what goes of `out` (and takes it off)
  /// and gives what has come in. Throws Error (machine) when the device has gone.
  [[nodiscard]] Bytes exchange(Bytes& out, int longest_ms);
  /// Drops what is written but not yet sent.
  void drop_unsent();

 private:
  void set_up(std::int64_t baud);
  [[noreturn]] void gone() const;

  std::string device_;
  int file_ = -1;
};

}  // namespace burstloom
