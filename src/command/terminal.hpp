// What only people at a terminal see: colours, sparklines, and bars while something takes long.
#pragma once

#include <cstdio>
#include <memory>
#include <string>
#include <vector>

#include "command_line.hpp"

namespace burstloom::command {

/// The text as it is, but for a terminal whose locale is not UTF-8: "us" for "µs", plain signs for marks.
[[nodiscard]] std::string for_terminal(const std::string& text, std::FILE* stream);

enum class Tint { none, held, unsure, exceeded };
/// In colour where standard output is a terminal, unless NO_COLOR is set and not empty (no-color.org) or TERM
/// is "dumb".
[[nodiscard]] std::string tinted(const std::string& text, Tint tint);
/// Each line by itself.
[[nodiscard]] std::string tinted_lines(const std::string& text, const std::vector<Tint>& tints);

/// Duty and heat over the song, a line each, scaled so that a full block is the limit. Empty when standard
/// output is no terminal or there is nothing to show.
[[nodiscard]] std::string sparklines(const BurstStream& stream, const Profile& profile,
                                     const Judgement& judgement);

/// "[====    ]", 26 letters wide; `part` is 0 to 1.
[[nodiscard]] std::string bar_of(double part);

/// A bar on standard error with the step that is being done, from half a second on; nothing when that is no
/// terminal. The bar is gone when the object is, too.
class Progress {
 public:
  explicit Progress(int steps);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  /// The next step begins; `name` must live on.
  void next(const char* name);
  /// How much of the step is done, 0 to 1.
  void share(double done);
  /// Takes the bar away before anything is said.
  void done();

 private:
  struct Bar;
  std::unique_ptr<Bar> bar_;
};

/// A line on standard error that is drawn over itself, where that is a terminal: how far something has come.
class StatusLine {
 public:
  StatusLine();
  /// `part` is 0 to 1. At most ten times a second; more often does nothing.
  void show(double part, const std::string& words);
  /// Takes the line away.
  void done();

 private:
  bool on_terminal_, shown_ = false;
  double drawn_s_ = -1;
};

}  // namespace burstloom::command
