// A terminal while playing live: keys one by one, one page drawn over itself, and all as it was afterwards.
#pragma once

#include <optional>
#include <string>

namespace burstloom::command {

/// Works only where both standard input and standard error are terminals; elsewhere it is not `there`, there
/// are no keys, and nothing is drawn. The terminal is put right when the object goes, and before a crash
/// kills.
class LiveScreen {
 public:
  LiveScreen();
  LiveScreen(const LiveScreen&) = delete;
  LiveScreen& operator=(const LiveScreen&) = delete;
  ~LiveScreen();

  [[nodiscard]] bool there() const { return there_; }
  /// The next key that was pressed, after at most `longest_ms`.
  [[nodiscard]] std::optional<char> key(int longest_ms) const;
  /// `page` in place of what stands there: lines ended by "\n".
  void show(const std::string& page) const;

 private:
  bool there_;
};

}  // namespace burstloom::command
