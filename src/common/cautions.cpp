#include "burstloom/common/cautions.hpp"

namespace burstloom {

std::vector<std::string> caution_paragraphs() {
  std::vector<std::string> paragraphs(1);
  for (const std::string_view line : kCautions) {
    if (line.empty())
      paragraphs.emplace_back();
    else
      paragraphs.back().append(paragraphs.back().empty() ? "" : " ").append(line);
  }
  return paragraphs;
}

}  // namespace burstloom
