// The command line as plain values, as CLI11 knows it, and what is written from them when Burstloom is built:
// the manual page and the shells' completions. Nothing of it is in the program.
#pragma once

#include <string>
#include <vector>

namespace burstloom::command {

struct DescribedOption {
  std::vector<std::string> names;    ///< "-h", "--help"; of a positional its one name, such as "INPUT"
  std::string value;                 ///< what follows it, "TEXT", "INT", "FLOAT"; "" for a flag
  std::vector<std::string> choices;  ///< all that may follow it, where that is a short list
  std::string help;
  std::string preset;  ///< its default, where the command line states one
  bool required = false;
  bool repeats = false;
};

struct DescribedCommand {
  std::string name;  ///< all words of it: "burstloom", "burstloom coil show"
  std::string summary, footer;
  std::vector<DescribedOption> positionals, options;
  std::vector<DescribedCommand> commands;

  [[nodiscard]] std::string last_word() const { return name.substr(name.rfind(' ') + 1); }
};

/// Burstloom's own command line.
[[nodiscard]] DescribedCommand described();
/// Name and version: "burstloom 0.1.0".
[[nodiscard]] std::string program_version();

/// `command` and all below it, each before those below it.
[[nodiscard]] std::vector<const DescribedCommand*> all_of(const DescribedCommand& command);
/// `text` with every `from` replaced by `to`.
[[nodiscard]] std::string replaced(std::string text, const std::string& from, const std::string& to);
/// Joined with `between` between them.
[[nodiscard]] std::string joined(const std::vector<std::string>& words, const std::string& between);
/// 'text', as shells read it whole.
[[nodiscard]] std::string quoted(const std::string& text);

/// A page for man(1), in the man(7) macros.
[[nodiscard]] std::string manual_page(const DescribedCommand& program);
[[nodiscard]] std::string bash_completion(const DescribedCommand& program);
[[nodiscard]] std::string zsh_completion(const DescribedCommand& program);
[[nodiscard]] std::string fish_completion(const DescribedCommand& program);

}  // namespace burstloom::command
