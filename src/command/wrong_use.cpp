#include "wrong_use.hpp"

#include <algorithm>
#include <filesystem>
#include <optional>
#include <regex>

#include "burstloom/common/nearest.hpp"
#include "burstloom/common/words.hpp"

namespace burstloom::command {
namespace {

using Found = std::optional<Error>;

Error usage(const std::string& what, const std::string& what_to_do) {
  return {Fault::usage, what, "", what_to_do};
}

std::vector<std::string> commands_of(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* it : app.get_subcommands([](const CLI::App*) { return true; }))
    names.push_back(it->get_name());
  return names;
}

std::vector<std::string> options_of(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::Option* it : app.get_options())
    for (const std::string& name : it->get_lnames()) names.push_back("--" + name);
  return names;
}

const CLI::App& chosen_in(const CLI::App& app) {
  const auto chosen = app.get_subcommands();
  return chosen.empty() ? app : chosen_in(*chosen.front());
}

// "coil show"
std::string name_of_command(const CLI::App& app) {
  const CLI::App* above = app.get_parent();
  if (above == nullptr) return "";
  return (above->get_parent() == nullptr ? "" : name_of_command(*above) + " ") + app.get_name();
}

std::string see_help(const CLI::App& app) {
  const std::string name = name_of_command(app);
  return "see burstloom " + name + (name.empty() ? "" : " ") + "--help";
}

// The first command line of the footer's examples.
std::string example_of(const CLI::App& app) {
  const std::string footer = app.get_footer();
  const std::size_t start = footer.find("  burstloom ");
  if (start == std::string::npos) return see_help(app);
  return "as in: " + footer.substr(start + 2, footer.find('\n', start) - start - 2);
}

const CLI::Option* option_named(const CLI::App& app, const std::string& name) {
  for (const CLI::Option* it : app.get_options())
    if (it->get_name() == name) return it;
  return nullptr;
}

bool takes_value(const CLI::Option& option) {
  return option.get_items_expected_max() > 0;
}

// What an option means, without what else may be said of it.
std::string meaning_of(const CLI::Option& option) {
  const std::string& description = option.get_description();
  return option.get_name() + ": " + description.substr(0, description.find(';'));
}

Error without_value(const CLI::App& app, const CLI::Option& option) {
  return usage("a value is missing behind " + meaning_of(option), example_of(app));
}

Found unknown_command(const CLI::App& chosen) {
  const auto commands = commands_of(chosen);
  if (commands.empty()) return std::nullopt;
  const auto left = chosen.remaining();
  const std::string name = name_of_command(chosen), choose = "choose one of: " + listed(commands);
  if (left.empty())
    return usage(name.empty() ? "no command is given" : name + " needs a command after it", choose);
  return usage("there is no command \"" + name + (name.empty() ? "" : " ") + printable(left.front()) + "\"",
               did_you_mean(left.front(), commands, choose));
}

Found unknown_option(const CLI::App& chosen) {
  for (const std::string& word : chosen.remaining()) {
    if (word.size() < 2 || word[0] != '-') continue;
    const std::string given = word.substr(0, word.find_first_of("=:"));
    const std::string whole = given[1] == '-' ? given : "-" + given;
    if (option_named(chosen, given) != nullptr)
      return usage("\"" + printable(word) + "\" is one word",
                   "write a blank between option and value: " +
                       printable(given + " " + word.substr(given.size() + 1)));
    return usage(name_of_command(chosen) + " has no option " + printable(given),
                 did_you_mean(whole, options_of(chosen), see_help(chosen)));
  }
  return std::nullopt;
}

Found missing_option(const CLI::App& chosen) {
  std::string missing;
  for (const CLI::Option* it : chosen.get_options())
    if (it->get_required() && it->count() == 0)
      missing += (missing.empty() ? "" : ", and ") + meaning_of(*it);
  if (missing.empty()) return std::nullopt;
  return usage(name_of_command(chosen) + " needs " + missing, example_of(chosen));
}

Found one_word_too_many(const CLI::App& chosen) {
  const auto left = chosen.remaining();
  if (left.empty()) return std::nullopt;
  return usage("\"" + printable(left.front()) + "\" is one word too many for " + name_of_command(chosen),
               "a name with blanks stands in quotes: \"my song.mid\"");
}

