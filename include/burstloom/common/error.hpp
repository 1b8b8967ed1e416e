// What every room says when it cannot go on: one sentence of three parts, and whose turn it is.
#pragma once

#include <stdexcept>
#include <string>

namespace burstloom {

/// Whose turn it is; the value is the program's exit code (docs/reference/commands.md).
enum class Fault : int {
  outside_limits = 1,  ///< the input is sound, but the coil would not survive it
  usage = 2,           ///< the command line asks for something that does not exist
  bad_input = 3,       ///< a file cannot be understood
  machine = 4,         ///< disk full, device gone, folder read-only
};

/// An error a person can act on: what is wrong, where it is, what to do about it.
/// `what` and `what_to_do` are clauses without a full stop; `where` is a file with line or byte, or empty.
class Error : public std::runtime_error {
 public:
  Error(Fault fault, std::string what, std::string where, std::string what_to_do);

  [[nodiscard]] Fault fault() const { return fault_; }
  [[nodiscard]] const std::string& problem() const { return problem_; }
  [[nodiscard]] const std::string& where() const { return where_; }
  [[nodiscard]] const std::string& what_to_do() const { return what_to_do_; }

 private:
  Fault fault_;
  std::string problem_, where_, what_to_do_;
};

/// A `bad_input` error, the most frequent kind.
[[nodiscard]] Error bad_input(std::string what, std::string where, std::string what_to_do);

/// `text` fit for one line of a terminal or a page: control characters, invisible ones (those that turn the
/// direction of text among them) and broken UTF-8 become '?', long text is cut in the middle to at most
/// `longest` bytes. For everything that comes out of a file and is shown.
[[nodiscard]] std::string printable(const std::string& text, std::size_t longest = 80);

/// The same for whole answers, never cut: line ends, tabs and a terminal's colours stay.
[[nodiscard]] std::string printable_lines(const std::string& text);

}  // namespace burstloom
