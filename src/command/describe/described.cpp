#include <sstream>

#include "../command_line.hpp"
#include "describe.hpp"

namespace burstloom::command {
namespace {

// CLI11 writes a short list of choices into the type's name: "TEXT:{csv,vcd}".
std::vector<std::string> choices_in(const std::string& type) {
  const std::size_t open = type.find('{'), close = type.find('}');
  if (open == std::string::npos || close == std::string::npos) return {};
  std::vector<std::string> choices;
  std::istringstream words(type.substr(open + 1, close - open - 1));
  for (std::string word; std::getline(words, word, ',');) choices.push_back(word);
  return choices;
}

DescribedOption described(const CLI::Option& option) {
  DescribedOption told;
  if (option.get_positional()) told.names.push_back(option.get_name(true));
  for (const std::string& name : option.get_snames()) told.names.push_back("-" + name);
  for (const std::string& name : option.get_lnames()) told.names.push_back("--" + name);
  const std::string type = option.get_type_name();
  if (option.get_items_expected_max() > 0) told.value = type.substr(0, type.find_first_of(":{"));
  told.choices = choices_in(type);
  told.help = option.get_description();
  told.preset = option.get_default_str();
  told.required = option.get_required();
  told.repeats = option.get_multi_option_policy() == CLI::MultiOptionPolicy::TakeAll;
  return told;
}

DescribedCommand described(const CLI::App& app, const std::string& above) {
  DescribedCommand told;
  told.name = above + app.get_name();
  told.summary = app.get_description();
  told.footer = app.get_footer();
  for (const CLI::Option* option : app.get_options([](const CLI::Option*) { return true; }))
    (option->get_positional() ? told.positionals : told.options).push_back(described(*option));
  for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; }))
    told.commands.push_back(described(*command, told.name + " "));
  return told;
}

}  // namespace

DescribedCommand described() {
  Answer unused;
  return described(*make_command_line(unused), "");
}

std::string program_version() {
  Answer unused;
  return make_command_line(unused)->version();
}

}  // namespace burstloom::command