Found not_converted(const CLI::App& chosen, const std::string& told) {
  std::smatch parts;
  if (!std::regex_match(told, parts, std::regex("Could not convert: (\\S+) = (.*)"))) return std::nullopt;
  const std::string option = parts[1], value = parts[2];
  std::smatch comma;
  if (std::regex_match(value, comma, std::regex("([+-]?[0-9]+),([0-9]+)")))
    return usage(option + " " + value + " has a decimal comma",
                 "write " + comma[1].str() + "." + comma[2].str());
  const CLI::Option* known = option_named(chosen, option);
  if (known != nullptr && !takes_value(*known)) return usage(option + " takes no value", "write it alone");
  const bool is_whole = known != nullptr && known->get_type_name() != "FLOAT";
  return usage(option + " is \"" + printable(value) + "\"",
               is_whole ? "give a whole number, without a unit" : "give a number, without a unit");
}

Found out_of_range(const std::string& told) {
  std::smatch parts;
  if (!std::regex_match(told, parts, std::regex("(\\S+): Value (.*) not in range (.*)"))) return std::nullopt;
  return usage(parts[1].str() + " is " + printable(parts[2]), "give a number from " + parts[3].str());
}

Found wrong_count(const CLI::App& chosen, const CLI::ParseError& problem) {
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&problem) == nullptr) return std::nullopt;
  const std::string told = problem.what();
  for (const CLI::Option* it : chosen.get_options()) {
    const std::string name = it->get_name();
    if (!told.starts_with(name + ":") && told.find("to " + name + ",") == std::string::npos) continue;
    if (told.find("missing") == std::string::npos)
      return usage(name + " is given more than once", "give it once");
    return without_value(chosen, *it);
  }
  return std::nullopt;
}

Found goes_with(const std::string& told) {
  std::smatch parts;
  if (!std::regex_match(told, parts, std::regex("(\\S+) (requires|excludes) (\\S+)"))) return std::nullopt;
  return parts[2] == "requires"
             ? usage(parts[1].str() + " goes with " + parts[3].str() + " only",
                     "add " + parts[3].str() + ", or leave it out")
             : usage(parts[1].str() + " does not go with " + parts[3].str(), "leave one of them out");
}

std::string in_one_line(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  while (!text.empty() && (text.back() == '.' || text.back() == ' ')) text.pop_back();
  return printable(text, 200);
}

}  // namespace

void require_known_command(const CLI::App& app, int argc, const char* const* argv) {
  if (argc < 2 || argv[1][0] == '-') return;
  const std::string given = argv[1];
  const auto known = commands_of(app);
  if (std::find(known.begin(), known.end(), given) != known.end()) return;
  std::error_code ignored;
  const bool is_file = std::filesystem::exists(given, ignored);
  throw usage("there is no command called \"" + printable(given) + "\"",
              is_file ? "a command stands before the file: burstloom song " + printable(given)
                      : did_you_mean(given, known, "choose one of: " + listed(known)));
}

void require_values(const CLI::App& app, int argc, const char* const* argv) {
  const CLI::App* chosen = &app;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    const auto commands = commands_of(*chosen);
    if (std::find(commands.begin(), commands.end(), word) != commands.end())
      chosen = chosen->get_subcommand(word);
    const CLI::Option* option = option_named(*chosen, word);
    if (option == nullptr || !takes_value(*option) || i + 1 == argc) continue;
    if (option_named(*chosen, argv[i + 1]) != nullptr) throw without_value(*chosen, *option);
  }
}

Error wrong_use(const CLI::App& app, const CLI::ParseError& problem) {
  const CLI::App& chosen = chosen_in(app);
  const std::string told = in_one_line(problem.what());
  for (const Found& found : {unknown_command(chosen), wrong_count(chosen, problem), unknown_option(chosen),
                             not_converted(chosen, told), out_of_range(told), goes_with(told),
                             missing_option(chosen), one_word_too_many(chosen)})
    if (found) return *found;
  return usage(told, see_help(chosen));
}

}  // namespace burstloom::command
