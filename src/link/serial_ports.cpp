#include <algorithm>
#include <filesystem>

#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"
#include "burstloom/link/serial_port.hpp"

namespace burstloom {

namespace fs = std::filesystem;

std::vector<std::string> serial_ports(const std::string& folder) {
  std::vector<std::string> ports;
  std::error_code problem;
  for (fs::directory_iterator at(folder, problem), end; !problem && at != end; at.increment(problem)) {
    const std::string name = at->path().filename().string();
    if (name.starts_with("ttyUSB") || name.starts_with("ttyACM")) ports.push_back(at->path().string());
  }
  std::sort(ports.begin(), ports.end());
  return ports;
}

Error no_such_port(const std::string& device) {
  const auto ports = serial_ports();
  return {Fault::usage, "there is no such device", printable(device, 200),
          ports.empty()
              ? "no serial port is there: plug the player in, and it is /dev/ttyUSB0 or /dev/ttyACM0"
              : "choose one of the serial ports there are: " + listed(ports)};
}

}  // namespace burstloom
