#include "describe.hpp"

namespace burstloom::command {
namespace {

std::string in_quotes(const std::string& text) {
  return "'" + replaced(replaced(text, "\\", "\\\\"), "'", "\\'") + "'";
}

std::string where(const DescribedCommand& command) {
  return "-n " + in_quotes("test (__burstloom_command) = \"" + command.name + "\"");
}

std::string switches_of(const DescribedOption& option) {
  std::string text;
  for (const std::string& name : option.names)
    text += name.starts_with("--") ? " -l " + name.substr(2) : " -s " + name.substr(1);
  if (!option.choices.empty()) return text + " -x -a " + in_quotes(joined(option.choices, " "));
  return text + (option.value.empty() ? "" : option.value == "TEXT" ? " -r -F" : " -x");
}

}  // namespace

std::string fish_completion(const DescribedCommand& program) {
  std::string paths, lines;
  for (const DescribedCommand* command : all_of(program)) {
    if (command != &program) paths += " " + in_quotes(command->name);
    for (const DescribedCommand& below : command->commands)
      lines += "complete -c " + program.name + " -f " + where(*command) + " -a " + below.last_word() +
               " -d " + in_quotes(below.summary) + "\n";
    for (const DescribedOption& option : command->options)
      lines += "complete -c " + program.name + " " + where(*command) + switches_of(option) + " -d " +
               in_quotes(option.help) + "\n";
  }
  return "# fish completion for " + program.name + R"(; written when Burstloom is built.
function __burstloom_command
    set -l command burstloom
    for word in (commandline -opc)[2..]
        if contains -- "$command $word")" +
         paths + R"(
            set command "$command $word"
        end
    end
    echo $command
end
)" + lines;
}

}  // namespace burstloom::command
