#include "describe.hpp"

namespace burstloom::command {
namespace {

// In an argument of _arguments, brackets, colons and backslashes are its own.
std::string plain(std::string text) {
  for (const char* sign : {"\\", "[", "]", ":"}) text = replaced(text, sign, std::string("\\") + sign);
  return text;
}

std::string function_of(const DescribedCommand& command) {
  return "_" + replaced(command.name, " ", "_");
}

std::string value_of(const DescribedOption& option) {
  if (option.value.empty() && option.choices.empty()) return "";
  if (!option.choices.empty()) return ":" + option.value + ":(" + joined(option.choices, " ") + ")";
  return ":" + option.value + ":" + (option.value == "TEXT" ? "_files" : " ");
}

std::string arguments_of(const DescribedCommand& command) {
  std::string lines;
  for (const DescribedOption& option : command.options)
    for (const std::string& name : option.names)
      lines += " \\\n        " +
               quoted((option.repeats ? "*" : "") + name + "[" + plain(option.help) + "]" + value_of(option));
  for (const DescribedOption& option : command.positionals)
    lines += " \\\n        " + quoted(":" + plain(option.names[0]) + ":_files");
  return lines;
}

std::string commands_of(const DescribedCommand& command) {
  std::string listed, branches;
  for (const DescribedCommand& below : command.commands) {
    listed += "        " + quoted(below.last_word() + ":" + plain(below.summary)) + "\n";
    branches += "            " + below.last_word() + ") " + function_of(below) + " ;;\n";
  }
  return "    local state\n    local -a commands=(\n" + listed + "    )\n    _arguments -C" +
         arguments_of(command) + " \\\n        '1:command:->command' '*::argument:->argument'\n" +
         "    case $state in\n        command) _describe command commands ;;\n        argument) case "
         "$words[1] in\n" +
         branches + "        esac ;;\n    esac\n";
}

}  // namespace

std::string zsh_completion(const DescribedCommand& program) {
  std::string text = "#compdef " + program.name + "\n# zsh completion; written when Burstloom is built.\n";
  for (const DescribedCommand* command : all_of(program))
    text += function_of(*command) + "() {\n" +
            (command->commands.empty() ? "    _arguments" + arguments_of(*command) + "\n"
                                       : commands_of(*command)) +
            "}\n";
  return text + function_of(program) + " \"$@\"\n";
}

}  // namespace burstloom::command
