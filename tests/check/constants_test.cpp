// The constants of heat that docs/reference/coil-model.md states are those that guard and judge count with.
#include <gtest/gtest.h>

#include <fstream>
#include <regex>
#include <sstream>

#include "../../src/check/judge/thermal_model.hpp"
#include "burstloom/coil/heat.hpp"

namespace burstloom {
namespace {

double stated(const std::string& constant) {
  std::ifstream file(std::string(BURSTLOOM_TESTS_DIR) + "/../docs/reference/coil-model.md");
  std::ostringstream page;
  page << file.rdbuf();
  const std::string text = page.str();
  std::smatch row;
  const std::regex form("\\n\\| " + constant + " \\| (-?[0-9.]+) ");
  if (!std::regex_search(text, row, form)) throw std::runtime_error("the page does not state: " + constant);
  return std::stod(row[1]);
}

TEST(Constants, OfGuardAndJudgeAreThoseOfThePage) {
  EXPECT_EQ(kDiodeDropV, stated("diode drop"));
  EXPECT_EQ(judge_detail::kDiodeDrop_v, stated("diode drop"));
  EXPECT_EQ(kAssumedCaseHeatCapacity, stated("assumed case"));
  EXPECT_EQ(judge_detail::kCase_j_per_k, stated("assumed case"));
  EXPECT_EQ(kRunawayC, stated("lost junction"));
  EXPECT_EQ(judge_detail::kLost_c, stated("lost junction"));
  EXPECT_EQ(judge_detail::kLowest_c, stated("coldest junction"));
}

}  // namespace
}  // namespace burstloom
