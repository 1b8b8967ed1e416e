#include "describe.hpp"

namespace burstloom::command {
namespace {

std::string options_of(const DescribedCommand& command) {
  std::vector<std::string> words;
  for (const DescribedOption& option : command.options) words.push_back(joined(option.names, " "));
  return joined(words, " ");
}

std::string commands_of(const DescribedCommand& command) {
  std::vector<std::string> words;
  for (const DescribedCommand& below : command.commands) words.push_back(below.last_word());
  return joined(words, " ");
}

// `case` branches for options whose values are a short list.
std::string values_of(const DescribedCommand& command) {
  std::string branches;
  for (const DescribedOption& option : command.options)
    if (!option.choices.empty())
      branches += "        " + quoted(command.name + " " + option.names.back()) +
                  ") words=" + quoted(joined(option.choices, " ")) + " ;;\n";
  return branches;
}

}  // namespace

std::string bash_completion(const DescribedCommand& program) {
  std::string paths, values, words;
  for (const DescribedCommand* command : all_of(program)) {
    if (command != &program) paths += (paths.empty() ? "" : "|") + quoted(command->name);
    values += values_of(*command);
    words += "        " + quoted(command->name) + ") options=" + quoted(options_of(*command)) +
             " commands=" + quoted(commands_of(*command)) + " ;;\n";
  }
  return "# bash completion for " + program.name + R"(; written when Burstloom is built.
_burstloom() {
    local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
    local command=burstloom word words= options= commands=
    for word in "${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
        case "$command $word" in
        )" +
         paths + R"() command="$command $word" ;;
        esac
    done
    case "$command $before" in
)" + values +
         R"(    esac
    case "$command" in
)" + words +
         R"(    esac
    if [[ -z $words ]]; then
        if [[ $current == -* ]]; then words=$options; else words=$commands; fi
    fi
    # What is no word of ours is a file: bash's default takes over where nothing is offered.
    COMPREPLY=($(compgen -W "$words" -- "$current"))
}
complete -o bashdefault -o default -F _burstloom )" +
         program.name + "\n";
}

}  // namespace burstloom::command
