#include "burstloom/link/serial_port.hpp"

// The kernel's own terminal structure: unlike that of the C library it takes any rate (250 000 baud has no
// name).
#include <asm/ioctls.h>
#include <asm/termbits.h>
#include <fcntl.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

Error not_opened(const std::string& device) {
  const std::string why = std::strerror(errno);
  switch (errno) {
    case EACCES:
    case EPERM:
      return {Fault::machine, "the device may not be opened (" + why + ")", device,
              "join the group that owns it (on Debian: dialout)"};
    case EBUSY:
      return {Fault::machine, "the device is in use", device, "close the other program"};
    case EMFILE:
    case ENFILE:
      return {Fault::machine, "cannot be opened now (" + why + ")", device, "close other programs"};
    default:
      return no_such_port(device);
  }
}

}  // namespace

SerialPort::SerialPort(const std::string& device, std::int64_t baud)
    : device_(printable(device, 200)),
      file_(::open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC)) {
  if (file_ < 0) throw not_opened(device_);
  try {
    set_up(baud);
  } catch (...) {
    ::close(file_);
    throw;
  }
}

SerialPort::~SerialPort() {
  ::close(file_);
}

void SerialPort::set_up(std::int64_t baud) {
  termios2 line{};
  if (::ioctl(file_, TCGETS2, &line) != 0)
    throw Error(Fault::usage, "this is no serial line", device_, no_such_port(device_).what_to_do());
  if (::ioctl(file_, TIOCEXCL) != 0) throw not_opened(device_);
  line.c_iflag = IGNBRK;
  line.c_oflag = 0;
  line.c_lflag = 0;
  // Without HUPCL closing does not hang up, which resets many boards.
  line.c_cflag = CS8 | CREAD | CLOCAL | BOTHER | BOTHER << IBSHIFT;
  line.c_ispeed = line.c_ospeed = static_cast<speed_t>(baud);
  line.c_cc[VMIN] = 0;
  line.c_cc[VTIME] = 0;
  termios2 set{};
  if (::ioctl(file_, TCSETS2, &line) != 0 || ::ioctl(file_, TCGETS2, &set) != 0 ||
      static_cast<std::int64_t>(set.c_ospeed) * 100 > baud * 102 ||
      static_cast<std::int64_t>(set.c_ospeed) * 100 < baud * 98)
    throw Error(Fault::usage, "the device cannot do " + std::to_string(baud) + " baud", device_,
                "choose another --baud, and export the player with the same");
  ::ioctl(file_, TCFLSH, TCIOFLUSH);
}

void SerialPort::gone() const {
  throw Error(Fault::machine, "the device has gone", device_,
              "the player falls silent by itself; plug it in again");
}

void SerialPort::drop_unsent() {
  ::ioctl(file_, TCFLSH, TCOFLUSH);
}

Bytes SerialPort::exchange(Bytes& out, int longest_ms) {
  pollfd wait{file_, static_cast<short>(POLLIN | (out.empty() ? 0 : POLLOUT)), 0};
  if (::poll(&wait, 1, longest_ms) < 0 && errno != EINTR) gone();
  if (!out.empty()) {
    const ssize_t written = ::write(file_, out.data(), out.size());
    if (written < 0 && errno != EAGAIN && errno != EINTR) gone();
    if (written > 0) out.erase(out.begin(), out.begin() + written);
  }
  std::array<std::uint8_t, 512> in{};
  const ssize_t count = ::read(file_, in.data(), in.size());
  if (count > 0) return {in.begin(), in.begin() + count};
  if (count < 0 && errno != EAGAIN && errno != EINTR) gone();
  // A line that is there but has nothing to say reads as "again"; nothing at all after a hang-up.
  if (count == 0 && (wait.revents & (POLLHUP | POLLERR | POLLNVAL)) != 0) gone();
  return {};
}

}  // namespace burstloom
