#include "live_screen.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <termios.h>
#include <unistd.h>

#include <cstring>
#include <thread>

#include "terminal.hpp"

namespace burstloom::command {
namespace {

// Another page with the cursor hidden, and back (ECMA-48 and what terminals have in common since the 1980s).
constexpr char kEnterPage[] = "\x1b[?1049h\x1b[?25l";
constexpr char kLeavePage[] = "\x1b[?25h\x1b[?1049l";
constexpr int kCrashes[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT};

termios terminal_before;
// The terminal, opened once more so that a write to it never waits: a page that it does not take is left out,
// for keys, silence among them, matter more.
int page_file = STDERR_FILENO;

void write_out(const char* text, std::size_t size) {
  while (size > 0) {
    const ssize_t written = ::write(page_file, text, size);
    if (written <= 0) return;
    text += written;
    size -= static_cast<std::size_t>(written);
  }
}

// Safe in a signal's handler.
void put_right() {
  write_out(kLeavePage, sizeof kLeavePage - 1);
  ::tcsetattr(STDIN_FILENO, TCSANOW, &terminal_before);
}

void crash(int number) {
  put_right();
  ::signal(number, SIG_DFL);
  ::raise(number);
}

}  // namespace

LiveScreen::LiveScreen() : there_(::isatty(STDIN_FILENO) != 0 && ::isatty(STDERR_FILENO) != 0) {
  if (!there_) return;
  ::tcgetattr(STDIN_FILENO, &terminal_before);
  termios keys = terminal_before;
  keys.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);  // Ctrl-C stays a signal
  // Ctrl-S, Ctrl-Z and the quit key would take the keys away.
  keys.c_iflag &= ~static_cast<tcflag_t>(IXON);
  keys.c_cc[VSUSP] = keys.c_cc[VQUIT] = _POSIX_VDISABLE;
  keys.c_cc[VMIN] = 0;
  keys.c_cc[VTIME] = 0;
  const char* const name = ::ttyname(STDERR_FILENO);
  const int file = name == nullptr ? -1 : ::open(name, O_WRONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
  page_file = file < 0 ? STDERR_FILENO : file;
  for (const int number : kCrashes) ::signal(number, crash);
  ::tcsetattr(STDIN_FILENO, TCSANOW, &keys);
  write_out(kEnterPage, sizeof kEnterPage - 1);
}

LiveScreen::~LiveScreen() {
  if (!there_) return;
  put_right();
  if (page_file != STDERR_FILENO) ::close(page_file);
  page_file = STDERR_FILENO;
  for (const int number : kCrashes) ::signal(number, SIG_DFL);
}

std::optional<char> LiveScreen::key(int longest_ms) const {
  if (!there_) {
    std::this_thread::sleep_for(std::chrono::milliseconds(longest_ms));
    return std::nullopt;
  }
  pollfd wait{STDIN_FILENO, POLLIN, 0};
  char key = 0;
  if (::poll(&wait, 1, longest_ms) > 0 && ::read(STDIN_FILENO, &key, 1) == 1) return key;
  // A terminal that has gone is ready at once, for ever; the signal that comes with it ends the session.
  if ((wait.revents & (POLLHUP | POLLERR)) != 0)
    std::this_thread::sleep_for(std::chrono::milliseconds(longest_ms));
  return std::nullopt;
}

void LiveScreen::show(const std::string& page) const {
  if (!there_) return;
  std::string out = "\x1b[H";
  for (const char c : for_terminal(page, stderr)) out += c == '\n' ? "\x1b[K\n" : std::string(1, c);
  out += "\x1b[J";
  write_out(out.data(), out.size());
}

}  // namespace burstloom::command
