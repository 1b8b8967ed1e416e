// The bytes that a page of docs shows: its ```hex blocks, with words after a | on each line.
#pragma once

#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "burstloom/common/files.hpp"

namespace burstloom::test {

/// One entry a block, in the page's order; empty when there is no such page.
inline std::vector<Bytes> bytes_on_page(const std::string& name) {
  std::ifstream page(std::string(BURSTLOOM_TESTS_DIR "/../docs/reference/") + name);
  std::vector<Bytes> blocks;
  bool within = false;
  for (std::string line; std::getline(page, line);) {
    if (line.starts_with("```")) {
      within = line == "```hex";
      if (within) blocks.emplace_back();
    } else if (within) {
      std::istringstream row(line.substr(0, line.find('|')));
      for (std::string hex; row >> hex;)
        blocks.back().push_back(static_cast<std::uint8_t>(std::stoi(hex, nullptr, 16)));
    }
  }
  return blocks;
}

}  // namespace burstloom::test
