// docs/reference/coil-profile.md says of every key what the reader does with it.
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>

#include "../../src/coil/keys.hpp"
#include "burstloom/coil/profile_keys.hpp"
#include "sample.hpp"

namespace burstloom {
namespace {

// The cells of each row of the document's tables of keys, by the key in the first.
std::map<std::string, std::vector<std::string>> documented() {
  std::ifstream file(std::string(BURSTLOOM_TESTS_DIR) + "/../docs/reference/coil-profile.md");
  EXPECT_TRUE(file.is_open());
  std::map<std::string, std::vector<std::string>> rows;
  for (std::string line; std::getline(file, line);) {
    if (!line.starts_with("| `")) continue;
    std::vector<std::string> cells;
    std::size_t from = 2;
    for (std::size_t to; (to = line.find(" | ", from)) != std::string::npos; from = to + 3)
      cells.push_back(line.substr(from, to - from));
    cells.push_back(line.substr(from, line.size() - 2 - from));
    const std::string key = cells.at(0).substr(1, cells.at(0).size() - 2);
    EXPECT_TRUE(rows.emplace(key, cells).second) << key << " stands there twice";
  }
  return rows;
}

bool is_header(const ProfileKey& key) {
  return key.allowed.empty() && key.path.find('.') == std::string::npos;
}

TEST(Document, DescribesEveryKeyAsItIsRead) {
  const auto rows = documented();
  for (const ProfileKey& key : profile_keys()) {
    if (is_header(key)) continue;
    ASSERT_TRUE(rows.contains(key.path)) << key.path << " is not in docs/reference/coil-profile.md";
    const auto& cells = rows.at(key.path);
    ASSERT_EQ(cells.size(), 6U) << key.path;
    EXPECT_EQ(cells[1], key.unit) << key.path;
    EXPECT_EQ(cells[2], key.allowed) << key.path;
    EXPECT_EQ(cells[3], key.required           ? "must be given"
                        : key.fallback.empty() ? "none"
                                               : key.fallback)
        << key.path;
    EXPECT_EQ(cells[4], key.meaning) << key.path;
    EXPECT_GE(cells[5].size(), 5U) << key.path << ": how is it measured?";
  }
}

TEST(Document, DescribesNothingElse) {
  for (const auto& [path, cells] : documented()) EXPECT_NE(find_key(path), nullptr) << path;
}

}  // namespace
}  // namespace burstloom
