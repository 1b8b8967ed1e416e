#include "describe.hpp"

namespace burstloom::command {

std::vector<const DescribedCommand*> all_of(const DescribedCommand& command) {
  std::vector<const DescribedCommand*> all = {&command};
  for (const DescribedCommand& below : command.commands)
    for (const DescribedCommand* it : all_of(below)) all.push_back(it);
  return all;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size())
    text.replace(at, from.size(), to);
  return text;
}

std::string joined(const std::vector<std::string>& words, const std::string& between) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : between) + word;
  return text;
}

std::string quoted(const std::string& text) {
  return "'" + replaced(text, "'", "'\\''") + "'";
}

}  // namespace burstloom::command
