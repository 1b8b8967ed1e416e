#include "terminal.hpp"

#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <cstdlib>
#include <mutex>
#include <sstream>
#include <thread>

#include "burstloom/preview/energy_curves.hpp"
#include "burstloom/preview/sparkline.hpp"
#include "burstloom/preview/timeline.hpp"

namespace burstloom::command {
namespace {

constexpr std::size_t kColumns = 60;

bool terminal_has_utf8() {
  for (const char* name : {"LC_ALL", "LC_CTYPE", "LANG"}) {
    const char* value = std::getenv(name);
    if (value == nullptr || *value == '\0') continue;
    const std::string locale = value;
    return locale.find("UTF-8") != std::string::npos || locale.find("utf8") != std::string::npos;
  }
  return false;
}

bool takes_colour() {
  const char *no_color = std::getenv("NO_COLOR"), *term = std::getenv("TERM");
  return isatty(STDOUT_FILENO) != 0 && (no_color == nullptr || *no_color == '\0') && term != nullptr &&
         *term != '\0' && std::string(term) != "dumb";
}

const LimitResult* limit_named(const Judgement& judgement, const std::string& name) {
  for (const LimitResult& limit : judgement.limits)
    if (limit.limit == name) return &limit;
  return nullptr;
}

using Rows = std::vector<std::vector<std::string>>;

void add_line(Rows& rows, const LimitResult* limit, std::span<const double> values, double low) {
  if (limit == nullptr || values.empty()) return;
  rows.push_back({limit->limit, sparkline(values, low, limit->allowed, terminal_has_utf8()),
                  figure(low) + " to " + with_unit(limit->allowed, limit->unit)});
}

// Of the longest window: it is what heat follows.
void add_duty(Rows& rows, const BurstStream& stream, const Profile& profile, const Judgement& judgement) {
  const Timeline timeline =
      make_timeline(stream, profile, judgement, {.until = stream.length, .columns = kColumns});
  const Series* longest = nullptr;
  for (const Series& series : timeline.series)
    if (series.name.rfind("duty ", 0) == 0) longest = &series;
  if (longest == nullptr) return;
  std::vector<double> highest(kColumns, 0);
  const double length_s = stream.seconds(stream.length);
  for (const SeriesPoint& point : longest->points) {
    const auto column = static_cast<std::size_t>(point.at_s / length_s * kColumns);
    double& value = highest[std::min(column, kColumns - 1)];
    value = std::max(value, point.high);
  }
  add_line(rows, limit_named(judgement, longest->name), highest, 0);
}

}  // namespace

std::string for_terminal(const std::string& text, std::FILE* stream) {
  if (isatty(fileno(stream)) == 0 || terminal_has_utf8()) return text;
  return with_ascii_units(text);
}

std::string tinted(const std::string& text, Tint tint) {
  // Of any palette: white on red, black on yellow, and no ground at all. Red and cyan stay apart for the
  // colour-blind, and the ground alone tells what is exceeded.
  constexpr const char* kColours[] = {"", "1;36", "1;30;43", "1;97;41"};
  if (tint == Tint::none || !takes_colour()) return text;
  return "\x1b[" + std::string(kColours[static_cast<int>(tint)]) + "m" + text + "\x1b[0m";
}

std::string tinted_lines(const std::string& text, const std::vector<Tint>& tints) {
  std::istringstream lines(text);
  std::string all, line;
  for (std::size_t i = 0; std::getline(lines, line); ++i) all += tinted(line, tints[i]) + "\n";
  return all;
}

std::string sparklines(const BurstStream& stream, const Profile& profile, const Judgement& judgement) {
  if (isatty(STDOUT_FILENO) == 0 || stream.bursts.empty()) return {};
  Rows rows;
  add_duty(rows, stream, profile, judgement);
  const EnergyCurves curves = energy_curves(stream, profile, kColumns);
  const double ambient_c = profile.heatsink.ambient_c;
  add_line(rows, limit_named(judgement, "junction"), curves.junction_c, ambient_c);
  add_line(rows, limit_named(judgement, "heatsink"), curves.heatsink_c, ambient_c);
  return table(rows);
}

std::string bar_of(double part) {
  constexpr double kWidth = 24;
  const auto full = static_cast<std::size_t>(kWidth * std::clamp(part, 0.0, 1.0));
  return "[" + std::string(full, '=') + std::string(static_cast<std::size_t>(kWidth) - full, ' ') + "]";
}

namespace {

constexpr const char* kClearLine = "\r\x1b[K";

}  // namespace

struct Progress::Bar {
  explicit Bar(int of) : steps(of), painter([this] { paint(); }) {}
  ~Bar() {
    {
      const std::lock_guard lock(mutex);
      over = true;
    }
    changed.notify_all();
    painter.join();
  }

  void paint() {
    std::unique_lock lock(mutex);
    const auto is_over = [this] { return over; };
    if (changed.wait_for(lock, std::chrono::milliseconds(500), is_over)) return;
    do {
      const double part = steps > 0 ? (done + share) / steps : 0;
      std::fprintf(stderr, "%s%s %s", kClearLine, bar_of(part).c_str(), step);
    } while (!changed.wait_for(lock, std::chrono::milliseconds(100), is_over));
    std::fputs(kClearLine, stderr);
  }

  int steps;
  int done = -1;
  double share = 0;  // of the step
  const char* step = "";
  bool over = false;
  std::mutex mutex;
  std::condition_variable changed;
  std::thread painter;
};

Progress::Progress(int steps) {
  if (isatty(STDERR_FILENO) != 0) try {
      bar_ = std::make_unique<Bar>(steps);
    } catch (const std::system_error&) {
      // Without a thread to draw it there is no bar.
    }
}
Progress::~Progress() = default;
void Progress::done() {
  bar_.reset();
}

void Progress::next(const char* name) {
  if (!bar_) return;
  const std::lock_guard lock(bar_->mutex);
  ++bar_->done;
  bar_->share = 0;
  bar_->step = name;
}

void Progress::share(double done) {
  if (!bar_) return;
  const std::lock_guard lock(bar_->mutex);
  bar_->share = done;
}

namespace {

// A terminal that is held (Ctrl-S) or hangs would keep the program waiting, and the player with it.
bool takes_more(int terminal) {
  pollfd wait{terminal, POLLOUT, 0};
  return ::poll(&wait, 1, 0) == 1 && (wait.revents & POLLOUT) != 0;
}

}  // namespace

StatusLine::StatusLine() : on_terminal_(isatty(STDERR_FILENO) != 0) {}

void StatusLine::show(double part, const std::string& words) {
  if (!on_terminal_) return;
  const double now_s =
      std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
  if ((shown_ && now_s - drawn_s_ < 0.1) || !takes_more(STDERR_FILENO)) return;
  std::fprintf(stderr, "%s%s %s", kClearLine, bar_of(part).c_str(), for_terminal(words, stderr).c_str());
  drawn_s_ = now_s;
  shown_ = true;
}

void StatusLine::done() {
  if (shown_) std::fputs(kClearLine, stderr);
  shown_ = false;
}

}  // namespace burstloom::command
