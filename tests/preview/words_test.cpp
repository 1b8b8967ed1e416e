// Numbers, units and times for people, against the table that the pages' scripts are held to as well
// (tests/outside/report/test_words.mjs).
#include "burstloom/common/words.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "burstloom/common/files.hpp"

namespace burstloom {
namespace {

using Json = nlohmann::json;

std::string said(const std::string& function, const Json& given) {
  const double value = given.at(0);
  if (function == "figure") return figure(value);
  if (function == "grouped") return grouped(given.at(0).get<std::int64_t>());
  if (function == "fixed") return fixed(value, given.at(1));
  if (function == "withUnit") return with_unit(value, given.at(1));
  if (function == "clock") return clock_time(value, given.at(1));
  if (function == "hours") return hours(value);
  return "no function " + function;
}

TEST(Words, AreThoseOfTheTableThatPagesKeepToAsWell) {
  const Json table = Json::parse(read_file(BURSTLOOM_TESTS_DIR "/support/words_table.json"));
  ASSERT_GT(table.size(), 40u);
  for (const Json& row : table)
    EXPECT_EQ(said(row.at(0), row.at(1)), row.at(2).get<std::string>()) << row.dump();
}

TEST(Words, WhatIsNoNumberIsNotKnown) {
  EXPECT_EQ(figure(NAN), "not known");
  EXPECT_EQ(figure(INFINITY), "not known");
}

}  // namespace
}  // namespace burstloom
