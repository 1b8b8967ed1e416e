#include "toml_slips.hpp"

#include <algorithm>
#include <regex>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLongestLine = 200;  // regular expressions take room on the stack by the line's length

constexpr const char* kKey = "([A-Za-z0-9_.-]+)";
constexpr const char* kNumber = "([+-]?[0-9][0-9_]*(?:\\.[0-9]+)?)";

bool finds(const std::string& line, const std::string& pattern, std::smatch& parts) {
  return std::regex_search(line, parts, std::regex(pattern));
}

std::optional<TomlSlip> slip_of_key(const std::string& line) {
  std::smatch parts;
  if (finds(line, std::string("^\\s*") + kKey + "\\s*[: ]\\s*([^=\\s][^=]*)$", parts))
    return TomlSlip{"there is no = behind " + printable(parts[1], 40),
                    "write " + printable(parts[1].str() + " = " + parts[2].str(), 60)};
  return std::nullopt;
}

std::optional<TomlSlip> slip_of_number(const std::string& line) {
  std::smatch parts;
  if (finds(line, "=\\s*([+-]?[0-9]+),([0-9]+)", parts))
    return TomlSlip{parts[1].str() + "," + parts[2].str() + " has a decimal comma",
                    "write " + parts[1].str() + "." + parts[2].str()};
  if (finds(line, std::string("=\\s*") + kNumber + "\\s*([A-Za-z%]+)", parts))
    return TomlSlip{"\"" + parts[2].str() + "\" stands behind the number " + parts[1].str(),
                    "write the number alone, " + parts[1].str() + ": the key says the unit"};
  return std::nullopt;
}

std::optional<TomlSlip> slip_of_text(const std::string& line) {
  std::smatch parts;
  if (finds(line, "\xE2\x80[\x98-\x9F]", parts))
    return TomlSlip{"there are curly quotes in this line", "write straight ones, as in name = \"My coil\""};
  if (std::count(line.begin(), line.end(), '"') % 2 != 0)
    return TomlSlip{"a quote is missing in this line", "close the text with \""};
  if (line.find('\\') != std::string::npos)
    return TomlSlip{"there is a backslash in this text", "write folders with /, as in \"songs/one.mid\""};
  if (finds(line, std::string("^\\s*") + kKey + "\\s*=\\s*(True|False|TRUE|FALSE)\\s*$", parts))
    return TomlSlip{parts[2].str() + " has capital letters", "write true or false"};
  if (finds(line, std::string("^\\s*") + kKey + "\\s*=\\s*([A-Za-z][^\"'#=]*)$", parts))
    return TomlSlip{printable(parts[2], 60) + " is text and has no quotes",
                    "write " + printable(parts[1].str() + " = \"" + parts[2].str() + "\"", 80)};
  return std::nullopt;
}

}  // namespace

std::optional<TomlSlip> slip_in(std::string_view given) {
  const std::string_view line = given.substr(0, given.find_last_not_of(" \t\r") + 1);
  if (line.size() > kLongestLine) return std::nullopt;
  const std::string text(line);
  std::smatch parts;
  if (finds(text, "=\\s*\\?", parts))
    return TomlSlip{"a ? stands here: this value is still to be given",
                    "write the value; the line above says what it means"};
  for (const auto& look : {slip_of_number, slip_of_text, slip_of_key})
    if (auto slip = look(text)) return slip;
  return std::nullopt;
}

}  // namespace burstloom
