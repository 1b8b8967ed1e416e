#include <cctype>
#include <sstream>

#include "burstloom/common/cautions.hpp"
#include "describe.hpp"

namespace burstloom::command {
namespace {

// Text as troff prints it unchanged: its own sign, hyphens to be copied, and no line that looks like a
// request.
std::string plain(const std::string& text) {
  const std::string escaped = replaced(replaced(text, "\\", "\\e"), "-", "\\-");
  return escaped.starts_with('.') || escaped.starts_with('\'') ? "\\&" + escaped : escaped;
}

std::string in_capitals(std::string text) {
  for (char& letter : text) letter = static_cast<char>(std::toupper(static_cast<unsigned char>(letter)));
  return text;
}

std::string bold(const std::string& text) {
  return "\\fB" + plain(text) + "\\fR";
}

std::string tagged(const DescribedOption& option, const std::string& tag) {
  std::string notes;
  if (!option.choices.empty()) notes += "; one of: " + joined(option.choices, ", ");
  if (!option.preset.empty()) notes += "; default: " + option.preset;
  if (option.required) notes += "; required";
  return ".TP\n" + tag + "\n" + plain(option.help + notes) + "\n";
}

std::string tag_of(const DescribedOption& option) {
  std::vector<std::string> names;
  for (const std::string& name : option.names) names.push_back(bold(name));
  return joined(names, ", ") + (option.value.empty() ? "" : " \\fI" + plain(option.value) + "\\fR");
}

std::string usage(const DescribedCommand& command) {
  std::string text = bold(command.name) + " [\\fIOPTIONS\\fR]";
  for (const DescribedOption& option : command.positionals)
    text +=
        " \\fI" + (option.required ? plain(option.names[0]) : "[" + plain(option.names[0]) + "]") + "\\fR";
  return text + (command.commands.empty() ? "" : " \\fICOMMAND\\fR ...");
}

// A footer is lines of words, then lines of an example that are indented.
std::string footer(const std::string& text) {
  std::string page;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);)
    page += line.starts_with("  ") ? ".RS 4\n.EX\n" + plain(line.substr(2)) + "\n.EE\n.RE\n"
                                   : ".PP\n" + plain(line) + "\n";
  return page;
}

std::string options_of(const DescribedCommand& command) {
  std::string page;
  for (const DescribedOption& option : command.positionals)
    page += tagged(option, "\\fI" + plain(option.names[0]) + "\\fR");
  for (const DescribedOption& option : command.options) page += tagged(option, tag_of(option));
  return page;
}

std::string section_of(const DescribedCommand& command) {
  return ".SS " + plain(command.name) + "\n" + plain(command.summary) + "\n.PP\n" + usage(command) + "\n" +
         options_of(command) + footer(command.footer);
}

std::string cautions() {
  std::string page;
  for (const std::string_view line : kCautions)
    page += line.empty() ? ".PP\n" : plain(std::string(line)) + "\n";
  return page;
}

}  // namespace

std::string manual_page(const DescribedCommand& program) {
  std::string page = ".\\\" Written from the command line's own description when Burstloom is built.\n.TH " +
                     in_capitals(program.name) + " 1 \"\" \"" + program_version() + "\" \"User Commands\"\n" +
                     ".SH NAME\n" + program.name + " \\- " + plain(program.summary) + "\n.SH SYNOPSIS\n" +
                     usage(program) + "\n.SH DESCRIPTION\n" + plain(program.summary) + "\n.PP\n" +
                     plain(program.footer) + "\n.SH OPTIONS\n" + options_of(program) + ".SH COMMANDS\n";
  for (const DescribedCommand* command : all_of(program))
    if (command != &program) page += section_of(*command);
  return page + R"(.SH EXIT STATUS
.TP
.B 0
done, and within limits
.TP
.B 1
something is outside the limits, or a capture cannot tell
.TP
.B 2
wrong usage
.TP
.B 3
a bad input file
.TP
.B 4
the machine failed: disk full, folder read-only, no memory, device gone
.SH FILES
.TP
.I share/burstloom
below the prefix (of a package, /usr): songs and invented coils to try it with
.TP
.I share/doc/burstloom
the documents: every command, the coil's profile, formats, the model
.SH CAUTIONS
)" + cautions();
}

}  // namespace burstloom::command
